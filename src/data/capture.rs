//! A capture: one record as it came out of a file, and how the file was understood.

use std::sync::Arc;

use super::mask::Mask;
use super::samples::Samples;
use super::time::TimeAxis;
use super::units::Unit;

/// What one stored sample stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SampleKind {
    /// The value at one instant.
    #[default]
    Instant,
    /// Samples 2k and 2k+1 are the extremes of one interval (peak-detect acquisition).
    MinMaxPair,
    /// The value holds until the next sample (event records, logic).
    Held,
}

impl SampleKind {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            SampleKind::Instant => "instant",
            SampleKind::MinMaxPair => "min-max-pair",
            SampleKind::Held => "held",
        }
    }
}

/// One channel of a capture, in the units of its file: no probe factor, no correction applied.
#[derive(Debug)]
pub struct Channel {
    /// Name as in the file; untrusted text, shown through [`super::text::harmless`].
    pub name: String,
    /// Unit of the values.
    pub unit: Unit,
    /// What a sample stands for.
    pub kind: SampleKind,
    /// The samples.
    pub samples: Samples,
    /// When they were taken; shared by channels of one table.
    pub time: Arc<TimeAxis>,
    /// Samples that the file left empty or that are no number.
    pub missing: Mask,
    /// Samples at the end of the channel's range, which may stand for anything beyond it.
    pub clipped: Mask,
    /// The range that the acquisition could show, low and high, where the file or the user says.
    pub full_scale: Option<(f64, f64)>,
}

impl Channel {
    /// A channel of plain values on `time`, in volts, nothing missing.
    pub fn of_volts(name: impl Into<String>, time: Arc<TimeAxis>, values: Vec<f64>) -> Self {
        Self {
            name: name.into(),
            unit: Unit::Volt,
            kind: SampleKind::Instant,
            samples: Samples::from_values(values),
            time,
            missing: Mask::new(),
            clipped: Mask::new(),
            full_scale: None,
        }
    }

    /// The values of `range` (cut at the end of the record), NaN where one is missing: the store may
    /// hold any code there.
    pub fn valid_slice(&self, range: std::ops::Range<usize>) -> Vec<f64> {
        let mut values = self.samples.slice(range.clone());
        self.blank_missing(range.start, &mut values);
        values
    }

    /// Makes NaN of the missing ones among `values`, which begin at sample `start`.
    pub fn blank_missing(&self, start: usize, values: &mut [f64]) {
        if self.missing.is_empty() {
            return;
        }
        for (offset, value) in values.iter_mut().enumerate() {
            if self.missing.contains(start + offset) {
                *value = f64::NAN;
            }
        }
    }
}

/// A decision that a reader took, with its reason: data, so that it can be shown and changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decision {
    /// Which decision, as the command line's `--layout KEY=VALUE` names it.
    pub what: String,
    /// What was decided.
    pub value: String,
    /// Why.
    pub why: String,
}

/// Something that the user should know and that stopped nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// The sentence shown.
    pub text: String,
    /// Line of the file, from 1, where there is one.
    pub line: Option<u64>,
}

impl Note {
    /// A note about no line in particular.
    pub fn new(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            line: None,
        }
    }

    /// A note about a line, counted from 1.
    pub fn at_line(text: impl Into<String>, line: u64) -> Self {
        Self {
            text: text.into(),
            line: Some(line),
        }
    }
}

/// One record, whatever its file format. Never changed after reading.
#[derive(Debug)]
pub struct Capture {
    /// Name of the file that it came from, without folder.
    pub file: String,
    /// Id of the reader, for instance `csv`.
    pub format: &'static str,
    /// Its channels, in the file's order.
    pub channels: Vec<Channel>,
    /// How the file was understood.
    pub decisions: Vec<Decision>,
    /// What the user should know about the reading.
    pub notes: Vec<Note>,
}

impl Capture {
    /// Samples handed out so far, over all channels.
    pub fn samples_visited(&self) -> u64 {
        self.channels.iter().map(|c| c.samples.visited()).sum()
    }

    /// Samples stored, over all channels.
    pub fn sample_count(&self) -> u64 {
        self.channels.iter().map(|c| c.samples.len() as u64).sum()
    }
}
