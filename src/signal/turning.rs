//! Turning points of a sawtooth, from cycles laid over each other.

use crate::data::{Channel, Pulses, Turning};

use super::line::Line;
use super::parabola::Parabola;
use super::{exponential, period};

/// Most cycles that are looked at, spread over the record.
const MOST_CYCLES: usize = 64;
/// Fewest samples in a cycle for its shape to be fitted.
const FEWEST_SAMPLES: f64 = 16.0;

/// Fits the shape of the cycles around their falling edges.
///
/// `None` with fewer than three complete cycles, fewer than 16 samples a cycle, or a shape that is
/// no sawtooth (the fall longer than the rise counts as none).
pub fn find(channel: &Channel, pulses: &Pulses) -> Option<Turning> {
    let period = mean_period(&pulses.falling)?;
    if period < FEWEST_SAMPLES {
        return None;
    }
    let cycles = complete_cycles(pulses);
    let stride = cycles.len().div_ceil(MOST_CYCLES).max(1);
    let gathered = |lattice: Option<period::Lattice>| {
        let mut points = Points::default();
        let mut used = 0;
        for cycle in cycles.iter().step_by(stride) {
            let origin = lattice.map_or(cycle.1, |l| l.nearest(cycle.1));
            used += usize::from(points.add(channel, *cycle, origin));
        }
        points.doubt = lattice.map_or(0.5, |l| l.within);
        (points, used)
    };
    let (mut points, mut used) = gathered(None);
    if points.mean_length() < SHORT_FALL
        && let Some(lattice) = period::Lattice::of(&pulses.falling)
    {
        (points, used) = gathered(Some(lattice));
    }
    if used < 3 {
        None
    } else {
        points.turning(period, used)
    }
}

impl Points {
    /// Corners of a fall faster than the samples: with the cycles laid over each other on equal spacing,
    /// the last sample still on the rise and the first no longer on it bound the peak, and so for the
    /// valley. Half-widths become a standard uncertainty as of a rectangle.
    fn fast_corners(&self, before: &Parabola, after: &Parabola) -> Option<(f64, f64, f64)> {
        let height = before.at(0.0) - after.at(0.0);
        let off = |fit: &Parabola| (5.0 * fit.scatter).max(0.04 * height);
        let (from, to) = (off(before), off(after));
        let (mut last_up, mut first_off) = (f64::NEG_INFINITY, f64::INFINITY);
        let (mut last_off, mut first_down) = (f64::NEG_INFINITY, f64::INFINITY);
        for (x, y) in &self.near {
            if before.at(*x) - y < from {
                last_up = last_up.max(*x);
            } else {
                first_off = first_off.min(*x);
            }
            if y - after.at(*x) < to {
                first_down = first_down.min(*x);
            } else {
                last_off = last_off.max(*x);
            }
        }
        let (peak, valley) = (0.5 * (last_up + first_off), 0.5 * (last_off + first_down));
        // a sample counts as off the rise after that share of the fall only: back to its begin and end
        let (begun, left) = (from / height, to / height);
        let whole = (valley - peak).max(0.0) / (1.0 - begun - left).max(0.3);
        let (peak, valley) = (peak - begun * whole, valley + left * whole);
        let open = 0.5
            * (first_off - last_up)
                .abs()
                .max((first_down - last_off).abs());
        let u_x = (open + self.doubt) / 3.0_f64.sqrt();
        (peak.is_finite() && valley.is_finite()).then_some((peak, valley.max(peak), u_x))
    }

    /// Corners of a fall that bends: a parabola through its middle meets the rises.
    fn bent_corners(
        &self,
        before: &Parabola,
        after: &Parabola,
        length: f64,
    ) -> Option<(f64, f64, f64)> {
        let fall = Parabola::fit(&self.fall)?;
        let meet = |rise: &Parabola, from: f64| {
            let mut x = from;
            for _ in 0..40 {
                x -= (rise.at(x) - fall.at(x)) / (rise.slope(x) - fall.slope(x));
            }
            (x.is_finite() && (x - from).abs() < length).then_some(x)
        };
        let steepness = (before.at(0.0) - after.at(0.0)) / length;
        let u_x = (5.0 * fall.scatter / (fall.count as f64).sqrt() / steepness).max(0.02);
        Some((
            meet(before, -0.5 * length)?,
            meet(after, 0.5 * length)?,
            u_x,
        ))
    }
}

