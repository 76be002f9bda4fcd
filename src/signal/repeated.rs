//! The shape that a record repeats, cycle after cycle, and how long a cycle is: what a sine fitted to it
//! can only guess, every harmonic of the shape tells.

use super::Line;

/// Fewest and most parts that a cycle is divided into …
const PARTS: (usize, usize) = (12, 100);
/// … and how many samples each is to have.
const SAMPLES_A_PART: usize = 24;
/// Corrections of the length of a cycle, each on the shape that the one before gave.
const ROUNDS: usize = 24;
/// By so many cycles over the whole record the length may be corrected in all.
const MOST_CYCLES: f64 = 0.25;
/// A shape that explains less of the variance than this is none.
const LEAST_SHARE: f64 = 0.5;

/// A shape that repeats.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeated {
    /// Cycles in a sample interval, above 0.
    pub cycles_per_sample: f64,
    /// Standard uncertainty of that: the Cramér-Rao bound for a shape of these slopes in white noise of the
    /// size of what is left.
    pub u_cycles: f64,
    /// Mean of the samples in each equal part of the cycle, the drift of the record taken off.
    pub means: Vec<f64>,
    /// Samples in each part.
    pub counts: Vec<u32>,
    /// Standard deviation of single samples about the shape.
    pub scatter: f64,
}

/// Finds the shape and the length of a cycle from a first guess of it, in cycles a sample, that is right to
/// a quarter of a cycle over the record.
///
/// Gauss-Newton on the length, with the mean of each part of the cycle as the shape: what a sample differs
/// from it by, against its slope there times the place in the record. Samples need not be many in a cycle,
/// as long as over all cycles they fall on every part of it; the record may drift along a straight line.
/// NaN values are left out. `None` with fewer than 12 parts of 24 samples, where a part holds no sample, where
/// the length runs away, or where the shape explains less than half of the variance.
pub fn shape(values: &[f64], guess: f64) -> Option<Repeated> {
    let good = values.iter().filter(|v| v.is_finite()).count();
    let most = (good / SAMPLES_A_PART).min(PARTS.1);
    if most < PARTS.0 || guess.is_nan() || guess <= 0.0 {
        return None;
    }
    let line = Line::fit(values.iter().enumerate().map(|(i, v)| (i as f64, *v)))?;
    let mut record = Record {
        values,
        middle: 0.5 * (values.len() as f64 - 1.0),
        line: (line.at(0.0), line.slope),
    };
    let mut f = guess;
    // a coarse shape leads into the fine one
    for parts in [PARTS.0, most] {
        for _ in 0..ROUNDS {
            let cycle = Cycle::of(&record, f, parts)?;
            let fit = record.against(&cycle, f);
            let step = fit.step.clamp(-0.05 / good as f64, 0.05 / good as f64);
            f += step;
            if !f.is_finite() || (f - guess).abs() * values.len() as f64 > MOST_CYCLES {
                return None;
            }
            record.line = fit.line;
            if step.abs() < 0.01 * fit.u {
                break;
            }
        }
    }
    let cycle = Cycle::of(&record, f, most)?;
    let fit = record.against(&cycle, f);
    (fit.share > LEAST_SHARE).then_some(Repeated {
        cycles_per_sample: f,
        u_cycles: fit.u,
        scatter: fit.scatter,
        means: cycle.means,
        counts: cycle.counts,
    })
}

struct Record<'a> {
    values: &'a [f64],
    middle: f64,
    /// Level at the first sample and rise from sample to sample of what drifts.
    line: (f64, f64),
}

/// What one round gives.
struct Fit {
    /// By how much the cycles a sample are to be corrected.
    step: f64,
    u: f64,
    scatter: f64,
    share: f64,
    line: (f64, f64),
}

impl Record<'_> {
    /// The samples that are numbers, without the drift, by their place.
    fn level(&self) -> impl Iterator<Item = (f64, f64)> {
        let numbered = self.values.iter().enumerate();
        numbered
            .filter(|(_, v)| v.is_finite())
            .map(|(i, v)| (i as f64, v - self.line.0 - self.line.1 * i as f64))
    }

    fn against(&self, cycle: &Cycle, f: f64) -> Fit {
        let (mut top, mut bottom, mut flat, mut left, mut whole) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let mut rests = Vec::with_capacity(self.values.len());
        for (place, value) in self.level() {
            let x = place - self.middle;
            let (shape, slope) = cycle.at(f * x);
            let by = x * slope;
            let rest = value - shape;
            top += by * rest;
            bottom += by * by;
            flat += x * x;
            left += rest * rest;
            whole += value * value;
            rests.push((place, rest));
        }
        let count = rests.len() as f64;
        let drift = Line::fit(rests.into_iter());
        let free = (count - cycle.means.len() as f64 - 3.0).max(1.0);
        let scatter = (left / free).sqrt();
        // what scatters in the means shows as slope
        let false_slope = flat * (scatter * cycle.noise_of_slope()).powi(2);
        let sure = (bottom - false_slope).max(0.2 * bottom);
        Fit {
            step: top / sure,
            // the slopes that correct it scatter too
            u: scatter * bottom.sqrt() / sure,
            scatter,
            share: 1.0 - left / whole,
            line: drift.map_or(self.line, |d| {
                (self.line.0 + d.at(0.0), self.line.1 + d.slope)
            }),
        }
    }
}

