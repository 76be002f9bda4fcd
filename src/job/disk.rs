//! What is done to the medium, one step a function, so that a test can make any step fail.

use std::fs::{self, OpenOptions};
use std::io::{self, Read};
use std::path::Path;

/// The steps of which a save is made.
pub trait Disk: Send + Sync {
    /// Makes a new file of all that `bytes` gives; it is on the medium when this returns. Where it
    /// fails, a part of the file may be left.
    ///
    /// # Errors
    /// What the system says; also where something of this name is there.
    fn create(&self, path: &Path, bytes: &mut dyn Read) -> io::Result<()>;

    /// Gives a file another name, in place of what had it.
    ///
    /// # Errors
    /// What the system says; both names are then as they were.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Takes a file away.
    ///
    /// # Errors
    /// What the system says.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Has the names in a folder reach the medium.
    ///
    /// # Errors
    /// What the system says.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;
}

/// The medium itself.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn create(&self, path: &Path, bytes: &mut dyn Read) -> io::Result<()> {
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        io::copy(bytes, &mut file)?;
        file.sync_all()
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    #[cfg(unix)]
    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        fs::File::open(folder)?.sync_all()
    }

    #[cfg(not(unix))]
    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        // a folder can't be opened as a file there; the rename itself is journalled
        Ok(())
    }
}