fn mean_period(edges: &[f64]) -> Option<f64> {
    let (first, last) = (edges.first()?, edges.last()?);
    (edges.len() >= 3).then(|| (last - first) / (edges.len() - 1) as f64)
}

/// Falling edges with the rising edge before and the one after.
fn complete_cycles(pulses: &Pulses) -> Vec<(f64, f64, f64)> {
    let rising = &pulses.rising;
    pulses
        .falling
        .iter()
        .filter_map(|&fall| {
            let next = rising.partition_point(|r| *r < fall);
            Some((*rising.get(next.checked_sub(1)?)?, fall, *rising.get(next)?))
        })
        .collect()
}

/// Points of all cycles, at their distance from the falling edge.
#[derive(Default)]
struct Points {
    before: Vec<(f64, f64)>,
    fall: Vec<(f64, f64)>,
    after: Vec<(f64, f64)>,
    /// All samples near the falls.
    near: Vec<(f64, f64)>,
    fall_lengths: Vec<f64>,
    /// Half-width within which the origins lie, in samples, where the falls are steps.
    doubt: f64,
}

impl Points {
    /// Adds a cycle; its samples are placed by their distance from `origin`.
    fn add(
        &mut self,
        channel: &Channel,
        (rise_before, fall, rise_after): (f64, f64, f64),
        origin: f64,
    ) -> bool {
        let start = rise_before.ceil() as usize;
        let values = channel.valid_slice(start..rise_after.floor() as usize + 1);
        let edge = (fall.floor() as usize + 1).saturating_sub(start);
        if edge < 4 || edge + 2 > values.len() || values.iter().any(|v| v.is_nan()) {
            return false;
        }
        let top = index_of(&values[..edge], |a, b| a > b);
        let bottom = edge + index_of(&values[edge..], |a, b| a < b);
        let x = |index: usize| (start + index) as f64 - origin;
        let rise_from = top / 4;
        self.before
            .extend((rise_from..top.saturating_sub(1)).map(|i| (x(i), values[i])));
        // noise may put the largest sample before the corner: keep to the middle of the fall
        let (low, high) = (values[bottom], values[top]);
        let inner = |v: f64| (0.15..0.85).contains(&((v - low) / (high - low)));
        self.fall.extend(
            (top + 1..bottom)
                .filter(|i| inner(values[*i]))
                .map(|i| (x(i), values[i])),
        );
        let rise_to = bottom + (values.len() - bottom) * 7 / 8;
        self.after
            .extend((bottom + 2..rise_to).map(|i| (x(i), values[i])));
        let around = edge.saturating_sub(6)..(edge + 6).min(values.len());
        self.near.extend(around.map(|i| (x(i), values[i])));
        self.fall_lengths.push((bottom - top) as f64);
        true
    }

    fn turning(&self, period: f64, cycles: usize) -> Option<Turning> {
        let before = Parabola::fit(&self.before)?;
        let after = Parabola::fit(&self.after)?;
        let (peak_x, valley_x, u_x) = self.corners(&before, &after)?;
        let rise = before.at(peak_x) - after.at(valley_x);
        let told = |e: &exponential::Exponential| e.step > 0.0 && e.u_asymptote < TOLD * rise;
        let towards = exponential::fit(&thinned(&self.after)).filter(told);
        let fall_samples = valley_x - peak_x;
        let height = before.at(peak_x) - after.at(valley_x);
        let noisy = before.scatter.max(after.scatter) > MOST_SCATTER * height;
        if !(0.0..MOST_OF_PERIOD * period).contains(&fall_samples) || noisy {
            return None;
        }
        let u_of = |fit: &Parabola, x: f64, n: usize| {
            (3.0 * fit.scatter / (n as f64).sqrt()).hypot(fit.slope(x) * u_x)
        };
        Some(Turning {
            peak: before.at(peak_x),
            u_peak: u_of(&before, peak_x, self.before.len()),
            valley: after.at(valley_x),
            u_valley: u_of(&after, valley_x, self.after.len()),
            rise_samples: period - fall_samples,
            fall_samples,
            u_samples: u_x,
            asymptote: towards.map(|e| (e.asymptote, e.u_asymptote)),
            cycles,
        })
    }

