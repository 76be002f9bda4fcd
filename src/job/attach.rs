//! Captures and pictures copied into a job's folder, as they came.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

use super::error::JobError;
use super::store::Store;
use super::{hash, place};
use crate::data::job::{CaptureFile, Job, Picture};

/// Folder of the captures.
const CAPTURES: &str = "captures";
/// Folder of the pictures.
const PICTURES: &str = "pictures";
/// Largest picture, in bytes.
const MOST_PICTURE_BYTES: u64 = 64 * 1024 * 1024;
/// First bytes of a PNG file (ISO/IEC 15948, 5.2).
const PNG: [u8; 8] = [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a];
/// First bytes of a JPEG file: start of image, and the next marker (ISO/IEC 10918-1, B.1.1.3).
const JPEG: [u8; 3] = [0xff, 0xd8, 0xff];

impl Store {
    /// Copies a capture into the job's folder, and takes its hash. A file of the same name and content
    /// is not copied twice, and one that lies in the folder already stays where it is. The record that
    /// names it has to be saved afterwards.
    ///
    /// # Errors
    /// [`JobError::Io`], [`JobError::Refused`].
    pub fn add_capture(
        &self,
        from: &Path,
        layout: &BTreeMap<String, String>,
    ) -> Result<CaptureFile, JobError> {
        let name = from.file_name().unwrap_or_default().to_string_lossy();
        let (file, sha256) = self.bring_in(from, CAPTURES, &place::file_name(&name))?;
        Ok(CaptureFile {
            file,
            sha256,
            layout: layout.clone(),
        })
    }

    /// Copies a photo or a picture of a screen into the job's folder, and takes its hash. PNG and JPEG
    /// are taken, known by their first bytes; what is inside is not looked at.
    ///
    /// # Errors
    /// [`JobError::Io`], [`JobError::Refused`].
    pub fn add_picture(&self, from: &Path, title: &str) -> Result<Picture, JobError> {
        let ending = picture_ending(from)?;
        let name = from.file_stem().unwrap_or_default().to_string_lossy();
        let name = format!("{}.{ending}", place::file_name(&name));
        let (file, sha256) = self.bring_in(from, PICTURES, &name)?;
        Ok(Picture {
            file,
            sha256,
            title: title.to_owned(),
        })
    }

    fn bring_in(
        &self,
        from: &Path,
        folder: &str,
        name: &str,
    ) -> Result<(String, String), JobError> {
        let unread = |error: std::io::Error| JobError::io(from, "read", &error);
        // looked at before it is opened: opening a pipe waits for its writer
        if !fs::metadata(from).map_err(unread)?.is_file() {
            return Err(JobError::refused(from, "is no regular file"));
        }
        let hash = hash::of_file(from).map_err(unread)?;
        if let Some(relative) = self.relative(from) {
            return Ok((relative, hash));
        }
        for number in 1..10_000 {
            let name = match number {
                1 => name.to_owned(),
                more => place::numbered(name, more),
            };
            let relative = format!("{folder}/{name}");
            let path = self.folder().join(folder).join(&name);
            match fs::symlink_metadata(&path) {
                Ok(meta) if meta.is_file() && hash::of_file(&path).is_ok_and(|h| h == hash) => {
                    return Ok((relative, hash));
                }
                Ok(_) => {}
                Err(_) => {
                    self.copy(from, &relative)?;
                    let copied = hash::of_file(&path).map_err(unread)?;
                    return Ok((relative, copied));
                }
            }
        }
        Err(JobError::refused(
            from,
            "too many files of this name are in the job",
        ))
    }

    /// The path in the job's folder, where the file lies in it.
    fn relative(&self, from: &Path) -> Option<String> {
        let (root, real) = (
            self.folder().canonicalize().ok()?,
            from.canonicalize().ok()?,
        );
        let inside = real.strip_prefix(&root).ok()?;
        let parts: Option<Vec<&str>> = inside.iter().map(|part| part.to_str()).collect();
        let relative = parts?.join("/");
        place::check_relative(&relative).ok().map(|()| relative)
    }

