//! VCC as the line before an event sees it: its samples, or, where the record holds extremes, what lies
//! half way between the lowest and the highest of each interval.

use crate::data::SampleKind;

use super::super::trace::Trace;

/// VCC by levels: samples, or pairs of extremes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sampled<'a> {
    pub vcc: &'a Trace<'a>,
    /// Samples of a level.
    per: usize,
}

impl<'a> Sampled<'a> {
    pub fn new(vcc: &'a Trace<'a>) -> Self {
        let per = if vcc.channel.kind == SampleKind::MinMaxPair {
            2
        } else {
            1
        };
        Self { vcc, per }
    }

    /// Does the record hold extremes?
    pub fn pairs(&self) -> bool {
        self.per == 2
    }

    /// Number of levels.
    pub fn len(&self) -> usize {
        self.vcc.len() / self.per
    }

    /// Time from one level to the next, in seconds.
    pub fn interval_s(&self) -> f64 {
        self.per as f64 * self.vcc.interval_s()
    }

    /// The first level that begins at a time or after it.
    pub fn from(&self, time_s: f64) -> usize {
        self.vcc.channel.time.index_from(time_s).div_ceil(self.per)
    }

    /// The levels up to this one lie before a time.
    pub fn until(&self, time_s: f64) -> usize {
        self.vcc.channel.time.index_from(time_s) / self.per
    }

    /// When a level is taken; of a pair the middle of its interval, which begins at its time.
    pub fn at(&self, level: usize) -> f64 {
        let first = self.vcc.channel.time.at(self.per * level);
        if self.pairs() {
            first + self.vcc.interval_s()
        } else {
            first
        }
    }

    /// Levels in true volts. Reads samples: keep the range short.
    pub fn values(&self, range: std::ops::Range<usize>) -> Vec<f64> {
        let samples = self
            .vcc
            .values(self.per * range.start..self.per * range.end);
        if !self.pairs() {
            return samples;
        }
        let (pairs, _) = samples.as_chunks::<2>();
        pairs.iter().map(|[a, b]| 0.5 * (a + b)).collect()
    }

    /// Half of what lies between lowest and highest; empty for samples.
    pub fn halves(&self, range: std::ops::Range<usize>) -> Vec<f64> {
        if !self.pairs() {
            return Vec::new();
        }
        let samples = self.vcc.values(2 * range.start..2 * range.end);
        let (pairs, _) = samples.as_chunks::<2>();
        pairs.iter().map(|[a, b]| 0.5 * (a - b).abs()).collect()
    }

    /// Random part of a level; that of extremes is not known beforehand, and a code step shows half of
    /// itself in their middle.
    pub fn noise(&self) -> f64 {
        if self.pairs() { 0.0 } else { self.vcc.noise() }
    }

    /// The step between levels.
    pub fn code(&self) -> f64 {
        self.vcc.resolution() / self.per as f64
    }

    /// Can a tone of this amplitude be what small noise leaves of the code steps?
    pub fn of_codes(&self, amplitude: f64) -> bool {
        self.noise() < 0.3 * self.code() && amplitude < 0.7 * self.code()
    }

    /// Random part including what a coarse step adds (step/√12).
    pub fn grain(&self) -> f64 {
        self.noise().max(self.code() / 12.0_f64.sqrt())
    }
}
