//! One process at a time writes a job: a file with its number, its machine and the time, which the
//! system holds for it as long as it runs.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, Write};
use std::path::{Path, PathBuf};

use super::error::{JobError, shown};
use crate::data::text::harmless;

/// Name of the file in the job's folder.
pub const LOCK: &str = "job.lock";

/// Who has a job open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// Number of the process.
    pub process: u32,
    /// Name of the machine; empty where the system does not tell.
    pub host: String,
    /// Since when, as told by the face that opened it.
    pub since: String,
}

impl Holder {
    /// This process on this machine.
    pub fn here(since: &str) -> Self {
        Holder {
            process: std::process::id(),
            host: host(),
            since: harmless(since, 40),
        }
    }

    /// `process 4711 on bench-pc since 2026-11-26T14:05:00Z`.
    pub fn words(&self) -> String {
        let host = if self.host.is_empty() {
            "an unknown machine"
        } else {
            &self.host
        };
        format!("process {} on {host} since {}", self.process, self.since)
    }

    fn text(&self) -> String {
        format!("{}\n{}\n{}\n", self.process, self.host, self.since)
    }

    fn read(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        Some(Holder {
            process: lines.next()?.trim().parse().ok()?,
            host: harmless(lines.next()?, 100),
            since: harmless(lines.next()?, 40),
        })
    }

    /// Is it surely gone? Only where it ran here and the system knows no such process.
    fn is_gone(&self) -> bool {
        let processes = Path::new("/proc");
        let ours = !self.host.is_empty() && self.host == host();
        ours && processes.join("self").exists()
            && !processes.join(self.process.to_string()).exists()
    }
}

fn host() -> String {
    let told = fs::read_to_string("/proc/sys/kernel/hostname").ok();
    let told = told.or_else(|| std::env::var("COMPUTERNAME").ok());
    let told = told.or_else(|| std::env::var("HOSTNAME").ok());
    harmless(told.unwrap_or_default().trim(), 100)
}

/// A job held by this process, until it is dropped.
#[derive(Debug)]
pub(super) struct Lock {
    file: File,
    path: PathBuf,
}

/// Takes the job; also tells whose lock was left behind and taken over.
///
/// # Errors
/// [`JobError::InUse`] where another process has it, or may have and `take_over` is not asked for;
/// [`JobError::Io`].
pub(super) fn take(
    folder: &Path,
    since: &str,
    take_over: bool,
) -> Result<(Lock, Option<Holder>), JobError> {
    const TRIES: usize = 20;
    let path = folder.join(LOCK);
    for _ in 0..TRIES {
        let mut file = open(&path)?;
        let held = match file.try_lock() {
            Ok(()) => Held::Ours,
            Err(TryLockError::WouldBlock) => Held::Other,
            // no such thing on this medium: what the file says is all there is
            Err(TryLockError::Error(_)) => Held::NobodyKnows,
        };
        if !is_still(&path, &file) {
            continue;
        }
        let before = match content(&mut file) {
            Ok(before) => before,
            // some systems let nobody read what another holds
            Err(_) if held == Held::Other => None,
            Err(error) => return Err(JobError::io(&path, "read", &error)),
        };
        refuse(folder, held, before.as_ref(), take_over)?;
        write(&mut file, &Holder::here(since)).map_err(|e| JobError::io(&path, "written", &e))?;
        return Ok((Lock { file, path }, before));
    }
    let busy = io::Error::other("another process opens and closes it all the time");
    Err(JobError::io(&path, "locked", &busy))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Held {
    Ours,
    Other,
    NobodyKnows,
}

fn refuse(
    folder: &Path,
    held: Held,
    before: Option<&Holder>,
    take_over: bool,
) -> Result<(), JobError> {
    let here = before.is_some_and(|holder| holder.host == host() && !holder.host.is_empty());
    let (advice, may_take_over) = match (held, before) {
        (Held::Other, _) => ("close it there first", false),
        (_, None) => return Ok(()),
        // the system has let go of it, so the process that wrote it has ended
        (Held::Ours, Some(_)) if here => return Ok(()),
        (Held::NobodyKnows, Some(holder)) if holder.is_gone() => return Ok(()),
        _ if take_over => return Ok(()),
        _ => (
            "whether it still runs can't be seen from here: close it there, or take the job over",
            true,
        ),
    };
    Err(JobError::InUse {
        path: shown(folder),
        holder: before.map_or_else(|| "another process".to_owned(), Holder::words),
        advice,
        may_take_over,
    })
}

fn open(path: &Path) -> Result<File, JobError> {
    if fs::symlink_metadata(path).is_ok_and(|meta| !meta.is_file()) {
        return Err(JobError::refused(path, "is no regular file; take it away"));
    }
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    options
        .open(path)
        .map_err(|error| JobError::io(path, "locked", &error))
}

/// Is the file still the one of that name? Its last holder may just have taken it away.
#[cfg(unix)]
fn is_still(path: &Path, file: &File) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (fs::symlink_metadata(path), file.metadata()) {
        (Ok(named), Ok(opened)) => named.ino() == opened.ino() && named.dev() == opened.dev(),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_still(path: &Path, _file: &File) -> bool {
    path.exists()
}

fn content(file: &mut File) -> io::Result<Option<Holder>> {
    let mut bytes = Vec::new();
    file.seek(io::SeekFrom::Start(0))?;
    file.take(1000).read_to_end(&mut bytes)?;
    Ok(Holder::read(&String::from_utf8_lossy(&bytes)))
}

fn write(file: &mut File, holder: &Holder) -> io::Result<()> {
    file.set_len(0)?;
    file.seek(io::SeekFrom::Start(0))?;
    file.write_all(holder.text().as_bytes())
}

impl Drop for Lock {
    fn drop(&mut self) {
        // where one of both fails, the file is found by the next process, which sees that we ended
        drop(self.file.set_len(0));
        drop(fs::remove_file(&self.path));
    }
}

#[cfg(test)]
mod tests;
