//! Remembered layouts: how odd files were understood, kept for the next ones like them. A folder of
//! small TOML files, one a layout, that a person can read and edit.
//!
//! Nothing here looks for a folder by itself: the caller names it.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

mod file;

use file::{free_path, is_name, load, write, written};

use super::{ReadOptions, signature};
use crate::data::Source;
use crate::data::text::harmless;

/// Longest name of a layout, in characters.
const LONGEST_NAME: usize = 60;
/// Files that a folder is searched for at most.
const MOST_FILES: usize = 1000;

/// How files of one form are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remembered {
    /// What the user called it: 1 to 60 characters, untrusted where it comes from a file.
    pub name: String,
    /// What the files have in common, as [`signature`] gives it.
    pub signature: String,
    /// Import decisions by key, as `--layout KEY=VALUE` takes them.
    pub layout: BTreeMap<String, String>,
}

/// Why a layout could not be read, kept or forgotten.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RememberedError {
    /// The medium failed.
    #[error("{path}: cannot be {doing} ({reason})")]
    Io {
        /// Folder or file.
        path: String,
        /// `read`, `written` or `deleted`.
        doing: &'static str,
        /// What the system said.
        reason: String,
    },
    /// A file that is no layout.
    #[error("{path}, line {line}: {what}")]
    Wrong {
        /// The file.
        path: String,
        /// Line, from 1.
        line: usize,
        /// What is wrong, with the key.
        what: String,
    },
    /// Written by a later version.
    #[error("{path}: schema {found} is of a later version; it is left as it is, and not used")]
    Newer {
        /// The file.
        path: String,
        /// Its schema.
        found: i64,
    },
    /// Two files for one form.
    #[error("{path}: is for files of the same form as {first}, which is used")]
    Twice {
        /// The file that is not used.
        path: String,
        /// The file that is.
        first: String,
    },
    /// More files than are looked at.
    #[error("{path}: has more than {MOST_FILES} files; the rest is not looked at")]
    TooMany {
        /// The folder.
        path: String,
    },
    /// The form is remembered already.
    #[error("files of this form are remembered already, as '{name}'")]
    Exists {
        /// Under this name.
        name: String,
    },
    /// No name to keep it under.
    #[error("a name of 1 to {LONGEST_NAME} characters on one line is needed")]
    Name,
    /// Nothing to remember.
    #[error("no import decision was told, so there is nothing to remember")]
    NothingTold,
    /// No text to know the next file by.
    #[error("the file begins with no text by which the next one like it could be known")]
    NoSignature,
}

/// The layouts of a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layouts {
    folder: PathBuf,
    kept: Vec<(PathBuf, Remembered)>,
    problems: Vec<RememberedError>,
}

impl Layouts {
    /// Reads the layouts (`*.toml`) of a folder, by file name. A folder that is not there holds none.
    /// A file that can't be used is left out and named in [`Layouts::problems`].
    ///
    /// # Errors
    /// [`RememberedError::Io`] when the folder can't be listed.
    pub fn open(folder: &Path) -> Result<Layouts, RememberedError> {
        let mut layouts = Layouts {
            folder: folder.to_owned(),
            kept: Vec::new(),
            problems: Vec::new(),
        };
        let mut files = match listed(folder) {
            Ok(files) => files,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(layouts),
            Err(error) => return Err(failed(folder, "read", &error)),
        };
        if files.len() > MOST_FILES {
            files.truncate(MOST_FILES);
            let path = shown(folder);
            layouts.problems.push(RememberedError::TooMany { path });
        }
        for path in files {
            layouts.take(path);
        }
        Ok(layouts)
    }

    fn take(&mut self, path: PathBuf) {
        let read = match load(&path) {
            Ok(read) => read,
            Err(error) => return self.problems.push(error),
        };
        let same = |(_, other): &&(PathBuf, Remembered)| other.signature == read.signature;
        match self.kept.iter().find(same) {
            Some((first, _)) => self.problems.push(RememberedError::Twice {
                path: shown(&path),
                first: shown(first),
            }),
            None => self.kept.push((path, read)),
        }
    }

