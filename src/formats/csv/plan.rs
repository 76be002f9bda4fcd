//! The plan of one table: everything that is decided before its rows are read.

use super::time_fit::Printed;
use crate::data::{Decision, Note, Unit};
use crate::formats::text::cell::Separator;
use crate::formats::text::clock::DateOrder;
use crate::formats::text::odd::Marks;
use crate::formats::text::source::TextForm;

/// What becomes of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slot {
    /// It is a time axis.
    Time,
    /// It is left out.
    Skip,
    /// A channel that single precision keeps, as far as is known.
    Single,
    /// A channel that needs double precision.
    Double,
}

impl Slot {
    /// Is it a channel?
    pub fn is_channel(self) -> bool {
        matches!(self, Slot::Single | Slot::Double)
    }
}

/// Which extreme of each interval a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extreme {
    /// The lowest; the highest is in the column of this index.
    LowWith(usize),
    /// The highest; taken together with the column that names this one.
    High,
}

/// One column of the table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ColumnPlan {
    /// Name as in the file, its unit taken out.
    pub name: String,
    /// Unit in SI.
    pub unit: Unit,
    /// What one of the file's units or counts is in SI.
    pub factor: f64,
    /// What count 0 is, in SI.
    pub offset: f64,
    /// What becomes of it.
    pub slot: Slot,
    /// Index in [`Plan::axes`] of the axis that a time column makes, or that a channel has.
    pub axis: usize,
    /// Is it one of two columns of a channel?
    pub extreme: Option<Extreme>,
    /// Range that the channel could show, in SI.
    pub full_scale: Option<(f64, f64)>,
    /// Does the range come from volts per division, so that the converter may reach further?
    pub by_division: bool,
    /// Does it count the samples without being time?
    pub counts: bool,
    /// Are its numbers counts of a converter?
    pub codes: bool,
}

/// A column of clock times: how dates in it are read, and the day that its seconds count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct ClockPlan {
    /// Order of year, month and day, where there is a date.
    pub order: Option<DateOrder>,
    /// Day of the first sample, as a day number; `None` where the times have no date.
    pub day: Option<i64>,
}

/// How rows and instants go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Rows {
    /// A row is an instant.
    #[default]
    Each,
    /// Two rows with one time are an instant.
    Twice,
    /// Two rows are an instant, each with a time of its own.
    InTurn,
}

impl Rows {
    /// Do two rows make an instant?
    pub fn in_pairs(self) -> bool {
        self != Rows::Each
    }
}

/// Where the times of an axis come from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum AxisPlan {
    /// From a column.
    Column {
        /// Index of the column.
        index: usize,
        /// How its numbers are printed.
        printed: Printed,
        /// Try an even axis first, or keep every time.
        even: bool,
        /// Does each instant stand in two rows?
        rows: Rows,
        /// Are they clock times?
        clock: Option<ClockPlan>,
    },
    /// Evenly spaced.
    Interval {
        /// Time of the first sample, in seconds.
        start_s: f64,
        /// Sample interval, in seconds.
        step_s: f64,
        /// Does each instant stand in two rows?
        twice: bool,
    },
}

/// Everything that is decided before the rows are read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    /// Name of the file.
    pub file: String,
    /// How its bytes make text.
    pub form: TextForm,
    /// What stands between cells.
    pub separator: Separator,
    /// How numbers are written.
    pub marks: Marks,
    /// Offset of the first row.
    pub data_offset: u64,
    /// Line of the first row.
    pub first_line: u64,
    /// Offset at which the rows end at the latest.
    pub end_offset: u64,
    /// The columns.
    pub columns: Vec<ColumnPlan>,
    /// The time axes.
    pub axes: Vec<AxisPlan>,
    /// Samples that the file itself announces, with the line.
    pub declared: Option<(u64, u64)>,
    /// The decisions taken.
    pub decisions: Vec<Decision>,
    /// What the user should know.
    pub notes: Vec<Note>,
}
