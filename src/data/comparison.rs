//! Two inspections set against each other: what changed, and what measuring can't tell from no change.

use super::inspection::Verdict;
use super::quantity::Quantity;
use super::role::Role;
use super::setup::{Setup, ShotKind};
use super::stage::{Stage, StageState};
use super::value::Value;

/// How two captures are laid over each other in time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum AlignBy {
    /// The first of the following that both captures allow.
    #[default]
    Auto,
    /// The first start of the controller.
    Start,
    /// The first rising edge of a pin that both have.
    Edge,
    /// The largest correlation of a pin that both have.
    Correlation,
    /// What happens in the first happens this much later in the second, in seconds.
    Hand(f64),
}

impl AlignBy {
    /// The word used on the command line and in JSON.
    pub fn id(self) -> &'static str {
        match self {
            AlignBy::Auto => "auto",
            AlignBy::Start => "start",
            AlignBy::Edge => "edge",
            AlignBy::Correlation => "correlation",
            AlignBy::Hand(_) => "hand",
        }
    }
}

/// What the user says about a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CompareOptions {
    /// How captures are laid over each other.
    pub align: AlignBy,
    /// Were the same scope inputs, probes, ranges and meter used on both sides? Their gain and offset
    /// are then one error, which leaves a change.
    pub same_instruments: bool,
}

/// Two captures on one time axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Alignment {
    /// Index of the capture before.
    pub before: usize,
    /// Index of the capture after.
    pub after: usize,
    /// What was used; never [`AlignBy::Auto`].
    pub by: AlignBy,
    /// The pin that was used, where one was.
    pub role: Option<Role>,
    /// The same happens this much later in the capture after, in seconds.
    pub shift_s: f64,
    /// Half-width of what the shift may be off by, in seconds.
    pub within_s: f64,
    /// How it was found, as a sentence.
    pub reason: String,
}

/// One side of a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// The value.
    pub value: Value,
    /// Its verdict.
    pub verdict: Verdict,
    /// Does the verdict rest on a limit from memory?
    pub provisional: bool,
    /// Index of the capture; `None` for a hand reading.
    pub capture: Option<usize>,
    /// How the unit was fed.
    pub setup: Option<Setup>,
    /// What the capture shows.
    pub kind: Option<ShotKind>,
}

/// What became of a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Difference {
    /// It changed by more than measuring can explain.
    Changed,
    /// What changed, measuring explains.
    Unchanged,
    /// Only before.
    Gone,
    /// Only after.
    New,
}

impl Difference {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Difference::Changed => "changed",
            Difference::Unchanged => "unchanged",
            Difference::Gone => "gone",
            Difference::New => "new",
        }
    }

    /// The words shown.
    pub fn title(self) -> &'static str {
        match self {
            Difference::Changed => "changed",
            Difference::Unchanged => "within ±",
            Difference::Gone => "only before",
            Difference::New => "only after",
        }
    }
}

/// A quantity before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Which quantity.
    pub quantity: Quantity,
    /// The pin it was taken from; `None` for a hand reading.
    pub role: Option<Role>,
    /// Before.
    pub before: Option<Side>,
    /// After.
    pub after: Option<Side>,
    /// After minus before, with the uncertainty of that; `None` where one side is missing.
    pub change: Option<Value>,
    /// What became of it.
    pub difference: Difference,
    /// Was the side that lacks the value recorded alike, so that it would have shown it?
    pub recorded_alike: bool,
    /// What is to be said beside it: why a side is missing, or that it was taken in another set-up; as
    /// a sentence, or empty.
    pub remark: String,
}

/// A stage before and after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StageChange {
    /// Which stage.
    pub stage: Stage,
    /// Its state before.
    pub before: StageState,
    /// Its state after.
    pub after: StageState,
}

/// Two inspections set against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// How captures of both lie on one time axis: one entry for each pair that shows the same.
    pub alignments: Vec<Alignment>,
    /// Why a pair has no common time axis, as sentences.
    pub not_aligned: Vec<String>,
    /// The quantities that either has, in the order of the catalogue.
    pub rows: Vec<Row>,
    /// All stages in start-up order.
    pub stages: Vec<StageChange>,
    /// What it comes to, in one sentence.
    pub summary: String,
    /// What should be said beside it, as sentences.
    pub notes: Vec<String>,
}

/// A comparison with the names of its sides.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Name of the side before.
    pub before: String,
    /// Name of the side after.
    pub after: String,
    /// What changed.
    pub comparison: Comparison,
}
