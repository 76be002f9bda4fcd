//! Random part of a record within quiet stretches.

use super::stats;

/// Samples of one stretch.
const STRETCH: usize = 256;

/// Collects second differences, stretch by stretch, over any split into blocks.
#[derive(Debug, Clone, Default)]
pub struct NoiseMeter {
    held: Vec<f64>,
    stretches: Vec<f64>,
    scratch: Vec<f64>,
    skip: usize,
    seen: usize,
}

impl NoiseMeter {
    /// Nothing collected. Of a long record only every k-th stretch is looked at, so that about
    /// 4,000 are.
    pub fn for_record(samples: usize) -> Self {
        Self {
            skip: (samples / STRETCH / 4000).max(1),
            ..Self::default()
        }
    }

    /// Adds the next samples.
    pub fn add(&mut self, mut values: &[f64]) {
        while !values.is_empty() {
            let take = (STRETCH - self.held.len()).min(values.len());
            self.held.extend_from_slice(&values[..take]);
            values = &values[take..];
            if self.held.len() == STRETCH {
                if self.seen.is_multiple_of(self.skip) {
                    self.close();
                }
                self.seen += 1;
                self.held.clear();
            }
        }
    }

    fn close(&mut self) {
        self.scratch.clear();
        self.scratch.extend(
            self.held
                .windows(3)
                .map(|w| (w[0] - 2.0 * w[1] + w[2]).abs())
                .filter(|d| d.is_finite()),
        );
        if self.scratch.len() < 5 {
            return;
        }
        let middle = stats::median(&mut self.scratch);
        let cut = if middle > 0.0 {
            6.0 * middle
        } else {
            1.5 * self
                .scratch
                .iter()
                .copied()
                .filter(|d| *d > 0.0)
                .fold(f64::INFINITY, f64::min)
        };
        let kept = self.scratch.iter().filter(|d| **d <= cut);
        let (count, squares) = kept.fold((0_u32, 0.0), |(n, s), d| (n + 1, s + d * d));
        // a second difference of white noise has six times its variance
        self.stretches
            .push((squares / f64::from(count.max(1)) / 6.0).sqrt());
    }

    /// Standard deviation of the noise: the lower quartile over all stretches, so that stretches
    /// with edges do not count. 0 for fewer than five samples.
    pub fn finish(mut self) -> f64 {
        if self.stretches.is_empty() {
            self.close();
        }
        let quartile = stats::quantile(&mut self.stretches, 0.25);
        if quartile.is_finite() { quartile } else { 0.0 }
    }
}
