//! Minimum, maximum and mean of blocks of samples, in levels.

use crate::data::Pyramid;

/// Blocks of one level that make one of the next.
const FACTOR: usize = 8;

/// Samples in a block of level 0: small for short records, so that nothing need be read again.
pub fn base_for(samples: usize) -> usize {
    (samples / 8192).max(1).next_power_of_two().min(64)
}

/// Builds level 0 from samples in order.
#[derive(Debug)]
pub struct Builder {
    base: usize,
    filled: usize,
    low: f64,
    high: f64,
    sum: f64,
    valid: usize,
    blocks: Vec<(f32, f32)>,
    means: Vec<f64>,
}

impl Builder {
    /// For a record of so many samples.
    pub fn for_record(samples: usize) -> Self {
        let base = base_for(samples);
        let blocks = samples / base + 1;
        Self {
            base,
            filled: 0,
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
            sum: 0.0,
            valid: 0,
            blocks: Vec::with_capacity(blocks),
            means: Vec::with_capacity(blocks),
        }
    }

    /// Adds the next samples; NaN counts as missing.
    pub fn add(&mut self, mut values: &[f64]) {
        while !values.is_empty() {
            let take = (self.base - self.filled).min(values.len());
            for &value in &values[..take] {
                if value.is_finite() {
                    self.low = self.low.min(value);
                    self.high = self.high.max(value);
                    self.sum += value;
                    self.valid += 1;
                }
            }
            self.filled += take;
            values = &values[take..];
            if self.filled == self.base {
                self.close();
            }
        }
    }

    fn close(&mut self) {
        self.blocks
            .push((outward_down(self.low), outward_up(self.high)));
        self.means.push(if self.valid == 0 {
            f64::NAN
        } else {
            self.sum / self.valid as f64
        });
        (self.low, self.high, self.sum) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
        (self.valid, self.filled) = (0, 0);
    }

    /// All levels.
    pub fn finish(mut self) -> Pyramid {
        if self.filled > 0 {
            self.close();
        }
        let mut levels = vec![self.blocks];
        while let Some(last) = levels.last().filter(|level| level.len() > FACTOR) {
            let next = last
                .chunks(FACTOR)
                .map(|c| {
                    c.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |a, b| {
                        (a.0.min(b.0), a.1.max(b.1))
                    })
                })
                .collect();
            levels.push(next);
        }
        Pyramid {
            base: self.base,
            factor: FACTOR,
            levels,
            means: self.means,
        }
    }
}

fn outward_down(value: f64) -> f32 {
    let near = value as f32;
    if f64::from(near) > value {
        near.next_down()
    } else {
        near
    }
}

fn outward_up(value: f64) -> f32 {
    let near = value as f32;
    if f64::from(near) < value {
        near.next_up()
    } else {
        near
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_level_encloses_its_samples() {
        let values: Vec<f64> = (0..100_000)
            .map(|i| (f64::from(i) * 0.1).sin() * f64::from(i % 97))
            .collect();
        let mut builder = Builder::for_record(values.len());
        for part in values.chunks(777) {
            builder.add(part);
        }
        let pyramid = builder.finish();
        let mut size = pyramid.base;
        for level in &pyramid.levels {
            for (block, (low, high)) in values.chunks(size).zip(level) {
                let (min, max) = block
                    .iter()
                    .fold((f64::MAX, f64::MIN), |a, v| (a.0.min(*v), a.1.max(*v)));
                assert!(f64::from(*low) <= min && f64::from(*high) >= max);
                assert!(min - f64::from(*low) < 1e-4 && f64::from(*high) - max < 1e-4);
            }
            size *= pyramid.factor;
        }
    }
}
