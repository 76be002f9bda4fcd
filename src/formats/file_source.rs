//! A file as a source: positioned reads, so that several threads can read at once.

use std::fs::File;
use std::io;
use std::path::Path;

use super::FormatError;
use crate::data::Source;

/// An open file. Its length is taken when it is opened; a file that shrinks later ends early.
#[derive(Debug)]
pub struct FileSource {
    file: File,
    length: u64,
    name: String,
}

impl FileSource {
    /// Opens a file for reading; its name is kept without the folder.
    ///
    /// # Errors
    /// [`FormatError::Io`], with the path as given, when it cannot be opened or is no file.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, FormatError> {
        let path = path.as_ref();
        let name = path.file_name().map_or_else(
            || path.to_string_lossy().into_owned(),
            |name| name.to_string_lossy().into_owned(),
        );
        let failed = |error: io::Error| FormatError::io(&path.to_string_lossy(), &error);
        // looked at before it is opened: opening a pipe waits for its writer
        let about = std::fs::metadata(path).map_err(failed)?;
        if about.is_dir() {
            let why = "is a folder, a file was expected";
            return Err(failed(io::Error::new(io::ErrorKind::IsADirectory, why)));
        }
        if !about.is_file() {
            let why = "not a regular file";
            return Err(failed(io::Error::new(io::ErrorKind::InvalidInput, why)));
        }
        let file = File::open(path).map_err(failed)?;
        let about = file.metadata().map_err(failed)?;
        Ok(Self {
            file,
            length: about.len(),
            name,
        })
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_read_at_any_place_under_its_bare_name() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("a.csv");
        std::fs::write(&path, b"0123456789").expect("written");
        let source = FileSource::open(&path).expect("opened");
        let mut buffer = [0; 4];
        assert_eq!(source.name(), "a.csv");
        assert_eq!(source.len(), 10);
        assert_eq!(source.read_full_at(8, &mut buffer).expect("read"), 2);
        assert_eq!(&buffer[..2], b"89");
    }

    #[test]
    fn a_folder_and_a_missing_file_are_refused() {
        let folder = tempfile::tempdir().expect("folder");
        let error = FileSource::open(folder.path()).unwrap_err();
        assert_eq!(error.id(), "io");
        assert!(error.to_string().contains("is a folder"), "{error}");
        let gone = folder.path().join("gone.csv");
        let error = FileSource::open(&gone).unwrap_err();
        assert_eq!(error.id(), "io");
        assert!(
            error.to_string().contains(&*gone.to_string_lossy()),
            "{error}"
        );
    }
}
