//! Turning points of a sawtooth, from cycles laid over each other.

mod cloud;
mod corners;
mod curve;

use crate::data::{Channel, Pulses, Turning};

use self::cloud::Cloud;
use self::corners::Corners;
use self::curve::Shapes;
use super::{exponential, period};

/// Most cycles that are looked at, spread over the record.
const MOST_CYCLES: usize = 64;
/// Fewest samples in a cycle for its shape to be fitted.
const FEWEST_SAMPLES: f64 = 16.0;
/// Longest fall, as a share of the period: a sine falls for half of it.
const MOST_OF_PERIOD: f64 = 0.43;
/// Largest scatter about the rise, as a share of the height, with which corners can be told.
const MOST_SCATTER: f64 = 0.06;
/// Falls below this number of samples are steps.
const SHORT_FALL: f64 = 3.5;
/// Largest standard uncertainty of the level that the rise heads for, as a share of the height.
const TOLD: f64 = 0.5;
/// Most points that an exponential is fitted to.
const MOST_POINTS: usize = 4000;
/// Rounds in which points are chosen anew by how far from the corners they lie.
const ROUNDS: usize = 2;

/// Fits the shape of the cycles around their falling edges.
///
/// The rise of a capacitor that is charged through a resistor, and its discharge by a current beside
/// that resistor, have one time constant: over 1 − exp(−x/τ) both are straight. That τ comes from the
/// bend of the rise; what it leaves is fitted by parabolas, and corners are where they meet. `None` with
/// fewer than three complete cycles, fewer than 16 samples a cycle, or a shape that is no sawtooth (the
/// fall longer than the rise counts as none).
pub fn find(channel: &Channel, pulses: &Pulses) -> Option<Turning> {
    let period = mean_period(&pulses.falling)?;
    if period < FEWEST_SAMPLES {
        return None;
    }
    let cycles = complete_cycles(pulses);
    let stride = cycles.len().div_ceil(MOST_CYCLES).max(1);
    let chosen: Vec<_> = cycles.into_iter().step_by(stride).collect();
    let mut cloud = Cloud::of(channel, &chosen, None);
    if cloud.mean_length() < SHORT_FALL
        && let Some(lattice) = period::Lattice::of(&pulses.falling)
    {
        cloud = Cloud::of(channel, &chosen, Some(lattice));
    }
    if cloud.cycles < 3 {
        return None;
    }
    turning(&cloud, period, u_period(&pulses.falling))
}

/// Standard uncertainty of the mean period from the first and the last edge, with noise and jitter.
fn u_period(falls: &[f64]) -> f64 {
    period::fit(falls, true).map_or(0.0, |found| {
        let ends = 2.0_f64.sqrt() * found.deviation / (falls.len() - 1) as f64;
        found.u.max(ends)
    })
}

fn turning(cloud: &Cloud, period: f64, u_period: f64) -> Option<Turning> {
    let mut corners = Corners::of(cloud, &Shapes::rough(cloud)?)?;
    for _ in 0..ROUNDS {
        let better = Shapes::between(cloud, &corners, period);
        let Some(found) = better.and_then(|shapes| Corners::of(cloud, &shapes)) else {
            break;
        };
        corners = found;
    }
    let (peak, valley) = (corners.peak, corners.valley);
    let (height, fall_samples) = (peak.level - valley.level, valley.x - peak.x);
    let noisy = corners.noise > MOST_SCATTER * height;
    if !(0.0..MOST_OF_PERIOD * period).contains(&fall_samples) || noisy {
        return None;
    }
    Some(Turning {
        peak: peak.level,
        u_peak: peak.u_level,
        valley: valley.level,
        u_valley: valley.u_level,
        rise_samples: period - fall_samples,
        fall_samples,
        u_rise_samples: corners.u_length.hypot(u_period),
        u_fall_samples: corners.u_length,
        asymptote: asymptote(&curve::rise(cloud, &corners, period), height),
        cycles: cloud.cycles,
    })
}

/// Level that the rise heads for, and its standard uncertainty, where its bend tells it.
fn asymptote(rise: &[(f64, f64)], height: f64) -> Option<(f64, f64)> {
    let stride = rise.len().div_ceil(MOST_POINTS).max(1);
    let thinned: Vec<_> = rise.iter().copied().step_by(stride).collect();
    let found = exponential::fit(&thinned)?;
    (found.step > 0.0 && found.u_asymptote < TOLD * height)
        .then_some((found.asymptote, found.u_asymptote))
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

#[cfg(test)]
mod tests;
