//! From paths to a case: files are the shots of one run, no files are the built-in unit.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context, bail};

use super::options::{Reading, over};
use super::shown;
use crate::data::{Inspection, Options, Progress, Source};
use crate::inspect::{self, Case, FileSource, Group, Library, Shot};

/// Reads one file with the facts of its channels.
pub(super) fn shots(path: &Path, read: &Reading) -> anyhow::Result<Vec<Arc<Shot>>> {
    let source: Arc<dyn Source> = Arc::new(FileSource::open(path)?);
    let shots = inspect::load(&source, &read.of(source.as_ref()), &Progress::new())?;
    if shots.is_empty() {
        bail!("{}: no capture was found in it", shown(path));
    }
    Ok(shots)
}

/// The case that the files make, or the built-in unit without files; voltage steps without files are
/// a case of their own.
pub(super) fn case(files: &[PathBuf], read: &Reading, told: &Options) -> anyhow::Result<Case> {
    if files.is_empty() && !told.steps.is_empty() {
        let group = Group {
            title: String::new(),
            shots: Vec::new(),
            options: told.clone(),
        };
        return Ok(Case {
            title: "readings by hand".to_owned(),
            groups: vec![group],
        });
    }
    if files.is_empty() {
        let mut case = inspect::demo(&Progress::new()).context("the built-in example")?;
        for group in &mut case.groups {
            group.options = over(&group.options, told);
        }
        return Ok(case);
    }
    if let Some(folder) = files.iter().find(|f| f.is_dir()) {
        bail!(
            "{}: a folder is inspected by itself; give one folder, or files",
            shown(folder)
        );
    }
    let mut all = Vec::new();
    let mut failures = Vec::new();
    for file in files {
        match shots(file, read) {
            Ok(found) => all.extend(found),
            Err(error) => failures.push(super::error_chain(error.as_ref())),
        }
    }
    if let Some(last) = failures.pop() {
        failures.iter().for_each(|why| super::deliver::remark(why));
        bail!("{last}");
    }
    one_shot(&mut all, read);
    let group = Group {
        title: String::new(),
        shots: all,
        options: told.clone(),
    };
    Ok(Case {
        title: title(files),
        groups: vec![group],
    })
}

/// Files with one channel each and equal times: one shot where that was told, else offered.
fn one_shot(all: &mut Vec<Arc<Shot>>, read: &Reading) {
    let groups = inspect::together(all);
    match read.shot() {
        Some("together") => inspect::put_together(all, &groups, "as told"),
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

/// `1 file`, `3 files`.
fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
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