    /// Copies a file to a place in the folder that is free: whole, or not at all.
    fn copy(&self, from: &Path, relative: &str) -> Result<(), JobError> {
        let to = place::joined(self.folder(), relative)?;
        let unwritten = |error: std::io::Error| JobError::io(&to, "written", &error);
        let around = to.parent().unwrap_or(self.folder()).to_owned();
        self.make_folder(&around)?;
        let mut bytes = File::open(from).map_err(|error| JobError::io(from, "read", &error))?;
        let beside = self.unfinished("copy");
        let steps = || {
            self.disk.create(&beside, &mut bytes)?;
            self.disk.rename(&beside, &to)?;
            self.disk.sync_folder(&around)
        };
        let mut steps = steps;
        let outcome = steps().map_err(unwritten);
        if outcome.is_err() {
            drop(self.disk.remove(&beside));
        }
        outcome
    }

    fn make_folder(&self, around: &Path) -> Result<(), JobError> {
        let unmade = |error: std::io::Error| JobError::io(around, "made", &error);
        // no link on the way may lead out: the nearest folder that is there has to lie inside
        let root = self.folder().canonicalize().map_err(unmade)?;
        let there = around.ancestors().find(|path| path.exists());
        let real = there.unwrap_or(around).canonicalize().map_err(unmade)?;
        if !real.starts_with(&root) {
            let why = "is a link that leads out of the job's folder";
            return Err(JobError::refused(around, why));
        }
        fs::create_dir_all(around).map_err(unmade)
    }

    /// The job in another folder: its files copied, then its record. Files that are missing are named in
    /// the result, and stay named in the record.
    ///
    /// # Errors
    /// As [`Store::create`] and [`Store::save`]; [`JobError::Exists`] where a record is there.
    pub fn save_as(
        &self,
        job: &Job,
        folder: &Path,
        since: &str,
    ) -> Result<(Store, Vec<String>), JobError> {
        let mut store = Store::create(folder, since)?;
        let captures = job.captures.iter().map(|capture| &capture.file);
        let pictures = job.pictures.iter().map(|picture| &picture.file);
        let mut missing = Vec::new();
        for file in captures.chain(pictures) {
            match place::inside(self.folder(), file) {
                Ok(from) => store.copy_once(&from, file)?,
                Err(error) => missing.push(error.to_string()),
            }
        }
        store.save(job)?;
        Ok((store, missing))
    }

    fn copy_once(&self, from: &Path, relative: &str) -> Result<(), JobError> {
        let to: PathBuf = place::joined(self.folder(), relative)?;
        if fs::symlink_metadata(&to).is_err() {
            return self.copy(from, relative);
        }
        let hash = |path: &Path| hash::of_file(path).map_err(|e| JobError::io(path, "read", &e));
        if hash(&place::inside(self.folder(), relative)?)? == hash(from)? {
            return Ok(());
        }
        let why =
            "another file of this name is there, which is not replaced; choose an empty folder";
        Err(JobError::refused(&to, why))
    }
}

fn picture_ending(path: &Path) -> Result<&'static str, JobError> {
    let unread = |error: std::io::Error| JobError::io(path, "read", &error);
    let meta = fs::metadata(path).map_err(unread)?;
    if !meta.is_file() || meta.len() > MOST_PICTURE_BYTES {
        return Err(JobError::refused(path, "is no file, or larger than 64 MiB"));
    }
    let mut head = Vec::new();
    let file = File::open(path).map_err(unread)?;
    file.take(8).read_to_end(&mut head).map_err(unread)?;
    if head.starts_with(&PNG) {
        Ok("png")
    } else if head.starts_with(&JPEG) {
        Ok("jpg")
    } else {
        let why = "is neither a PNG nor a JPEG picture, by its first bytes; convert it";
        Err(JobError::refused(path, why))
    }
}
