//! Files that a record names and that are not as they were.

use std::path::Path;

use super::error::JobError;
use super::{hash, place};
use crate::data::job::Job;

/// What is the matter with a file of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProblemKind {
    /// It is not there, or its path leads out of the folder.
    Missing,
    /// It is another file than the one that was recorded.
    Altered,
    /// The record holds no hash, so whether it is the same can't be told.
    NoHash,
    /// It is there and could not be read as a capture.
    Unread,
}

impl ProblemKind {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            ProblemKind::Missing => "missing",
            ProblemKind::Altered => "altered",
            ProblemKind::NoHash => "no-hash",
            ProblemKind::Unread => "unread",
        }
    }
}

/// A file of a job that is not as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The file, as the record names it.
    pub file: String,
    /// What is the matter.
    pub kind: ProblemKind,
    /// In words, with what to do.
    pub text: String,
}

impl Problem {
    pub(super) fn missing(file: &str, error: &JobError) -> Self {
        Problem {
            file: file.to_owned(),
            kind: ProblemKind::Missing,
            text: format!("{error}; put it back under this name"),
        }
    }
}

/// Looks at every capture and picture of a record: is it there, and is it the one that was recorded?
/// Reads each file once.
pub fn problems(folder: &Path, job: &Job) -> Vec<Problem> {
    let captures = job.captures.iter().map(|c| (&c.file, &c.sha256));
    let pictures = job.pictures.iter().map(|p| (&p.file, &p.sha256));
    let files = captures.chain(pictures);
    files
        .filter_map(|(file, hash)| problem(folder, file, hash))
        .collect()
}

/// What is the matter with one file, if anything.
fn problem(folder: &Path, file: &str, recorded: &str) -> Option<Problem> {
    let found = place::inside(folder, file)
        .and_then(|path| hash::of_file(&path).map_err(|error| JobError::io(&path, "read", &error)));
    match found {
        Err(error) => Some(Problem::missing(file, &error)),
        Ok(_) if recorded.is_empty() => Some(Problem {
            file: file.to_owned(),
            kind: ProblemKind::NoHash,
            text: "the record holds no hash of it, so whether it is still the same can't be told".to_owned(),
        }),
        Ok(hash) if hash != recorded => Some(Problem {
            file: file.to_owned(),
            kind: ProblemKind::Altered,
            text: "is not the file that was recorded: its hash differs. Put the recorded one back, or add this one anew".to_owned(),
        }),
        Ok(_) => None,
    }
}
