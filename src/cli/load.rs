//! From paths to a case: files are the shots of one run, no files are the built-in unit.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context, bail};

use super::options::over;
use super::{shown, source};
use crate::data::{Inspection, Options, Progress};
use crate::inspect::{self, Case, Group, Library, ReadOptions, Shot};

/// Reads one file with the facts of its channels.
pub(super) fn shots(path: &Path, read: &ReadOptions) -> anyhow::Result<Vec<Arc<Shot>>> {
    let source = source::open(path)?;
    let shots = inspect::load(&source, read, &Progress::new())?;
    if shots.is_empty() {
        bail!("{}: no capture was found in it", shown(path));
    }
    Ok(shots)
}

/// The case that the files make, or the built-in unit without files.
pub(super) fn case(files: &[PathBuf], read: &ReadOptions, told: &Options) -> anyhow::Result<Case> {
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

/// Inspects every group of a case, in order.
pub(super) fn examine(case: &Case) -> anyhow::Result<Vec<Inspection>> {
    let library = Library::built_in()?;
    let one = |group: &Group| inspect::examine(&group.shots, &group.options, &library);
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

/// The files of a folder that can be captures, by name: no folders, no hidden files, no truth
/// files of the simulator.
pub(super) fn folder(path: &Path) -> anyhow::Result<Vec<PathBuf>> {
    let entries =
        std::fs::read_dir(path).with_context(|| format!("{}: can't be listed", shown(path)))?;
    let mut files = Vec::new();
    for entry in entries {
        let entry = entry.with_context(|| format!("{}: can't be listed", shown(path)))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.path().is_file() && !name.starts_with('.') && !name.ends_with(".truth.json") {
            files.push(entry.path());
        }
    }
    files.sort();
    if files.is_empty() {
        bail!("{}: there is no file in it", shown(path));
    }
    Ok(files)
}
