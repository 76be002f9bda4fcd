//! Ripple of one frequency in the samples before an event: found in their spectrum, which shows a sine
//! of a third of the noise, and taken out by least squares together with the course of VCC.

/// A peak of the spectrum this many times the mean of noise is a tone: noise alone has one in about a
/// thousand stretches of 400 samples (its powers are distributed exponentially, and 400 bins are looked
/// at).
const STANDS_OUT: f64 = 13.0;
/// Fewest cycles within the samples: what is slower is the hand on the knob.
const FEWEST_CYCLES: f64 = 2.5;
/// Fewest samples in which a tone is looked for.
const FEWEST: usize = 32;

/// A landing of fewer samples does not show as one.
const SHORTEST_LANDING: f64 = 6.0;

/// A tone in evenly spaced samples.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(in crate::bench) struct Tone {
    /// Its amplitude; 0 where none stands out.
    pub amplitude: f64,
    /// Standard uncertainty of the amplitude.
    pub u: f64,
    /// Standard uncertainty of what it gives at an instant, by its phase.
    pub u_phase: f64,
    /// Amplitude that a tone which does not stand out may have.
    pub hidden: f64,
    /// Its cycles in one sample interval, as sampled.
    pub cycles: f64,
    /// Its phase at the last sample, as of a cosine.
    pub phase: f64,
    /// Change of the rest from sample to sample at the end.
    pub slope: f64,
}

impl Tone {
    /// Is it what a stair leaves about a straight line: a sawtooth of one step in each period, whose first
    /// harmonic has an amplitude of a step divided by π?
    pub fn of_stair(&self) -> Option<f64> {
        let step = self.slope.abs() / self.cycles;
        let lands = self.cycles * SHORTEST_LANDING < 1.0;
        let is_sawtooth =
            lands && (0.75..1.35).contains(&(std::f64::consts::PI * self.amplitude / step));
        (self.amplitude > 0.0 && is_sawtooth).then_some(step)
    }

    /// The last samples without it.
    pub fn out_of(&self, values: &[f64]) -> Vec<f64> {
        let turn = std::f64::consts::TAU * self.cycles;
        let back = |i: usize| (values.len() - 1 - i) as f64;
        let one = |(i, v): (usize, &f64)| v - self.amplitude * (self.phase - turn * back(i)).cos();
        values.iter().enumerate().map(one).collect()
    }

    /// Is another tone, found in a part of the samples, the same one?
    pub fn agrees(&self, other: &Tone, samples: usize) -> bool {
        let both = self.amplitude > 0.0 && other.amplitude > 0.0;
        let near = (self.cycles - other.cycles).abs() < 1.0 / samples as f64;
        both && near && (0.6..1.6).contains(&(self.amplitude / other.amplitude))
    }
}

/// Finds a tone and takes it out of `values`, which have to be finite.
pub(super) fn take_out(values: &mut [f64]) -> Tone {
    if values.len() < FEWEST {
        return Tone::default();
    }
    let course = fit(values, None);
    let scatter = square(values, &course, None);
    let n = values.len() as f64;
    if scatter <= 0.0 {
        return Tone::default();
    }
    let residuals: Vec<f64> = (0..values.len())
        .map(|i| values[i] - said(&course, None, i, values.len()))
        .collect();
    let bins = values.len();
    let first = (2.0 * FEWEST_CYCLES).ceil() as usize;
    let frequency = |bin: f64| bin / (2.0 * n);
    let best = (first..bins)
        .map(|bin| (power(&residuals, frequency(bin as f64)), bin))
        .reduce(|a, b| if b.0 > a.0 { b } else { a });
    let Some((_, bin)) = best else {
        return Tone::default();
    };
    let (peak, cycles) = refined(&residuals, frequency(bin as f64), frequency(0.5));
    let strength = peak / (n * scatter);
    if strength < STANDS_OUT {
        return Tone {
            hidden: (4.0 * (strength - 1.0).max(0.0) / n * scatter).sqrt(),
            ..Tone::default()
        };
    }
    let fit = at(values, values.len(), cycles);
    values.copy_from_slice(&fit.without(values));
    fit.tone()
}

/// Fewest cycles that a tone is fitted over, where there are so many.
const CYCLES_OF_FIT: f64 = 8.0;

/// A tone of known frequency fitted to the end of a stretch.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fit {
    pub amplitude: f64,
    /// Standard uncertainty of the amplitude.
    pub u: f64,
    /// Samples that it was fitted to.
    pub samples: f64,
    cycles: f64,
    phase: f64,
    slope: f64,
}

/// Fits a tone of so many cycles a sample to the last samples: the straight ones, or more where these hold
/// few cycles.
pub(super) fn at(values: &[f64], straight: usize, cycles: f64) -> Fit {
    let wanted = straight.max((CYCLES_OF_FIT / cycles).ceil() as usize);
    let values = &values[values.len().saturating_sub(wanted)..];
    let n = values.len() as f64;
    let with = fit(values, Some(cycles));
    Fit {
        amplitude: with[3].hypot(with[4]),
        u: (2.0 * square(values, &with, Some(cycles)) / n).sqrt(),
        samples: n,
        cycles,
        phase: std::f64::consts::TAU * cycles * (n - 1.0) - with[4].atan2(with[3]),
        slope: 2.0 * (with[1] + 2.0 * with[2]) / (n - 1.0),
    }
}

impl Fit {
    /// The tone with its own amplitude.
    pub fn tone(&self) -> Tone {
        Tone {
            amplitude: self.amplitude,
            u: self.u,
            u_phase: self.u,
            hidden: 0.0,
            cycles: self.cycles,
            phase: self.phase,
            slope: self.slope,
        }
    }

