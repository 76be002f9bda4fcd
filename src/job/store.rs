//! A job's folder held by this process: opened, saved, saved elsewhere.
//!
//! A save writes a new file beside the record, has it reach the medium, keeps the record as it was as
//! the one backup, and then gives the new file the record's name: whatever happens between, the
//! record of that name is whole.

use std::fs;
use std::path::{Path, PathBuf};

use super::disk::{Disk, RealDisk};
use super::error::{JobError, shown};
use super::lock::{Holder, Lock, take};
use super::{hash, place, text};
use crate::data::job::Job;

/// Name of the record in the job's folder.
pub const RECORD: &str = "job.toml";
/// Name of the record as it was before the last save.
pub const BACKUP: &str = "job.before.toml";
/// How names of files begin that a save has not finished.
const UNFINISHED: &str = ".job-";

/// Files of a job, which nothing else may overwrite: record, backup, lock, captures and pictures.
pub fn files_of(folder: &Path, job: &Job) -> Vec<PathBuf> {
    let captures = job.captures.iter().map(|capture| capture.file.as_str());
    let pictures = job.pictures.iter().map(|picture| picture.file.as_str());
    let own = [RECORD, BACKUP, super::LOCK];
    let all = own.into_iter().chain(captures).chain(pictures);
    all.map(|file| folder.join(file)).collect()
}

/// Is there a record in this folder?
pub fn is_job(folder: &Path) -> bool {
    fs::symlink_metadata(folder.join(RECORD)).is_ok_and(|meta| !meta.is_dir())
}

/// The record of a folder, without holding it: for looking only.
///
/// # Errors
/// [`JobError`], with file, line and key.
pub fn read(folder: &Path) -> Result<Job, JobError> {
    read_named(folder, RECORD).map(|(job, _)| job)
}

/// The record as it was before the last save.
///
/// # Errors
/// As [`read`].
pub fn read_backup(folder: &Path) -> Result<Job, JobError> {
    read_named(folder, BACKUP).map(|(job, _)| job)
}

fn read_named(folder: &Path, name: &str) -> Result<(Job, String), JobError> {
    let bytes = bytes_of(folder, name)?;
    let path = folder.join(name);
    let hash = hash::of_bytes(&bytes);
    let text = String::from_utf8(bytes)
        .map_err(|_unused| JobError::refused(&path, "is no text in UTF-8"))?;
    Ok((text::read(&shown(&path), &text)?, hash))
}

fn bytes_of(folder: &Path, name: &str) -> Result<Vec<u8>, JobError> {
    let path = folder.join(name);
    let unread = |error: std::io::Error| JobError::io(&path, "read", &error);
    let real = place::inside(folder, name)?;
    let size = fs::metadata(&real).map_err(unread)?.len();
    if size > text::MOST_BYTES {
        return Err(JobError::refused(
            &path,
            "is larger than a record can be (4 MiB)",
        ));
    }
    fs::read(&real).map_err(unread)
}

/// A job's folder, held by this process until it is dropped.
pub struct Store {
    folder: PathBuf,
    /// Hash of the record as it was read or written last; `None` before the first save.
    seen: Option<String>,
    pub(super) disk: Box<dyn Disk>,
    _lock: Lock,
}

/// A job that was opened.
pub struct Opened {
    /// Its folder.
    pub store: Store,
    /// Its record.
    pub job: Job,
    /// Whose lock was left behind and taken over.
    pub taken_over: Option<Holder>,
}

impl Store {
    /// A new job in a folder, which is made where it is not there; nothing is saved yet. `since` is the
    /// time that others are told.
    ///
    /// # Errors
    /// [`JobError::Exists`], [`JobError::InUse`], [`JobError::Io`].
    pub fn create(folder: &Path, since: &str) -> Result<Store, JobError> {
        fs::create_dir_all(folder).map_err(|error| JobError::io(folder, "made", &error))?;
        if let Some(around) = folder.parent().filter(|path| !path.as_os_str().is_empty()) {
            // a medium that can't do it keeps the folder all the same, only later
            drop(RealDisk.sync_folder(around));
        }
        let (lock, _) = take(folder, since, false)?;
        if fs::symlink_metadata(folder.join(RECORD)).is_ok() {
            let path = shown(folder);
            return Err(JobError::Exists { path });
        }
        Ok(Store::held(folder, None, lock))
    }

