//! What the window is asked to open, and the same job in the terminal where there is no window.

use std::path::PathBuf;

use anyhow::bail;

use super::deliver::{Delivery, remark};
use super::inspect;
use super::options::RunArgs;
use crate::data::Options;
use crate::inspect::{Library, ReadOptions};

/// What the window is asked to open.
#[derive(Debug, Clone)]
pub struct WindowJob {
    /// Captures, in order; none means the built-in unit.
    pub files: Vec<PathBuf>,
    /// Import decisions.
    pub read: ReadOptions,
    /// The folder of remembered layouts that was named.
    pub layouts: Option<PathBuf>,
    /// What the user told.
    pub options: Options,
    typed: Box<RunArgs>,
}

impl WindowJob {
    pub(super) fn new(files: Vec<PathBuf>, typed: RunArgs) -> Self {
        let layout = typed.layout();
        Self {
            files,
            read: layout.told(),
            layouts: layout.folder().map(Into::into),
            options: typed.typed_options(),
            typed: Box::new(typed),
        }
    }

    /// Refuses what contradicts itself, and reads the voltage steps, before anything opens.
    ///
    /// # Errors
    /// When one thing is given two values, or the file of `--steps` can't be used or has no captures
    /// beside it.
    pub fn check(&mut self) -> anyhow::Result<()> {
        self.typed.check()?;
        if self.files.is_empty() && self.typed.has_steps() {
            bail!(
                "--steps: the window needs captures beside it; without them use firstpulse inspect --steps FILE"
            );
        }
        self.options = self.typed.options()?;
        Ok(())
    }

    /// The profiles to judge by: the built-in ones, and the user's own where a folder is named.
    ///
    /// # Errors
    /// When the folder or a profile in it can't be used.
    pub fn library(&self) -> anyhow::Result<Library> {
        self.typed.library()
    }

    /// Does the job in the terminal because no window opens, and says so. The code is 0 whatever
    /// the inspection found, and 2 where a file of a folder could not be done.
    ///
    /// # Errors
    /// As for `inspect`.
    pub fn in_terminal(&self, why: &str) -> anyhow::Result<u8> {
        remark(&format!(
            "no window can be opened: {why}; here is the same in the terminal"
        ));
        let code = inspect::job(
            &self.files,
            &self.typed.reading()?,
            &self.options,
            &self.library()?,
            &Delivery::to_terminal(),
            false,
        )?;
        Ok(if code == 2 { 2 } else { 0 })
    }
}