    /// Does it go through a cycle, or two, whenever VCC has moved by a code step?
    pub fn is_of_codes(&self, code: f64) -> bool {
        let near = |times: f64| {
            let cycles = (times * self.slope.abs() / code).fract();
            let seen = cycles.min(1.0 - cycles);
            (seen - self.cycles).abs() < 0.25 * self.cycles
        };
        near(1.0) || near(2.0)
    }

    /// The last samples without it.
    pub fn without(&self, values: &[f64]) -> Vec<f64> {
        self.tone().out_of(values)
    }
}

/// Squared magnitude of the sum of `values × e^(−2πi f k)`.
fn power(values: &[f64], cycles: f64) -> f64 {
    let (step_re, step_im) = (std::f64::consts::TAU * cycles).sin_cos();
    let (step_re, step_im) = (step_im, -step_re);
    let (mut re, mut im) = (1.0, 0.0);
    let (mut sum_re, mut sum_im) = (0.0, 0.0);
    for value in values {
        sum_re += value * re;
        sum_im += value * im;
        (re, im) = (re * step_re - im * step_im, re * step_im + im * step_re);
    }
    sum_re * sum_re + sum_im * sum_im
}

/// The largest power near a frequency, by halving the step.
fn refined(values: &[f64], cycles: f64, step: f64) -> (f64, f64) {
    let mut best = (power(values, cycles), cycles);
    let mut step = step;
    for _ in 0..6 {
        for side in [-step, step] {
            let there = best.1 + side;
            let power = power(values, there);
            if power > best.0 && there > 0.0 && there < 0.5 {
                best = (power, there);
            }
        }
        step *= 0.5;
    }
    best
}

/// Least squares of a parabola and, with `cycles`, a sine and cosine: constant, slope and bend over
/// −1 to 1, cosine, sine.
fn fit(values: &[f64], cycles: Option<f64>) -> [f64; 5] {
    let size = if cycles.is_some() { 5 } else { 3 };
    let mut matrix = [[0.0; 6]; 5];
    for (i, value) in values.iter().enumerate() {
        let row = base(i, values.len(), cycles);
        for a in 0..size {
            for b in 0..size {
                matrix[a][b] += row[a] * row[b];
            }
            matrix[a][5] += row[a] * value;
        }
    }
    solved(&mut matrix, size)
}

fn base(index: usize, count: usize, cycles: Option<f64>) -> [f64; 5] {
    let x = 2.0 * index as f64 / (count as f64 - 1.0) - 1.0;
    let phase = std::f64::consts::TAU * cycles.unwrap_or(0.0) * index as f64;
    [1.0, x, x * x, phase.cos(), phase.sin()]
}

fn said(fit: &[f64; 5], cycles: Option<f64>, index: usize, count: usize) -> f64 {
    let row = base(index, count, cycles);
    let size = if cycles.is_some() { 5 } else { 3 };
    (0..size).map(|k| fit[k] * row[k]).sum()
}

/// Mean square of what the fit leaves.
fn square(values: &[f64], fit: &[f64; 5], cycles: Option<f64>) -> f64 {
    let free = values.len() as f64 - if cycles.is_some() { 5.0 } else { 3.0 };
    let left = values
        .iter()
        .enumerate()
        .map(|(i, v)| (v - said(fit, cycles, i, values.len())).powi(2));
    left.sum::<f64>() / free
}

/// Gaussian elimination with pivots; zeros where the system has no solution.
fn solved(matrix: &mut [[f64; 6]; 5], size: usize) -> [f64; 5] {
    for column in 0..size {
        let pivot = (column..size).max_by(|a, b| {
            matrix[*a][column]
                .abs()
                .total_cmp(&matrix[*b][column].abs())
        });
        let Some(pivot) = pivot.filter(|p| matrix[*p][column].abs() > 1e-12) else {
            return [0.0; 5];
        };
        matrix.swap(column, pivot);
        for row in 0..size {
            if row != column {
                let factor = matrix[row][column] / matrix[column][column];
                let above = matrix[column];
                for (cell, part) in matrix[row].iter_mut().zip(above) {
                    *cell -= factor * part;
                }
            }
        }
    }
    let mut found = [0.0; 5];
    for row in 0..size {
        found[row] = matrix[row][5] / matrix[row][row];
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_is_taken_out_of_a_rise() {
        let mut values: Vec<f64> = (0..400)
            .map(|i| {
                let t = f64::from(i);
                15.0 + 0.001 * t
                    + 0.2 * (0.31 * t + 0.4).sin()
                    + 0.01 * (f64::from(i * 7919 % 101) / 50.0 - 1.0)
            })
            .collect();
        let tone = take_out(&mut values);
        assert!((tone.amplitude - 0.2).abs() < 3.0 * tone.u, "{tone:?}");
        assert!((values[200] - 15.2).abs() < 0.02, "{}", values[200]);
    }

    #[test]
    fn scatter_alone_has_no_tone() {
        let mut state = 7_u64;
        let mut values: Vec<f64> = (0..400)
            .map(|_| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1);
                (state >> 40) as f64 / f64::from(1 << 24)
            })
            .collect();
        let before = values.clone();
        let tone = take_out(&mut values);
        assert!(tone.amplitude == 0.0 && tone.hidden > 0.0, "{tone:?}");
        assert_eq!(values, before);
    }

    #[test]
    fn too_few_samples_give_none() {
        assert_eq!(take_out(&mut [1.0; 10]), Tone::default());
    }
}
