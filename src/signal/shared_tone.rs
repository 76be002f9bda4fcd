//! A sine of one frequency that several stretches share, each with a phase of its own: found in the sum of
//! their spectra where none of them alone shows it.

use super::tone::{levelled, mean_line, peak, spectrum_of};

/// Fewest cycles within a stretch that counts: slower is a bend of its course.
const FEWEST_CYCLES: f64 = 5.0;
/// A line has to rise from so many natural lines below it, which the foot of a bend does not.
const RISES_WITHIN: f64 = 4.0;

/// The strongest line of the summed spectra.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedTone {
    /// Its frequency, in cycles a sample.
    pub cycles: f64,
    /// The chance that noise alone shows as strong a line anywhere.
    pub chance: f64,
    /// Square of the amplitude that its power beyond noise stands for.
    pub square: f64,
}

/// Power of one stretch over what noise has there on average.
struct Part {
    relative: Vec<f64>,
    first: usize,
    /// What a unit of squared amplitude adds.
    gain: f64,
}

/// Sums the spectra of evenly sampled stretches with one interval, each without its straight line.
///
/// Stretches of fewer than 32 samples, or with more than a tenth missing (NaN), do not count; `None` where
/// none is left, or where no line rises to twice what lies below it.
pub fn find(stretches: &[&[f64]]) -> Option<SharedTone> {
    let longest = stretches.iter().map(|s| s.len()).max()?;
    let size = 2 * longest.next_power_of_two();
    let parts: Vec<Part> = stretches.iter().filter_map(|s| part(s, size)).collect();
    let lines = size / 2;
    let natural = size as f64 / longest as f64;
    let whole: Vec<f64> = (0..lines)
        .map(|k| parts.iter().map(|p| p.relative[k]).sum())
        .collect();
    let back = (RISES_WITHIN * natural) as usize;
    let mut best: Option<(f64, usize, f64)> = None;
    for k in 1..lines - 1 {
        let counted = || parts.iter().filter(|p| k >= p.first);
        let count = counted().count();
        let sum: f64 = counted().map(|p| p.relative[k]).sum();
        let top = whole[k] >= whole[k - 1] && whole[k] >= whole[k + 1];
        if count == 0 || !top || whole[k.saturating_sub(back)] > 0.5 * whole[k] {
            continue;
        }
        let seldom = -ln_tail(count, sum);
        if best.is_none_or(|b| seldom > b.0) {
            let gain: f64 = counted().map(|p| p.gain).sum();
            best = Some((seldom, k, (sum - count as f64).max(0.0) / gain));
        }
    }
    let (seldom, line, square) = best?;
    Some(SharedTone {
        cycles: peak(&whole, line) / size as f64,
        chance: ((-seldom).exp() * longest as f64).min(1.0),
        square,
    })
}

/// The spectra of evenly sampled stretches, each without its straight line, tapered by a Hann window and filled up
/// to one size, so that their lines lie at the same frequencies: up to half a cycle a sample. `None` where any of
/// them has fewer than 32 samples, or more than a tenth missing.
pub fn spectra(stretches: &[&[f64]]) -> Option<Vec<Vec<f64>>> {
    let longest = stretches.iter().map(|s| s.len()).max()?;
    let size = 2 * longest.next_power_of_two();
    stretches
        .iter()
        .map(|s| spectrum_of(&levelled(s)?, size))
        .collect()
}

fn part(stretch: &[f64], size: usize) -> Option<Part> {
    let level = levelled(stretch)?;
    let mut power = spectrum_of(&level, size)?;
    let n = level.len() as f64;
    let first = (FEWEST_CYCLES * size as f64 / n).ceil() as usize;
    if first + 8 >= power.len() {
        return None;
    }
    let usual = mean_line(&power[first..]);
    if usual.is_nan() || usual <= 0.0 {
        return None;
    }
    power.iter_mut().for_each(|p| *p /= usual);
    // a sine of amplitude a has a line of (a × n / 4)² behind a Hann window
    Some(Part {
        relative: power,
        first,
        gain: n * n / 16.0 / usual,
    })
}

/// Logarithm of the chance that a sum of so many exponentially distributed powers exceeds `sum`.
fn ln_tail(count: usize, sum: f64) -> f64 {
    let (mut term, mut series) = (1.0, 1.0);
    for j in 1..count {
        term *= sum / j as f64;
        series += term;
    }
    series.ln() - sum
}

#[cfg(test)]
mod tests;
