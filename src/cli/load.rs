//! From paths to a case: files are the shots of one run, no files are the built-in unit.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context, bail};

use super::options::{Reading, over};
use super::shown;
use crate::data::text::counted;
use crate::data::{Inspection, Options, Progress, Source};
use crate::inspect::{self, Case, FileSource, Group, Library, Shot};

/// Reads one file with the facts of its channels.
pub(super) fn shots(path: &Path, read: &Reading) -> anyhow::Result<Vec<Arc<Shot>>> {
    shots_and_layout(path, read).map(|(shots, _)| shots)
}

/// Import decisions by key.
type Layout = BTreeMap<String, String>;

/// As [`shots`], with the import decisions that were told and remembered for the file.
fn shots_and_layout(path: &Path, read: &Reading) -> anyhow::Result<(Vec<Arc<Shot>>, Layout)> {
    let source: Arc<dyn Source> = Arc::new(FileSource::open(path)?);
    let options = read.of(source.as_ref());
    let shots = inspect::load(&source, &options, &Progress::new())?;
    if shots.is_empty() {
        bail!("{}: no capture was found in it", shown(path));
    }
    let mut layout = options.remembered;
    layout.extend(options.layout);
    // which files are one shot is no property of a file
    layout.remove("shot");
    Ok((shots, layout))
}

/// The captures of files, and where each comes from.
#[derive(Default)]
pub(super) struct Read {
    /// Import decisions of each file.
    pub(super) layouts: Vec<Layout>,
    /// For each capture its file, from 0, and its number in it, from 1.
    pub(super) origins: Vec<(usize, usize)>,
    /// For each shot the captures that it is made of, as indices into `origins`.
    pub(super) parts: Vec<Vec<usize>>,
}

/// The case that the files make, or the built-in unit without files; voltage steps without files are
/// a case of their own.
pub(super) fn case(files: &[PathBuf], read: &Reading, told: &Options) -> anyhow::Result<Case> {
    case_and_files(files, read, told).map(|(case, _)| case)
}

/// As [`case`], with where each shot comes from.
pub(super) fn case_and_files(
    files: &[PathBuf],
    read: &Reading,
    told: &Options,
) -> anyhow::Result<(Case, Read)> {
    if files.is_empty() && !told.steps.is_empty() {
        let case = one_run("readings by hand".to_owned(), Vec::new(), told);
        return Ok((case, Read::default()));
    }
    if files.is_empty() {
        let mut case = inspect::demo(&Progress::new()).context("the built-in example")?;
        for group in &mut case.groups {
            group.options = over(&group.options, told);
        }
        return Ok((case, Read::default()));
    }
    if let Some(folder) = files.iter().find(|f| f.is_dir()) {
        bail!(
            "{}: a folder is inspected by itself; give one folder, or files",
            shown(folder)
        );
    }
    let (shots, from) = read_all(files, read)?;
    Ok((one_run(title(files), shots, told), from))
}

fn one_run(title: String, shots: Vec<Arc<Shot>>, told: &Options) -> Case {
    let group = Group {
        title: String::new(),
        shots,
        options: told.clone(),
    };
    Case {
        title,
        groups: vec![group],
    }
}

/// Reads all files; every one that fails is named.
fn read_all(files: &[PathBuf], read: &Reading) -> anyhow::Result<(Vec<Arc<Shot>>, Read)> {
    let mut all = Vec::new();
    let mut from = Read::default();
    let mut failures = Vec::new();
    for (index, file) in files.iter().enumerate() {
        match shots_and_layout(file, read) {
            Ok((found, layout)) => {
                from.layouts.push(layout);
                from.origins
                    .extend((1..=found.len()).map(|number| (index, number)));
                all.extend(found);
            }
            Err(error) => failures.push(super::error_chain(error.as_ref())),
        }
    }
    if let Some(last) = failures.pop() {
        failures.iter().for_each(|why| super::deliver::remark(why));
        bail!("{last}");
    }
    from.parts = (0..all.len()).map(|index| vec![index]).collect();
    for group in one_shot(&mut all, read) {
        let (first, others) = group.split_at(1);
        from.parts.retain(|part| !others.contains(&part[0]));
        let whole = from.parts.iter_mut().find(|part| first == part.as_slice());
        if let Some(part) = whole {
            part.extend(others);
        }
    }
    Ok((all, from))
}

