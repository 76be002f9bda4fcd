//! A file on disk as a source of bytes.

use std::fs::File;
use std::io;
use std::path::Path;
use std::sync::Arc;

use anyhow::{Context, bail};

use super::shown;
use crate::data::Source;

/// An open file, read at any position.
#[derive(Debug)]
struct FileSource {
    file: File,
    length: u64,
    name: String,
}

/// Opens a regular file.
///
/// # Errors
/// When it is missing, is not a file, or may not be read.
pub(super) fn open(path: &Path) -> anyhow::Result<Arc<dyn Source>> {
    let meta =
        std::fs::metadata(path).with_context(|| format!("{}: can't be opened", shown(path)))?;
    if meta.is_dir() {
        bail!("{}: is a folder, a file was expected", shown(path));
    }
    if !meta.is_file() {
        bail!("{}: is not a regular file", shown(path));
    }
    let file = File::open(path).with_context(|| format!("{}: can't be opened", shown(path)))?;
    let name = path
        .file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned();
    Ok(Arc::new(FileSource {
        file,
        length: meta.len(),
        name,
    }))
}

impl Source for FileSource {
    fn len(&self) -> u64 {
        self.length
    }

    #[cfg(unix)]
    fn read_at(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize> {
        std::os::unix::fs::FileExt::read_at(&self.file, buffer, offset)
    }

    #[cfg(windows)]
    fn read_at(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize> {
        std::os::windows::fs::FileExt::seek_read(&self.file, buffer, offset)
    }

    fn name(&self) -> &str {
        &self.name
    }
}
