//! VCC as the line before an event sees it: its samples, or, where the record holds extremes, what lies
//! half way between the lowest and the highest of each interval.

use crate::data::SampleKind;

use super::super::ends;
use super::super::trace::Trace;

/// Nearer to 0 V than this VCC may rest.
const AT_REST_V: f64 = 0.5;
/// A level so many code steps from the end of the range lies on it.
const AT_END: f64 = 0.25;

/// VCC by levels: samples, or pairs of extremes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sampled<'a> {
    pub vcc: &'a Trace<'a>,
    /// Samples of a level.
    per: usize,
    /// Lowest and highest volts, where samples pile up there; infinite where they don't.
    piled: (f64, f64),
    /// Do they pile up because the range ends there? A level that is held may lie on one code too.
    cut: bool,
}

impl<'a> Sampled<'a> {
    pub fn new(vcc: &'a Trace<'a>) -> Self {
        let per = if vcc.channel.kind == SampleKind::MinMaxPair {
            2
        } else {
            1
        };
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        for (at_max, raw) in [(false, vcc.facts().min), (true, vcc.facts().max)] {
            let end = vcc.true_of(raw);
            // at rest VCC stands at 0 V: that is no end of the range
            if end.abs() > AT_REST_V && ends::piled(vcc, at_max) {
                let upper = at_max == (vcc.known.gain > 0.0);
                *(if upper { &mut high } else { &mut low }) = end;
            }
        }
        Self {
            vcc,
            per,
            piled: (low, high),
            cut: ends::told(vcc) || ends::scatters(vcc),
        }
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

    /// Levels in true volts, NaN where one is missing or cut off. Reads samples: keep the range short.
    pub fn values(&self, range: std::ops::Range<usize>) -> Vec<f64> {
        let mut values = self.uncut(range);
        if self.cut {
            let beyond = |v: &&mut f64| self.end_of(**v).is_some();
            values.iter_mut().filter(beyond).for_each(|v| *v = f64::NAN);
        }
        values
    }

    /// The same, with those that are cut off as the record has them.
    pub fn uncut(&self, range: std::ops::Range<usize>) -> Vec<f64> {
        let samples = self
            .vcc
            .values(self.per * range.start..self.per * range.end);
        if !self.pairs() {
            return samples;
        }
        let (pairs, _) = samples.as_chunks::<2>();
        pairs.iter().map(|[a, b]| 0.5 * (a + b)).collect()
    }

    /// The end of the range on which all of these lie.
    pub fn at_cut_end(&self, values: &[f64]) -> Option<f64> {
        let all = values.iter().all(|v| self.end_of(*v).is_some());
        all.then(|| values.first().and_then(|v| self.end_of(*v)))
            .flatten()
    }

    /// Do samples pile up on the highest or the lowest level of the record, less than so many volts from this one?
    pub fn piled_within(&self, by_v: f64, of_v: f64) -> bool {
        let (low, high) = self.piled;
        (high - of_v).min(of_v - low) < by_v
    }

    fn end_of(&self, value: f64) -> Option<f64> {
        let near = AT_END * self.vcc.resolution();
        let (low, high) = self.piled;
        match value {
            v if v >= high - near => Some(high),
            v if v <= low + near => Some(low),
            _ => None,
        }
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
