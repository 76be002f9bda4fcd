//! The shift between two records of the same happening, by cross-correlation.

use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

/// Where two records fit best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// What stands at `i` in the first stands at `i + samples` in the second; a fraction by a
    /// parabola through the largest coefficient and its neighbours.
    pub samples: f64,
    /// Samples either way within which the coefficient is as large as its own scatter allows.
    pub within: f64,
    /// Correlation coefficient of what then lies over each other, −1 to 1.
    pub coefficient: f64,
    /// The second highest peak of the coefficient as a share of the highest; 0 where there is none.
    pub rival: f64,
}

/// Share of the shorter record that has to lie over the other.
const LEAST_OVERLAP: f64 = 0.5;

/// The lag at which the correlation coefficient (Pearson) of what lies over each other is largest, within
/// `lags` (lowest and highest, inclusive), at least half of the shorter record lying over the other.
///
/// The plain sum Σ b\[i + lag\]·a\[i\] prefers long overlaps, so that it puts records that climb too close
/// to each other; the coefficient has no such lean, and neither gain nor offset changes it. Samples
/// that are not numbers count as the mean. `None` for fewer than 8 numbers on a side, a side that does
/// not move, or no lag that both allow.
pub fn shift(a: &[f64], b: &[f64], lags: (isize, isize)) -> Option<Shift> {
    let (a, b) = (Record::of(a)?, Record::of(b)?);
    let shorter = a.values.len().min(b.values.len());
    let overlap = ((LEAST_OVERLAP * shorter as f64).ceil() as isize).max(8);
    let lowest = lags.0.max(overlap - isize::try_from(a.values.len()).ok()?);
    let highest = lags.1.min(isize::try_from(b.values.len()).ok()? - overlap);
    if lowest > highest {
        return None;
    }
    let products = products(&a.values, &b.values)?;
    let all: Vec<f64> = (lowest..=highest)
        .map(|lag| coefficient(&a, &b, &products, lag))
        .collect();
    let best = (0..all.len()).max_by(|x, y| all[*x].total_cmp(&all[*y]))?;
    if all[best] <= 0.0 {
        return None;
    }
    let fraction = match (best.checked_sub(1), all.get(best + 1)) {
        (Some(before), Some(after)) => vertex(all[before], all[best], *after),
        _ => 0.0,
    };
    let lag = lowest + best as isize;
    let (from, to) = over(&a, &b, lag);
    Some(Shift {
        samples: lag as f64 + fraction,
        within: within(&all, best, (to - from) as f64),
        coefficient: all[best].min(1.0),
        rival: rival(&all, best) / all[best],
    })
}

/// A record without its mean, with sums that give those of any part of it.
struct Record {
    values: Vec<f64>,
    /// Sum of the values and of their squares before each index.
    sums: Vec<(f64, f64)>,
}

impl Record {
    fn of(raw: &[f64]) -> Option<Self> {
        let numbers = raw.iter().copied().filter(|v| v.is_finite());
        let count = numbers.clone().count();
        if count < 8 {
            return None;
        }
        let mean = numbers.sum::<f64>() / count as f64;
        let level = |v: &f64| if v.is_finite() { v - mean } else { 0.0 };
        let values: Vec<f64> = raw.iter().map(level).collect();
        let mut sums = vec![(0.0, 0.0)];
        let mut last = (0.0, 0.0);
        for value in &values {
            last = (last.0 + value, last.1 + value * value);
            sums.push(last);
        }
        (last.1 > 0.0).then_some(Self { values, sums })
    }

    /// Sum and sum of squares of a part.
    fn part(&self, from: isize, to: isize) -> (f64, f64) {
        let (first, last) = (self.sums[from as usize], self.sums[to as usize]);
        (last.0 - first.0, last.1 - first.1)
    }
}

/// The samples of the first record that have one of the second over them.
fn over(a: &Record, b: &Record, lag: isize) -> (isize, isize) {
    let to = (a.values.len() as isize).min(b.values.len() as isize - lag);
    ((-lag).max(0), to)
}

fn coefficient(a: &Record, b: &Record, products: &[f64], lag: isize) -> f64 {
    let (from, to) = over(a, b, lag);
    let count = (to - from) as f64;
    let (sum_a, square_a) = a.part(from, to);
    let (sum_b, square_b) = b.part(from + lag, to + lag);
    let product = products[lag.rem_euclid(products.len() as isize) as usize];
    let together = product - sum_a * sum_b / count;
    let size = (square_a - sum_a * sum_a / count) * (square_b - sum_b * sum_b / count);
    // a part that stands still has no coefficient
    let least = 1e-9 * square_a * square_b;
    if size > least && size > 0.0 {
        together / size.sqrt()
    } else {
        0.0
    }
}

/// Σ b\[i + lag\]·a\[i\] of all lags, by the product of spectra, long enough that no end meets the other.
fn products(a: &[f64], b: &[f64]) -> Option<Vec<f64>> {
    let length = (a.len() + b.len()).next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let forward = planner.plan_fft_forward(length);
    let spectrum = |values: &[f64]| -> Option<Vec<Complex<f64>>> {
        let mut padded = values.to_vec();
        padded.resize(length, 0.0);
        let mut out = forward.make_output_vec();
        forward.process(&mut padded, &mut out).ok()?;
        Some(out)
    };
    let (of_a, mut product) = (spectrum(a)?, spectrum(b)?);
    for (p, a) in product.iter_mut().zip(&of_a) {
        *p *= a.conj();
    }
    // the lines at zero and at the highest frequency are real
    if let Some(line) = product.first_mut() {
        line.im = 0.0;
    }
    if let Some(line) = product.last_mut() {
        line.im = 0.0;
    }
    let mut out = vec![0.0; length];
    planner
        .plan_fft_inverse(length)
        .process(&mut product, &mut out)
        .ok()?;
    // the transform comes back unscaled
    out.iter_mut().for_each(|v| *v /= length as f64);
    Some(out)
}

/// Place of the top of a parabola through three values at −1, 0 and 1.
fn vertex(before: f64, at: f64, after: f64) -> f64 {
    let bend = before - 2.0 * at + after;
    if bend >= 0.0 {
        return 0.0;
    }
    (0.5 * (before - after) / bend).clamp(-0.5, 0.5)
}

/// Lags either way whose coefficient lies within three standard errors, (1 − r²)/√n, of the largest; half a
/// sample at least.
fn within(all: &[f64], best: usize, count: f64) -> f64 {
    let largest = all[best].min(1.0);
    let least = largest - 3.0 * (1.0 - largest * largest) / count.sqrt();
    let right = all[best..].iter().take_while(|r| **r >= least).count();
    let left = all[..=best]
        .iter()
        .rev()
        .take_while(|r| **r >= least)
        .count();
    (right.max(left) as f64 - 1.0).max(0.5)
}

/// The highest coefficient beyond where it has fallen to a half of the best.
fn rival(all: &[f64], best: usize) -> f64 {
    let half = 0.5 * all[best];
    let right = all[best..].iter().position(|r| *r < half);
    let left = all[..best].iter().rposition(|r| *r < half);
    let beyond_right = right.map_or(&[][..], |from| &all[best + from..]);
    let beyond_left = left.map_or(&[][..], |to| &all[..=to]);
    let both = beyond_right.iter().chain(beyond_left);
    both.copied().fold(0.0, f64::max)
}
