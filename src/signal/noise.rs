//! Random part of a record within quiet stretches.

use super::stats;

/// Samples of one stretch.
const STRETCH: usize = 256;

/// Collects second differences, stretch by stretch, over any split into blocks.
#[derive(Debug, Clone, Default)]
pub struct NoiseMeter {
    held: Vec<f64>,
    stretches: Vec<f64>,
    still: Vec<f64>,
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
        if middle > 0.0 {
            let noise = spread(&self.scratch, 6.0 * middle);
            self.stretches.push(noise);
        } else {
            let noise = flicker(&self.scratch);
            self.still.push(noise);
        }
    }

    /// Standard deviation of the noise: the lower quartile over all stretches, so that stretches
    /// with edges do not count. 0 for fewer than five samples.
    ///
    /// Where most samples repeat the one before, noise is less than the code step: what moves by more
    /// is the signal.
    pub fn finish(mut self, code_step: Option<f64>) -> f64 {
        if self.stretches.is_empty() && self.still.is_empty() {
            self.close();
        }
        let most = code_step.unwrap_or(f64::INFINITY);
        self.stretches
            .extend(self.still.iter().map(|noise| noise.min(most)));
        let quartile = stats::quantile(&mut self.stretches, 0.25);
        if quartile.is_finite() { quartile } else { 0.0 }
    }
}

/// Standard deviation behind the second differences that are not above `cut`: one of white noise has
/// six times its variance.
fn spread(differences: &[f64], cut: f64) -> f64 {
    let kept = differences.iter().filter(|d| **d <= cut);
    let (count, squares) = kept.fold((0_u32, 0.0), |(n, s), d| (n + 1, s + d * d));
    (squares / f64::from(count.max(1)) / 6.0).sqrt()
}

/// Noise where most samples repeat the one before. Flicker between two codes has single samples that
/// stand out, whose second difference is twice the step; where none has, the level changes and stays:
/// edges, no noise.
fn flicker(differences: &[f64]) -> f64 {
    let moved = differences.iter().copied().filter(|d| *d > 0.0);
    let step = moved.clone().fold(f64::INFINITY, f64::min);
    let single = moved.clone().any(|d| (1.8 * step..2.2 * step).contains(&d));
    if single {
        spread(differences, 1.5 * step)
    } else {
        0.0
    }
}
