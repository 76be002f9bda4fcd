//! A channel tied to multimeter readings: what was corrected, and what error is left.

use super::term::{Shape, Term, TieSource};
use super::text::engineering;
use super::units::Unit;

/// One systematic error of a channel, as it acts on any level of it: a level `v` (true volts) is off
/// by `error × (constant + per_volt × v)`, where `error` has standard uncertainty `u`.
///
/// A gain error has `constant` 0 and `per_volt` 1, an offset error the other way round; the error of a
/// meter reading that a channel was tied to acts on both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelError {
    /// What it is, as the budget calls it.
    pub name: &'static str,
    /// Standard uncertainty of the error: a share for a gain, volts else.
    pub u: f64,
    /// Shape of its distribution.
    pub shape: Shape,
    /// What it is one error with, in other channels and values.
    pub source: Option<TieSource>,
    /// Part that acts on every level alike.
    pub constant: f64,
    /// Part that grows with the level, for each volt.
    pub per_volt: f64,
}

impl ChannelError {
    /// A rectangular error of half-width `half_width` that acts as `constant + per_volt × level`.
    pub fn within(
        name: &'static str,
        half_width: f64,
        source: TieSource,
        (constant, per_volt): (f64, f64),
    ) -> Self {
        let u = half_width.abs() / 3.0_f64.sqrt();
        Self {
            name,
            u,
            shape: Shape::Rectangular,
            source: Some(source),
            constant,
            per_volt,
        }
    }

    /// Its term in the budget of a level, in true volts.
    pub fn at(&self, volts: f64) -> Term {
        self.term(self.constant + self.per_volt * volts)
    }

    /// Its term in the budget of a difference of two levels (a slope, a height): what is constant
    /// cancels.
    pub fn over(&self, difference: f64) -> Term {
        self.term(self.per_volt * difference)
    }

    fn term(&self, effect: f64) -> Term {
        let term = Term {
            name: self.name,
            u: self.u * effect.abs(),
            shape: self.shape,
            tie: None,
        };
        match self.source {
            Some(source) => term.tied(source, effect),
            None => term,
        }
    }
}

/// What meter readings corrected in a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corrected {
    /// One level: the difference is shared between gain and offset by how far each may be off.
    OneLevel,
    /// Gain and offset, from readings at two levels or more.
    GainAndOffset,
}

impl Corrected {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Corrected::OneLevel => "one-level",
            Corrected::GainAndOffset => "gain-and-offset",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Corrected::OneLevel => {
                "one level, shared between gain and offset by how far each may be off"
            }
            Corrected::GainAndOffset => "gain and offset",
        }
    }
}

/// One flat piece of a record and the meter's reading of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeterPiece {
    /// Index of the capture.
    pub capture: usize,
    /// Index of the channel in it.
    pub channel: usize,
    /// Begin of the piece, in seconds.
    pub from_s: f64,
    /// Its end.
    pub to_s: f64,
    /// Mean that the scope showed, in volts, probe factor included, not yet corrected.
    pub shown_v: f64,
    /// What the meter read, in volts.
    pub read_v: f64,
    /// What is left between the corrected record and the reading, in volts; 0 with one reading, and with
    /// two.
    pub left_v: f64,
}

/// A channel tied to meter readings: true value = shown × `gain` + `offset_v`, after the probe factor.
#[derive(Debug, Clone, PartialEq)]
pub struct SetToMeter {
    /// The pieces and readings.
    pub pieces: Vec<MeterPiece>,
    /// What they corrected.
    pub corrected: Corrected,
    /// Factor on what the scope showed.
    pub gain: f64,
    /// Added to it, in volts.
    pub offset_v: f64,
    /// The errors that are left.
    pub errors: Vec<ChannelError>,
    /// Highest level that the channel shows, corrected, in volts: where the next two are given.
    pub at_v: f64,
    /// Uncertainty (95 %) of that level by the scope's accuracy alone, in volts.
    pub before_u95: f64,
    /// The same with the readings.
    pub after_u95: f64,
    /// What speaks against the correction, as sentences; empty where nothing does.
    pub doubts: Vec<String>,
}

impl SetToMeter {
    /// What the readings did to the channel, as a sentence; shot and channel are 0-based.
    pub fn in_words(&self, shot: usize, channel: usize) -> String {
        let own = |p: &MeterPiece| p.capture == shot && p.channel == channel;
        let piece = self.pieces.iter().find(|p| !own(p));
        let whose = match (self.pieces.iter().any(own), piece) {
            (false, Some(p)) => format!(
                ", by the readings of shot {}, channel {}, on the same range",
                p.capture + 1,
                p.channel + 1
            ),
            _ => String::new(),
        };
        let precise = |volts: f64| engineering(volts, Unit::Volt, 3);
        format!(
            "Shot {}, channel {} is set to the meter{whose} ({}): ×{:.4} {} {}. At {} it was uncertain by ±{}, now by ±{}.",
            shot + 1,
            channel + 1,
            self.corrected.words(),
            self.gain,
            if self.offset_v < 0.0 { "−" } else { "+" },
            precise(self.offset_v.abs()),
            precise(self.at_v),
            precise(self.before_u95),
            precise(self.after_u95),
        )
    }

    /// By how much a level may be off at most: the sum of all half-widths, in volts.
    pub fn off_at(&self, volts: f64) -> f64 {
        let half = |e: &ChannelError| 3.0_f64.sqrt() * e.at(volts).u;
        self.errors.iter().map(half).sum()
    }
}
