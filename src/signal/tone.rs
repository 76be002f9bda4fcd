//! The sine that stands out of a record, by its spectrum: for what moves without clear edges.

use realfft::RealFftPlanner;

use crate::data::Tone;

use super::line::Line;

/// Most samples looked at; of a longer record the middle is taken.
pub(super) const MOST_SAMPLES: usize = 65_536;
/// Fewest.
const FEWEST_SAMPLES: usize = 32;
/// Fewest cycles in what is looked at.
const FEWEST_CYCLES: f64 = 2.5;
/// How far above the mean power of white noise the largest of n/2 lines has to stand, in units of that
/// mean: it exceeds ln(n/2) + 7 in one record of a thousand.
const MARGIN: f64 = 7.0;
/// A line at a half, a third … of the strongest counts as the fundamental from this share of its power.
const FUNDAMENTAL: f64 = 0.04;

/// How far a line may lie from a whole fraction of the strongest, in lines.
const NO_FRACTION: f64 = 0.5;

/// Finds the sine that stands out of a record, after its mean and its drift (a straight line) are taken
/// off: the strongest line of the spectrum, or the one at a whole fraction of it that carries its
/// fundamental, refined by least squares.
///
/// Missing samples (NaN) are bridged by straight lines. `None` below 32 samples, with more than a tenth
/// missing, where less than 2.5 cycles are seen, or where no line stands out of what noise of the same
/// power would show.
pub fn find(values: &[f64]) -> Option<Tone> {
    let from = values.len().saturating_sub(MOST_SAMPLES) / 2;
    let part = &values[from..(from + MOST_SAMPLES).min(values.len())];
    let level = levelled(part)?;
    let n = level.len();
    let power = spectrum(&level)?;
    let lowest = (FEWEST_CYCLES.ceil() as usize).max(2);
    let strongest =
        (lowest..power.len().saturating_sub(1)).max_by(|a, b| power[*a].total_cmp(&power[*b]))?;
    let usual = mean_line(&power[lowest..]);
    if power[strongest] < usual * ((n as f64 / 2.0).ln() + MARGIN) {
        return None;
    }
    let padded = (2 * (power.len() - 1)) as f64;
    let fundamental = fundamental(&power, strongest, lowest);
    let start = peak(&power, fundamental) / padded;
    refined(&level, start)
}

/// Mean power of the lines of noise, by their median, which single lines do not move: it is ln 2 of the mean of
/// exponentially distributed ones. NaN without lines.
pub fn mean_line(power: &[f64]) -> f64 {
    super::stats::median(&mut power.to_vec()) / std::f64::consts::LN_2
}

/// The values without mean and drift, gaps bridged.
pub(super) fn levelled(values: &[f64]) -> Option<Vec<f64>> {
    let good = values.iter().filter(|v| v.is_finite()).count();
    if values.len() < FEWEST_SAMPLES || good * 10 < values.len() * 9 {
        return None;
    }
    let line = Line::fit(values.iter().enumerate().map(|(i, v)| (i as f64, *v)))?;
    let mut level: Vec<f64> = values
        .iter()
        .enumerate()
        .map(|(i, v)| v - line.at(i as f64))
        .collect();
    let mut last: Option<usize> = None;
    for index in 0..level.len() {
        if !level[index].is_finite() {
            continue;
        }
        let begin = last.map_or(0, |l| l + 1);
        let before = last.map_or(level[index], |l| level[l]);
        let gap = (index - begin + 1) as f64;
        for (step, hole) in (begin..index).enumerate() {
            level[hole] = before + (level[index] - before) * (step as f64 + 1.0) / gap;
        }
        last = Some(index);
    }
    let rest = last.map_or(0, |l| l + 1);
    let end = last.map_or(0.0, |l| level[l]);
    level[rest..].fill(end);
    Some(level)
}

/// Power of the lines of the record, tapered by a Hann window and filled up with zeros to a power of two.
fn spectrum(level: &[f64]) -> Option<Vec<f64>> {
    spectrum_of(level, level.len().next_power_of_two())
}

/// The same, filled up to `size`, an even number of at least so many values.
pub(super) fn spectrum_of(level: &[f64], size: usize) -> Option<Vec<f64>> {
    let n = level.len();
    let mut planner = RealFftPlanner::<f64>::new();
    let transform = planner.plan_fft_forward(size);
    let mut input = transform.make_input_vec();
    let turn = std::f64::consts::TAU / n as f64;
    for (index, (to, value)) in input.iter_mut().zip(level).enumerate() {
        *to = value * 0.5 * (1.0 - (turn * (index as f64 + 0.5)).cos());
    }
    let mut output = transform.make_output_vec();
    transform.process(&mut input, &mut output).ok()?;
    Some(output.iter().map(|line| line.norm_sqr()).collect())
}