    /// The layouts, by file name.
    pub fn iter(&self) -> impl Iterator<Item = &Remembered> {
        self.kept.iter().map(|(_, layout)| layout)
    }

    /// What could not be used, each with its file.
    pub fn problems(&self) -> &[RememberedError] {
        &self.problems
    }

    /// The layout for files of this signature; none for an empty one.
    pub fn find(&self, signature: &str) -> Option<&Remembered> {
        let fits = |layout: &&Remembered| layout.signature == signature;
        self.iter()
            .find(fits)
            .filter(|layout| !layout.signature.is_empty())
    }

    /// `told`, and beneath it what is remembered for files like `source`.
    #[must_use]
    pub fn applied(&self, told: &ReadOptions, source: &dyn Source) -> ReadOptions {
        let mut options = told.clone();
        if let Some(found) = self.find(&signature(source)) {
            options.remembered.clone_from(&found.layout);
            options.remembered_as.clone_from(&found.name);
        }
        options
    }

    /// Keeps a layout: whole or not at all, in a file named after it. The folder is made when it is
    /// not there. Where the form is remembered already, `replace` puts the new layout in its place;
    /// no other file is touched. Returns the file.
    ///
    /// # Errors
    /// [`RememberedError`]; what was kept before is still there then.
    pub fn save(&mut self, new: Remembered, replace: bool) -> Result<PathBuf, RememberedError> {
        check(&new)?;
        let before = self
            .kept
            .iter()
            .position(|(_, old)| old.signature == new.signature);
        let before = before.and_then(|index| Some((index, self.kept.get(index)?.clone())));
        if let Some((_, (_, old))) = before.as_ref().filter(|_| !replace) {
            let name = harmless(&old.name, LONGEST_NAME);
            return Err(RememberedError::Exists { name });
        }
        let folder = &self.folder;
        fs::create_dir_all(folder).map_err(|error| failed(folder, "written", &error))?;
        let path = match &before {
            Some((_, (path, old))) if old.name == new.name => path.clone(),
            _ => free_path(folder, &new.name),
        };
        written(&new)
            .and_then(|text| write(&path, &text))
            .map_err(|error| failed(&path, "written", &error))?;
        if let Some((index, (old, _))) = before {
            self.kept.remove(index);
            if old != path {
                delete(&old)?;
            }
        }
        self.kept.push((path.clone(), new));
        Ok(path)
    }

    /// Deletes the layout for files of this signature. One that is not there is no error.
    ///
    /// # Errors
    /// [`RememberedError::Io`] when its file can't be deleted.
    pub fn forget(&mut self, signature: &str) -> Result<(), RememberedError> {
        let fits = |(_, layout): &(PathBuf, Remembered)| layout.signature == signature;
        if let Some(index) = self.kept.iter().position(fits) {
            let (path, _) = self.kept.remove(index);
            delete(&path)?;
        }
        Ok(())
    }
}

fn shown(path: &Path) -> String {
    harmless(&path.to_string_lossy(), usize::MAX)
}

fn failed(path: &Path, doing: &'static str, error: &io::Error) -> RememberedError {
    RememberedError::Io {
        path: shown(path),
        doing,
        reason: error.to_string(),
    }
}

/// The files of a folder that can be layouts, by name.
fn listed(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let ending = path.extension().map(|x| x.to_ascii_lowercase());
        if ending.is_some_and(|x| x == "toml") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn check(new: &Remembered) -> Result<(), RememberedError> {
    if !is_name(&new.name) {
        return Err(RememberedError::Name);
    }
    if new.signature.is_empty() {
        return Err(RememberedError::NoSignature);
    }
    if new.layout.is_empty() {
        return Err(RememberedError::NothingTold);
    }
    Ok(())
}

fn delete(path: &Path) -> Result<(), RememberedError> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            Err(failed(path, "deleted", &error))
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests;
