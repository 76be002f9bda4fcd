//! One reader for each file format behind one probe; every decision is data.
//!
//! A reader sees a [`Source`] with positioned reads, never a path and never a whole-file buffer.
//! Nothing here measures a waveform. Start reading at [`read`], then [`probe`], then [`csv`].

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::data::{Capture, Progress, Runner, Source};

pub mod csv;
mod error;
mod file_source;
mod layout;
mod limits;
pub mod probe;
pub mod text;

pub use error::FormatError;
pub use file_source::FileSource;
pub use layout::{LAYOUT_KEYS, LayoutKey};
pub use limits::Limits;

/// What the user decided about a file, and the limits that reading keeps.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadOptions {
    /// Import decisions by key, as in `--layout KEY=VALUE`; the keys are in [`LAYOUT_KEYS`].
    pub layout: BTreeMap<String, String>,
    /// Bounds that keep a hostile file from taking all memory.
    pub limits: Limits,
}

impl ReadOptions {
    /// Options with one more import decision.
    #[must_use]
    pub fn with(mut self, key: &str, value: &str) -> Self {
        self.layout.insert(key.to_owned(), value.to_owned());
        self
    }
}

/// Reads a source: asks all readers, takes the one that fits best, and returns its captures.
///
/// The work is spread through `runner`; `progress` counts bytes of the file.
///
/// # Errors
/// [`FormatError`], with file, line and what to do; [`FormatError::Ask`] where the file can be
/// understood in more than one way; [`FormatError::Cancelled`].
pub fn read(
    source: &Arc<dyn Source>,
    options: &ReadOptions,
    runner: &dyn Runner,
    progress: &Progress,
) -> Result<Vec<Capture>, FormatError> {
    layout::check_keys(source.name(), options)?;
    let reader = probe::choose(source.as_ref(), options)?;
    reader.read(source.as_ref(), options, runner, progress)
}
