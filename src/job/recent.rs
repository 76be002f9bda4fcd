//! The jobs of a folder, the one that was changed last first.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::JobError;
use super::store;
use crate::data::job::Job;

/// Folders that are looked at, at most.
const MOST: usize = 1000;

/// A job found in a folder.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// Its own folder.
    pub folder: PathBuf,
    /// Its record, or why it can't be read.
    pub job: Result<Box<Job>, JobError>,
}

impl Listed {
    /// When it was changed last, or opened where it was never changed; empty where nobody said.
    fn date(&self) -> &str {
        match &self.job {
            Ok(job) if job.changed.is_empty() => &job.opened,
            Ok(job) => &job.changed,
            Err(_) => "",
        }
    }
}

/// The jobs in the folders directly under this one, the one that was changed last first by the date in
/// its record; those that can't be read come last, each with its reason. At most 1000 folders, the
/// first by name, are looked at.
///
/// # Errors
/// [`JobError::Io`] where the folder can't be listed; one that is not there has no jobs.
pub fn jobs(folder: &Path) -> Result<Vec<Listed>, JobError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(JobError::io(folder, "listed", &error)),
    };
    let mut folders: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    folders.retain(|path| store::is_job(path));
    folders.sort();
    folders.truncate(MOST);
    let listed = |folder: PathBuf| Listed {
        job: store::read(&folder).map(Box::new),
        folder,
    };
    let mut all: Vec<Listed> = folders.into_iter().map(listed).collect();
    all.sort_by(|a, b| b.date().cmp(a.date()));
    Ok(all)
}
