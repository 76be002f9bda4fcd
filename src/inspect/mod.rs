//! Runs reading, facts, roles, measuring and judging in their order, spreads what can be spread
//! over threads, and keeps what need not be done again.

mod budget;
mod case;
mod compare;
pub mod drawing;
mod examine;
mod fits;
mod load;
mod simulate;
mod together;
pub mod view;
mod workers;

use std::sync::Arc;

use crate::data::{Cancelled, Capture, Facts, Options};

pub use crate::controllers::{
    ControllerError, Disagreement, Found, Gap, Library, PinSheet, Profile, RANKED_BY, Ranked, Seen,
    TimingModel, ceiling_figures, ceilings, key_of, pin_sheet,
};
pub use crate::formats::steps_file::read as read_steps;
pub use crate::formats::{
    FileSource, FormatError, LAYOUT_KEYS, LayoutKey, Layouts, ReadOptions, Remembered,
    RememberedError, StepsError, layout_entry, preview, signature,
};
pub use budget::{budget, budget_of_class};
pub use case::{demo, demo_capture};
pub use compare::compare;
pub use examine::examine;
pub use load::{facts_of, load};
pub use simulate::{SimulatedFile, causes, simulate};
pub use together::{joined, put_together, together};
pub use workers::ThreadRunner;

/// One voltage step as a person types it, for instance `8.53 V dead down 0.4mA`.
///
/// # Errors
/// A sentence that says what is wrong and how to write it.
pub fn read_step(text: &str) -> Result<crate::data::VoltageStep, String> {
    crate::formats::steps_file::line(text, crate::data::StepPlace::Typed)
}

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

impl From<crate::bench::ChoiceError> for InspectError {
    fn from(error: crate::bench::ChoiceError) -> Self {
        InspectError::Option(error.to_string())
    }
}