    /// Opens the job of a folder for writing. Where its lock was left by a process that surely ended,
    /// or `take_over` is asked for, it is taken over, which [`Opened::taken_over`] tells.
    ///
    /// # Errors
    /// [`JobError`]; a record of a later schema or a damaged one is left as it is.
    pub fn open(folder: &Path, since: &str, take_over: bool) -> Result<Opened, JobError> {
        // looked at first, so that no lock is left in a folder without a record
        read_named(folder, RECORD)?;
        let (lock, taken_over) = take(folder, since, take_over)?;
        let (job, hash) = read_named(folder, RECORD)?;
        let store = Store::held(folder, Some(hash), lock);
        store.clear_unfinished();
        Ok(Opened {
            store,
            job,
            taken_over,
        })
    }

    fn held(folder: &Path, seen: Option<String>, lock: Lock) -> Store {
        Store {
            folder: folder.to_owned(),
            seen,
            disk: Box::new(RealDisk),
            _lock: lock,
        }
    }

    /// Another medium under it, for tests of what happens where a step fails.
    #[must_use]
    pub fn on(mut self, disk: Box<dyn Disk>) -> Store {
        self.disk = disk;
        self
    }

    /// The job's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Saves the record. When this returns `Ok` it is on the medium; where it returns an error the
    /// record before it is whole (or this one is, where only the last step failed).
    ///
    /// # Errors
    /// [`JobError::ChangedOutside`], [`JobError::Unwritable`], [`JobError::Io`].
    pub fn save(&mut self, job: &Job) -> Result<(), JobError> {
        let text = text::write(job)?;
        let path = self.folder.join(RECORD);
        let before = match fs::symlink_metadata(&path) {
            Ok(_) => Some(bytes_of(&self.folder, RECORD)?),
            Err(_) => None,
        };
        if before.as_deref().map(hash::of_bytes) != self.seen {
            let path = shown(&path);
            return Err(JobError::ChangedOutside { path });
        }
        if before.as_deref() == Some(text.as_bytes()) {
            return Ok(());
        }
        self.put(RECORD, text.as_bytes(), before.as_deref())?;
        self.seen = Some(hash::of_bytes(text.as_bytes()));
        self.disk
            .sync_folder(&self.folder)
            .map_err(|error| JobError::io(&path, "written", &error))
    }

    /// A file of the folder by a new one that takes its name, after what it was took that of the backup.
    fn put(&self, name: &str, bytes: &[u8], before: Option<&[u8]>) -> Result<(), JobError> {
        let path = self.folder.join(name);
        let new = self.unfinished("new");
        let old = self.unfinished("before");
        let steps = || {
            self.disk.create(&new, &mut &*bytes)?;
            if let Some(mut before) = before {
                self.disk.create(&old, &mut before)?;
                self.disk.rename(&old, &self.folder.join(BACKUP))?;
            }
            self.disk.rename(&new, &path)
        };
        steps().map_err(|error| {
            // the reason is told; what can't be taken away now is taken away when the job is opened
            drop(self.disk.remove(&new));
            drop(self.disk.remove(&old));
            JobError::io(&path, "written", &error)
        })
    }

    pub(super) fn unfinished(&self, what: &str) -> PathBuf {
        let name = format!("{UNFINISHED}{what}.{}.part", std::process::id());
        self.folder.join(name)
    }

    /// Takes away what saves that were cut off left behind: nobody else writes while this process holds
    /// the job.
    fn clear_unfinished(&self) {
        let Ok(entries) = fs::read_dir(&self.folder) else {
            return;
        };
        for entry in entries.flatten() {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            if name.starts_with(UNFINISHED) && name.ends_with(".part") {
                drop(fs::remove_file(entry.path()));
            }
        }
    }
}