/// Files with one channel each and equal times: one shot where that was told, else offered. Gives the
/// groups that were put together, as indices into the captures.
fn one_shot(all: &mut Vec<Arc<Shot>>, read: &Reading) -> Vec<Vec<usize>> {
    let groups = inspect::together(all);
    match read.shot() {
        Some("together") => {
            inspect::put_together(all, &groups, "as told");
            return groups;
        }
        Some(_) => {}
        None => {
            for group in groups {
                let files: Vec<String> = group
                    .iter()
                    .filter_map(|index| all.get(*index))
                    .map(|shot| super::clean(&shot.capture.file))
                    .collect();
                super::deliver::remark(&format!(
                    "{} have one channel each and equal times; if they are one shot, say so with --layout shot=together, else with --layout shot=apart",
                    files.join(" and ")
                ));
            }
        }
    }
    Vec::new()
}

/// Inspects every group of a case, in order.
pub(super) fn examine(case: &Case, library: &Library) -> anyhow::Result<Vec<Inspection>> {
    let one = |group: &Group| inspect::examine(&group.shots, &group.options, library);
    Ok(case.groups.iter().map(one).collect::<Result<_, _>>()?)
}

fn title(files: &[PathBuf]) -> String {
    let name = |path: &PathBuf| shown(Path::new(path.file_name().unwrap_or(path.as_os_str())));
    match files {
        [] => String::new(),
        [one] => name(one),
        [first, rest @ ..] => format!("{} and {} more", name(first), rest.len()),
    }
}

/// What is in a folder.
#[derive(Debug, Default)]
pub(super) struct Folder {
    /// Files that can be captures, by name.
    pub(super) files: Vec<PathBuf>,
    /// Names of files that plainly are none.
    pub(super) skipped: Vec<String>,
    /// Folders inside, which are not looked into.
    folders: Vec<String>,
}

/// Endings of files that are plainly no captures: descriptions, pictures, pages.
const NO_CAPTURES: [&str; 12] = [
    "toml", "json", "md", "png", "svg", "html", "htm", "pdf", "jpg", "jpeg", "gif", "bmp",
];

fn plainly_no_capture(name: &str) -> bool {
    let ending = name.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase());
    name.starts_with('.') || ending.is_some_and(|e| NO_CAPTURES.contains(&e.as_str()))
}

/// The files of a folder that can be captures, by name, and what else is in it.
///
/// # Errors
/// When it can't be listed, or has no file that can be a capture: says what it has instead.
pub(super) fn folder(path: &Path) -> anyhow::Result<Folder> {
    let entries =
        std::fs::read_dir(path).with_context(|| format!("{}: can't be listed", shown(path)))?;
    let mut found = Folder::default();
    for entry in entries {
        let entry = entry.with_context(|| format!("{}: can't be listed", shown(path)))?;
        let name = super::clean(&entry.file_name().to_string_lossy());
        if entry.path().is_dir() {
            found.folders.push(name);
        } else if plainly_no_capture(&name) {
            found.skipped.push(name);
        } else {
            found.files.push(entry.path());
        }
    }
    found.files.sort();
    found.skipped.sort();
    found.folders.sort();
    if found.files.is_empty() {
        bail!("{}: {}", shown(path), nothing_in(&found));
    }
    Ok(found)
}

fn nothing_in(found: &Folder) -> String {
    match (found.folders.as_slice(), found.skipped.as_slice()) {
        ([], []) => "there is no file in it".to_owned(),
        ([], skipped) => format!(
            "there is no capture in it, only {} that plainly are none: {}",
            counted(skipped.len(), "file", "files"),
            few(skipped)
        ),
        (folders, _) => format!(
            "there is no capture in it, only {}: {}; name one of them",
            counted(folders.len(), "folder", "folders"),
            few(folders)
        ),
    }
}

/// The first names, and how many more there are.
fn few(names: &[String]) -> String {
    const MOST: usize = 5;
    let shown = names.iter().take(MOST).cloned().collect::<Vec<_>>();
    match names.len().saturating_sub(MOST) {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}