    /// Mean number of samples from the highest to the lowest of a cycle.
    fn mean_length(&self) -> f64 {
        self.fall_lengths.iter().sum::<f64>() / self.fall_lengths.len() as f64
    }

    /// Where the rise meets the fall, and the fall the next rise, with the standard uncertainty of
    /// either. A fall that takes fewer than three samples is known only to lie between two of them.
    fn corners(&self, before: &Parabola, after: &Parabola) -> Option<(f64, f64, f64)> {
        let length = self.mean_length();
        if length < SHORT_FALL {
            return self.fast_corners(before, after);
        }
        if length > LONG_FALL {
            return self.bent_corners(before, after, length);
        }
        let fall = Line::fit(self.fall.iter().copied())?;
        if fall.slope >= 0.0 {
            return None;
        }
        let meet = |rise: &Parabola, from: f64| {
            let mut x = from;
            for _ in 0..40 {
                x -= (rise.at(x) - fall.at(x)) / (rise.slope(x) - fall.slope);
            }
            x.is_finite().then_some(x)
        };
        let u_x = (3.0 * fall.scatter / (fall.count as f64).sqrt() / fall.slope.abs()).max(0.02);
        Some((
            meet(before, -0.5 * length)?,
            meet(after, 0.5 * length)?,
            u_x,
        ))
    }
}

/// Longest fall, as a share of the period: a sine falls for half of it.
const MOST_OF_PERIOD: f64 = 0.43;
/// Largest scatter about the rise, as a share of the height, with which corners can be told.
const MOST_SCATTER: f64 = 0.06;
/// Falls below this number of samples are steps, above the other their bend shows.
const SHORT_FALL: f64 = 3.5;
const LONG_FALL: f64 = 10.0;
/// Largest standard uncertainty of the level that the rise heads for, as a share of the height.
const TOLD: f64 = 0.5;
/// Most points that an exponential is fitted to.
const MOST_POINTS: usize = 4000;

fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let stride = points.len().div_ceil(MOST_POINTS).max(1);
    points.iter().copied().step_by(stride).collect()
}

fn index_of(values: &[f64], better: fn(f64, f64) -> bool) -> usize {
    let mut best = 0;
    for (index, value) in values.iter().enumerate() {
        if better(*value, values[best]) {
            best = index;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use crate::data::{Channel, TimeAxis};
    use crate::signal::of_channel;

    /// Exponential sawtooth of RT 13 kΩ, CT 1 nF, 5 V, 2.7/1.0 V: rise 7.194 µs, fall 0.211 µs
    /// (closed form, checked against a time-stepping run elsewhere in the tests).
    fn sawtooth(t_s: f64) -> f64 {
        let (rise, fall, tau) = (7.194_0e-6, 0.211_0e-6, 13e-6);
        let phase = t_s.rem_euclid(rise + fall);
        if phase < rise {
            5.0 - 4.0 * (-phase / tau).exp()
        } else {
            2.7 - 1.7 * (phase - rise) / fall
        }
    }

    #[test]
    fn corners_come_out_between_the_samples() {
        let step = 25e-9;
        let count = 8000;
        let time = Arc::new(TimeAxis::Uniform {
            start_s: 0.0,
            step_s: step,
            count,
        });
        let values = (0..count)
            .map(|i| {
                let wiggle = ((i as f64 * 12.9898).sin() * 43_758.545_3).fract() * 0.02;
                sawtooth(i as f64 * step) + wiggle
            })
            .collect();
        let facts = of_channel(&Channel::of_volts("1", time, values));
        let turning = facts.pulses.unwrap().turning.unwrap();
        assert!((turning.peak - 2.7).abs() < 0.02, "{turning:?}");
        assert!((turning.valley - 1.0).abs() < 0.02, "{turning:?}");
        assert!(
            (turning.rise_samples * step - 7.194e-6).abs() < 0.03e-6,
            "{turning:?}"
        );
        assert!(
            (turning.fall_samples * step - 0.211e-6).abs() < 0.03e-6,
            "{turning:?}"
        );
    }
}
