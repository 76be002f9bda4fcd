//! A histogram whose range grows with the data, so that one pass is enough.

use crate::data::Histogram;

/// Bins kept; between half of them and all are in use once the range has grown.
const BINS: usize = 1024;

/// Values farther from zero than this are not collected: bins that reach twice as far would end in
/// infinity. Nothing on a board is that large.
const FARTHEST: f64 = 1e300;

/// Collects values of unknown range in equal bins; the range doubles whenever a value falls outside.
#[derive(Debug, Clone)]
pub struct Collector {
    low: f64,
    width: f64,
    counts: Vec<u64>,
    /// Sum of the values of each bin, less the first value.
    sums: Vec<f64>,
    first: Option<f64>,
    repeats: u64,
}

impl Default for Collector {
    fn default() -> Self {
        Self::new()
    }
}

impl Collector {
    /// Nothing collected.
    pub fn new() -> Self {
        Self {
            low: 0.0,
            width: 0.0,
            counts: Vec::new(),
            sums: Vec::new(),
            first: None,
            repeats: 0,
        }
    }

    /// Adds those of `values` that are numbers within ±1e300.
    pub fn add(&mut self, values: &[f64]) {
        for &value in values.iter().filter(|v| v.abs() <= FARTHEST) {
            if self.counts.is_empty() && !self.open(value) {
                continue;
            }
            let origin = self.first.unwrap_or(0.0);
            let mut position = (value - self.low) / self.width;
            while !(0.0..BINS as f64).contains(&position) {
                self.grow(position < 0.0);
                position = (value - self.low) / self.width;
            }
            self.counts[position as usize] += 1;
            self.sums[position as usize] += value - origin;
        }
    }

    /// While all values are equal there is no width; the first other one gives it.
    fn open(&mut self, value: f64) -> bool {
        let first = *self.first.get_or_insert(value);
        let apart = (value - first).abs();
        if apart <= f64::MIN_POSITIVE {
            self.repeats += 1;
            return false;
        }
        self.width = (4.0 * apart / BINS as f64)
            .max(first.abs() * 1e-15)
            .max(f64::MIN_POSITIVE);
        self.low = first - self.width * (BINS / 2) as f64 - 0.5 * self.width;
        self.counts = vec![0; BINS];
        self.sums = vec![0.0; BINS];
        self.counts[BINS / 2] = self.repeats;
        true
    }

    fn grow(&mut self, downward: bool) {
        let mut wider = vec![0; BINS];
        let mut sums = vec![0.0; BINS];
        let shift = if downward { BINS / 2 } else { 0 };
        for (index, (count, sum)) in self.counts.iter().zip(&self.sums).enumerate() {
            wider[shift + index / 2] += count;
            sums[shift + index / 2] += sum;
        }
        if downward {
            self.low -= self.width * BINS as f64;
        }
        self.width *= 2.0;
        self.counts = wider;
        self.sums = sums;
    }

    /// The histogram, empty bins at both ends cut off. One bin for a constant, none for no data.
    pub fn finish(self) -> Histogram {
        let Some(first) = self.first else {
            return Histogram::default();
        };
        if self.counts.is_empty() {
            let width = (first.abs() * 1e-9).max(1e-12);
            return Histogram {
                low: first - 0.5 * width,
                width,
                counts: vec![self.repeats],
                offsets: vec![0.0],
            };
        }
        let begin = self.counts.iter().position(|c| *c > 0).unwrap_or(0);
        let end = self
            .counts
            .iter()
            .rposition(|c| *c > 0)
            .map_or(0, |i| i + 1);
        let low = self.low + begin as f64 * self.width;
        let above_middle = |(index, (count, sum)): (usize, (&u64, &f64))| {
            let middle = low + (index as f64 + 0.5) * self.width;
            sum - *count as f64 * (middle - first)
        };
        let bins = self.counts[begin..end].iter().zip(&self.sums[begin..end]);
        Histogram {
            low,
            width: self.width,
            counts: self.counts[begin..end].to_vec(),
            offsets: bins.enumerate().map(above_middle).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn nothing_is_lost_and_quantiles_are_near(values in prop::collection::vec(-1e3_f64..1e3, 1..500)) {
            let mut collector = Collector::new();
            collector.add(&values);
            let histogram = collector.finish();
            prop_assert_eq!(histogram.total(), values.len() as u64);
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            let median = sorted[(sorted.len() - 1) / 2];
            let upper = sorted[sorted.len() / 2];
            let got = histogram.quantile(0.5);
            prop_assert!(got >= median - histogram.width * 1.01 && got <= upper + histogram.width * 1.01);
        }
    }
}
