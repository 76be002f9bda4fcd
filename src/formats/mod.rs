//! One reader for each file format behind one probe; every decision is data.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::data::{Capture, Progress, Runner, Source};

mod error;
pub use error::FormatError;

/// What the user decided about a file, and the limits that reading keeps.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadOptions {
    /// Import decisions by key, as in `--layout KEY=VALUE`.
    pub layout: BTreeMap<String, String>,
}

/// Reads a source: asks all readers, takes the one that fits best, and returns its captures.
///
/// # Errors
/// [`FormatError`], with file, line and what to do.
pub fn read(
    source: &Arc<dyn Source>,
    options: &ReadOptions,
    runner: &dyn Runner,
    progress: &Progress,
) -> Result<Vec<Capture>, FormatError> {
    let _ = (options, runner, progress);
    Err(FormatError::Empty {
        file: source.name().to_owned(),
    })
}
