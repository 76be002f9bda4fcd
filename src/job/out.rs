//! Files that somebody asked for, written whole or not at all, and never over an input.

use std::ffi::OsString;
use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::error::shown;

/// Why a file was not written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum OutError {
    /// There is a folder of that name.
    #[error("{}: is a folder, a file name was expected", shown(.0))]
    Folder(PathBuf),
    /// It is one of the files that the result comes from.
    #[error("{}: is one of the files to read, which are never overwritten", shown(.0))]
    Input(PathBuf),
    /// It is there already, and replacing it was not asked for.
    #[error("{}: is there already", shown(.0))]
    There(PathBuf),
    /// The system said no.
    #[error("{}: can't be written", shown(.0))]
    Io(PathBuf, #[source] io::Error),
}

/// May `path` be written? A file that is there only with `replace`, one of `inputs` never.
///
/// # Errors
/// [`OutError`], but for [`OutError::Io`].
pub fn may_write(path: &Path, replace: bool, inputs: &[PathBuf]) -> Result<(), OutError> {
    let Ok(meta) = std::fs::metadata(path) else {
        return Ok(());
    };
    if meta.is_dir() {
        return Err(OutError::Folder(path.to_owned()));
    }
    if inputs.iter().any(|input| same_file(path, input)) {
        return Err(OutError::Input(path.to_owned()));
    }
    if meta.is_file() && !replace {
        return Err(OutError::There(path.to_owned()));
    }
    Ok(())
}

/// Writes a file whole or not at all: into a new file beside it, which then takes its name.
///
/// # Errors
/// As [`may_write`], and [`OutError::Io`]; nothing is left behind then.
pub fn write_whole(
    path: &Path,
    bytes: &[u8],
    replace: bool,
    inputs: &[PathBuf],
) -> Result<(), OutError> {
    may_write(path, replace, inputs)?;
    let problem = |error| OutError::Io(path.to_owned(), error);
    if std::fs::metadata(path).is_ok_and(|meta| !meta.is_file()) {
        // a pipe or a device has nothing to keep and can't be replaced by a name
        let opened = OpenOptions::new().write(true).open(path);
        let written = opened.and_then(|mut file| file.write_all(bytes));
        return written.map_err(problem);
    }
    let beside = beside(path);
    let written = fill(&beside, bytes).and_then(|()| std::fs::rename(&beside, path));
    if written.is_err() {
        drop(std::fs::remove_file(&beside));
    }
    written.map_err(problem)
}

fn same_file(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        if let (Ok(a), Ok(b)) = (std::fs::metadata(a), std::fs::metadata(b)) {
            return a.dev() == b.dev() && a.ino() == b.ino();
        }
    }
    matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}

fn fill(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn beside(path: &Path) -> PathBuf {
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    path.with_file_name(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_never_replaced_unasked_and_an_input_never() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write_whole(&path, b"one", false, &[]).unwrap();
        let again = write_whole(&path, b"two", false, &[]);
        assert!(matches!(again, Err(OutError::There(_))));
        assert_eq!(std::fs::read(&path).unwrap(), b"one");
        let input = folder.path().join("./a.txt");
        let over = write_whole(&path, b"two", true, &[input]);
        assert!(matches!(over, Err(OutError::Input(_))));
        assert_eq!(std::fs::read(&path).unwrap(), b"one");
        write_whole(&path, b"two", true, &[]).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"two");
        let inside = write_whole(folder.path(), b"two", true, &[]);
        assert!(matches!(inside, Err(OutError::Folder(_))));
        let nowhere = write_whole(&path.join("b.txt"), b"two", false, &[]);
        assert!(matches!(nowhere, Err(OutError::Io(..))));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