/// The lowest whole fraction of the strongest line that is itself a line: a train of narrow pulses may
/// have a stronger harmonic than its fundamental.
fn fundamental(power: &[f64], strongest: usize, lowest: usize) -> usize {
    for part in (2..=8).rev() {
        let near = (strongest as f64 / part as f64).round() as usize;
        if near < lowest + 1 {
            continue;
        }
        let here = (near - 1..=near + 1)
            .max_by(|a, b| power[*a].total_cmp(&power[*b]))
            .unwrap_or(near);
        let apart =
            here > lowest && power[here] > power[here - 1] && power[here] >= power[here + 1];
        // a line that is no whole fraction is another sine
        let whole = peak(power, strongest) / part as f64;
        let apart = apart && (peak(power, here) - whole).abs() < NO_FRACTION;
        if apart && power[here] > FUNDAMENTAL * power[strongest] {
            return here;
        }
    }
    strongest
}

/// Place of a peak between the lines, by a parabola through the logarithms.
pub(super) fn peak(power: &[f64], line: usize) -> f64 {
    let log = |k: usize| power[k].max(f64::MIN_POSITIVE).ln();
    let (a, b, c) = (log(line - 1), log(line), log(line + 1));
    let bend = a - 2.0 * b + c;
    line as f64
        + if bend < 0.0 {
            (0.5 * (a - c) / bend).clamp(-1.0, 1.0)
        } else {
            0.0
        }
}

/// Least squares of a sine with a small change of its frequency (Gauss-Newton), from a first guess in
/// cycles a sample.
fn refined(level: &[f64], start: f64) -> Option<Tone> {
    let n = level.len() as f64;
    let middle = 0.5 * (n - 1.0);
    let mut f = start;
    let mut fit = (0.0, 0.0);
    for _ in 0..12 {
        let turns = turns(level.len(), std::f64::consts::TAU * f);
        fit = amplitudes(level, &turns)?;
        let (mut top, mut bottom) = (0.0, 0.0);
        for (index, (value, (sin, cos))) in level.iter().zip(&turns).enumerate() {
            let x = index as f64 - middle;
            let slope = x * (fit.1 * cos - fit.0 * sin);
            top += slope * (value - fit.0 * cos - fit.1 * sin);
            bottom += slope * slope;
        }
        let step = (top / bottom / std::f64::consts::TAU).clamp(-0.3 / n, 0.3 / n);
        f += step;
        if !f.is_finite() || (f - start).abs() > 1.5 / n {
            return None;
        }
        if step.abs() < 1e-12 {
            break;
        }
    }
    let w = std::f64::consts::TAU * f;
    let amplitude = fit.0.hypot(fit.1);
    let whole: f64 = level.iter().map(|v| v * v).sum();
    let left: f64 = level
        .iter()
        .zip(turns(level.len(), w))
        .map(|(value, (sin, cos))| (value - fit.0 * cos - fit.1 * sin).powi(2))
        .sum();
    if f * n < FEWEST_CYCLES || f >= 0.5 || whole <= 0.0 {
        return None;
    }
    // Rife and Boorstyn (1974): var(ω) ≥ 24 σ² / (A² n (n² − 1)) for a single real sine
    let variance = 24.0 * (left / (n - 4.0)) / (amplitude * amplitude * n * (n * n - 1.0));
    Some(Tone {
        cycles_per_sample: f,
        u_cycles: variance.sqrt() / std::f64::consts::TAU,
        amplitude,
        samples: level.len(),
        share: (1.0 - left / whole).max(0.0),
    })
}

/// Sine and cosine of an angular frequency at so many samples, from their middle.
fn turns(count: usize, w: f64) -> Vec<(f64, f64)> {
    let middle = 0.5 * (count as f64 - 1.0);
    let at = |index: usize| (w * (index as f64 - middle)).sin_cos();
    (0..count).map(at).collect()
}

/// Cosine and sine amplitudes, by least squares.
fn amplitudes(level: &[f64], turns: &[(f64, f64)]) -> Option<(f64, f64)> {
    let (mut cc, mut ss, mut cs, mut cy, mut sy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (value, (sin, cos)) in level.iter().zip(turns) {
        cc += cos * cos;
        ss += sin * sin;
        cs += cos * sin;
        cy += cos * value;
        sy += sin * value;
    }
    let d = cc * ss - cs * cs;
    (d.abs() > 1e-12 * cc * ss).then(|| ((cy * ss - sy * cs) / d, (sy * cc - cy * cs) / d))
}
