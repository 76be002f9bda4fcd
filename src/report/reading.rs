//! How a file was understood, put together for showing.

use std::sync::Arc;

use crate::data::{Capture, Facts};

/// A capture with the facts of its channels, in the record's order.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The record.
    pub capture: Arc<Capture>,
    /// Facts of each channel.
    pub facts: Vec<Arc<Facts>>,
}

/// What reading one file gave.
#[derive(Debug, Clone)]
pub struct FileReading {
    /// The file as the user named it.
    pub file: String,
    /// Its captures, or the reason why there is none.
    pub outcome: Result<Vec<Shown>, String>,
}

impl FileReading {
    /// The captures; none when the file could not be read.
    pub fn captures(&self) -> &[Shown] {
        self.outcome.as_deref().unwrap_or_default()
    }

    /// The reason why the file could not be read.
    pub fn failure(&self) -> Option<&str> {
        self.outcome.as_ref().err().map(String::as_str)
    }
}