/// The part of a cycle that is left when whole ones are taken off: from 0 to below 1, or 1 by rounding.
fn turned(cycles: f64) -> f64 {
    cycles - cycles.floor()
}

/// The shape of a cycle by the means of its parts.
struct Cycle {
    means: Vec<f64>,
    counts: Vec<u32>,
}

impl Cycle {
    /// `None` where a part holds no sample.
    fn of(record: &Record<'_>, f: f64, parts: usize) -> Option<Self> {
        let mut cells = vec![(0_u32, 0.0); parts];
        for (place, value) in record.level() {
            let phase = turned(f * (place - record.middle));
            let part = ((phase * parts as f64) as usize).min(parts - 1);
            cells[part].0 += 1;
            cells[part].1 += value;
        }
        let filled = cells.iter().all(|(count, _)| *count > 0);
        filled.then(|| Self {
            means: cells.iter().map(|(n, sum)| sum / f64::from(*n)).collect(),
            counts: cells.iter().map(|(count, _)| *count).collect(),
        })
    }

    /// Shape and slope (per cycle) so many cycles from the middle of the record: straight lines between the
    /// middles of the parts.
    fn at(&self, cycles: f64) -> (f64, f64) {
        let parts = self.means.len();
        let along = turned(cycles) * parts as f64 + 0.5;
        let before = along.floor();
        let after = (before as usize) % parts;
        let first = after.checked_sub(1).unwrap_or(parts - 1);
        let (a, b) = (self.means[first], self.means[after]);
        (a + (along - before) * (b - a), (b - a) * parts as f64)
    }

    /// Standard deviation of a slope for samples that scatter by one.
    fn noise_of_slope(&self) -> f64 {
        let each: f64 = self.counts.iter().map(|c| 1.0 / f64::from(*c)).sum();
        let parts = self.means.len() as f64;
        parts * (2.0 * each / parts).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Uniform noise of a known sequence, of standard deviation 1.
    fn noise(seed: u64) -> impl FnMut() -> f64 {
        let mut state = seed;
        move || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((state >> 40) as f64 / f64::from(1 << 24) - 0.5) * 12.0_f64.sqrt()
        }
    }

    /// A fall over three quarters of the cycle, a rise over the rest, peak to peak 2.
    fn triangle(phase: f64) -> f64 {
        let x = phase.rem_euclid(1.0);
        if x < 0.75 {
            1.0 - 2.0 * x / 0.75
        } else {
            (x - 0.75) * 8.0 - 1.0
        }
    }

    fn errors(cycles: f64, count: usize, sigma: f64) -> Vec<(f64, f64)> {
        let f = cycles / count as f64;
        let one = |seed: u64| {
            let mut next = noise(seed * 7919 + 3);
            let values: Vec<f64> = (0..count)
                .map(|i| {
                    5.0 + 1e-4 * i as f64
                        + triangle(f * i as f64 + 0.37 * seed as f64)
                        + sigma * next()
                })
                .collect();
            let found = shape(&values, f + 0.02 / count as f64).unwrap();
            (found.cycles_per_sample - f, found.u_cycles)
        };
        (1..=60).map(one).collect()
    }

    fn rms(values: impl Iterator<Item = f64>) -> f64 {
        let all: Vec<f64> = values.collect();
        (all.iter().map(|v| v * v).sum::<f64>() / all.len() as f64).sqrt()
    }

    /// Cramér-Rao: var(f) ≥ σ² / Σ (x · ds/dφ)²; the mean square slope of this triangle is
    /// 0.75 · (2/0.75)² + 0.25 · 8² = 21.33 per cycle².
    #[test]
    fn the_length_of_a_cycle_scatters_by_little_more_than_the_bound() {
        for (cycles, count) in [(10.3, 4000_usize), (211.7, 900)] {
            let all = errors(cycles, count, 0.2);
            let n = count as f64;
            let bound = 0.2 / (n * (n * n - 1.0) / 12.0 * 21.33_f64).sqrt();
            let scatter = rms(all.iter().map(|e| e.0));
            assert!(scatter < 1.6 * bound, "{cycles}: {scatter} {bound}");
            let told = rms(all.iter().map(|e| e.0 / e.1));
            assert!((0.7..1.4).contains(&told), "{cycles}: {told}");
        }
    }

    #[test]
    fn the_shape_is_that_of_the_cycle() {
        let mut next = noise(5);
        let values: Vec<f64> = (0..4000)
            .map(|i| triangle(f64::from(i) / 390.0) + 0.1 * next())
            .collect();
        let found = shape(&values, 1.0 / 389.5).unwrap();
        let top = found.means.iter().copied().fold(f64::MIN, f64::max);
        let bottom = found.means.iter().copied().fold(f64::MAX, f64::min);
        assert!((top - bottom - 2.0).abs() < 0.12, "{top} {bottom}");
        assert!((found.scatter - 0.1).abs() < 0.02, "{}", found.scatter);
    }

    #[test]
    fn noise_and_few_samples_have_no_shape() {
        let mut next = noise(9);
        let values: Vec<f64> = (0..4000).map(|_| next()).collect();
        assert_eq!(shape(&values, 0.01), None);
        assert_eq!(shape(&values[..200], 0.05), None);
        assert_eq!(shape(&[f64::NAN; 4000], 0.01), None);
        assert_eq!(shape(&values, f64::NAN), None);
    }
}
