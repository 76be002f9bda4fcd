//! Runs reading, facts, roles, measuring and judging in their order, spreads what can be spread
//! over threads, and keeps what need not be done again.

pub mod view;
mod workers;

use std::sync::Arc;

use crate::data::{Cancelled, Capture, Facts, Inspection, Options, Progress, Source};

pub use crate::controllers::{ControllerError, Library, Profile};
pub use crate::formats::{FormatError, ReadOptions};
pub use workers::ThreadRunner;

/// A capture with the facts of its channels: made once, shared, never changed.
#[derive(Debug)]
pub struct Shot {
    /// The record.
    pub capture: Arc<Capture>,
    /// Facts of each channel, in the record's order.
    pub facts: Vec<Arc<Facts>>,
}

/// Shots that belong together, with what is known about them: one inspection is made of each group.
#[derive(Debug, Clone)]
pub struct Group {
    /// Title shown: `as found`, `after the repair`.
    pub title: String,
    /// Its shots, in order.
    pub shots: Vec<Arc<Shot>>,
    /// What the user told about them.
    pub options: Options,
}

/// A unit on the bench: its groups in order of time. The first is the one that decides.
#[derive(Debug, Clone)]
pub struct Case {
    /// Name of the unit.
    pub title: String,
    /// Groups, at least one.
    pub groups: Vec<Group>,
}

/// Why there is no inspection.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum InspectError {
    /// A file could not be read.
    #[error(transparent)]
    Format(#[from] FormatError),
    /// A marking is not known.
    #[error(transparent)]
    Controller(#[from] ControllerError),
    /// An option names something that is not there.
    #[error("{0}")]
    Option(String),
    /// The user stopped it.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

/// Reads a source and finds the facts of every channel, on all cores.
///
/// # Errors
/// [`InspectError::Format`] or [`InspectError::Cancelled`].
pub fn load(
    source: &Arc<dyn Source>,
    options: &ReadOptions,
    progress: &Progress,
) -> Result<Vec<Arc<Shot>>, InspectError> {
    let _ = (source, options, progress);
    Ok(Vec::new())
}

/// Makes an inspection of shots: roles, events, quantities, verdicts, stages.
///
/// # Errors
/// [`InspectError::Controller`] or [`InspectError::Option`].
pub fn examine(
    shots: &[Arc<Shot>],
    options: &Options,
    library: &Library,
) -> Result<Inspection, InspectError> {
    let _ = (shots, options, library);
    Err(InspectError::Option("not built yet".to_owned()))
}

/// The built-in unit: captures, controller and parts that come with the program.
///
/// # Errors
/// As [`load`].
pub fn demo(progress: &Progress) -> Result<Case, InspectError> {
    let _ = progress;
    Err(InspectError::Option("not built yet".to_owned()))
}
