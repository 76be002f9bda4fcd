//! The correction that meter readings give, and what it leaves of every error.
//!
//! A scope shows `x = v + g × v + o` of a true level `v`, with `g` and `o` within its accuracy. A flat
//! piece shown as `x₁` that a meter reads as `d₁` gives `g × d₁ + o = x₁ − d₁`. Best by least squares is
//! to take `K(v) = (v × d₁ × u²(g) + u²(o)) / (d₁² × u²(g) + u²(o))` of that difference off at a level
//! `v`: all of it at `d₁`, in proportion to the level where only the gain may be off, the same anywhere
//! where only the offset may. What is left of `g` at `v` is `v − K(v) × d₁` times it, of `o` it is
//! `1 − K(v)`, and the errors of the reading act `K(v)` times. With readings at several levels a
//! straight line through them replaces both errors: the weight of reading `i` at a level is that of a
//! least-squares line.

use crate::data::options::Accuracy;
use crate::data::{ChannelError, Corrected, InspectedChannel, Shape, TieSource};

use super::Point;

/// The correction `true = gain × shown + offset`, and how an error of each point acts on a level:
/// `constant + per_volt × level`.
pub(super) struct Fit {
    pub corrected: Corrected,
    pub gain: f64,
    pub offset_v: f64,
    pub weights: Vec<(f64, f64)>,
    /// Mean of the readings, in volts.
    pub read_v: f64,
}

/// The correction of a channel by its points; `None` where they give none (a channel that falls when the
/// voltage rises).
pub(super) fn fit(points: &[Point], known: &InspectedChannel, meter: Accuracy) -> Option<Fit> {
    let n = points.len() as f64;
    let shown = points.iter().map(|p| p.piece.shown_v).sum::<f64>() / n;
    let read = points.iter().map(|p| p.piece.read_v).sum::<f64>() / n;
    let spread: f64 = points
        .iter()
        .map(|p| (p.piece.shown_v - shown).powi(2))
        .sum();
    let single = points
        .iter()
        .map(|p| p.u_v.hypot(p.half_code_v))
        .fold(0.0, f64::max)
        .hypot(meter.offset / 3.0_f64.sqrt());
    // readings too near each other say less of the gain than the scope's accuracy does
    let apart = points.len() > 1 && single / spread.sqrt() < known.accuracy.gain / 3.0_f64.sqrt();
    if apart {
        let cross: f64 = points
            .iter()
            .map(|p| (p.piece.shown_v - shown) * (p.piece.read_v - read))
            .sum();
        let gain = cross / spread;
        let weight = |p: &Point| {
            let lever = (p.piece.shown_v - shown) / spread;
            (1.0 / n - lever * read / gain, lever / gain)
        };
        return (gain > 0.0).then(|| Fit {
            corrected: Corrected::GainAndOffset,
            gain,
            offset_v: read - gain * shown,
            weights: points.iter().map(weight).collect(),
            read_v: read,
        });
    }
    let (u_gain, u_offset) = (
        known.accuracy.gain,
        known.accuracy.offset * known.gain.abs(),
    );
    let whole = (read * u_gain).powi(2) + u_offset * u_offset;
    if whole <= 0.0 {
        // a scope that is said to be exact: the reading can only be another offset
        return Some(one_level(n, shown - read, read, (1.0, 0.0)));
    }
    let share = (u_offset * u_offset / whole, read * u_gain * u_gain / whole);
    Some(one_level(n, shown - read, read, share))
}

/// A correction by `(constant + per_volt × level) × difference`.
fn one_level(n: f64, difference: f64, read: f64, (constant, per_volt): (f64, f64)) -> Fit {
    let gain = 1.0 / (1.0 + per_volt * difference);
    Fit {
        corrected: Corrected::OneLevel,
        gain,
        offset_v: -constant * difference * gain,
        weights: vec![(constant / n, per_volt / n); n as usize],
        read_v: read,
    }
}

/// What the readings and the pieces leave: the meter's gain as one error of all of them, its counts as one of all
/// and one of each, the mean of the piece for each.
pub(super) fn errors_of(
    fit: &Fit,
    points: &[Point],
    (meter, assumed): (Accuracy, bool),
    range: u64,
) -> Vec<ChannelError> {
    let (gain, counts) = if assumed {
        ("meter (assumed)", "meter counts (assumed)")
    } else {
        ("meter", "meter counts")
    };
    // the meter's share acts on the level that the line through the readings gives there
    let level = points
        .iter()
        .zip(&fit.weights)
        .fold((0.0, 0.0), |sum, (p, w)| {
            (sum.0 + w.0 * p.piece.read_v, sum.1 + w.1 * p.piece.read_v)
        });
    let mut errors = vec![ChannelError::within(
        gain,
        meter.gain,
        TieSource::Meter,
        level,
    )];
    // whether counts are off in all readings alike or in each by itself no data sheet says: half of either
    let share = meter.offset * 0.5_f64.sqrt();
    let all = sum(&fit.weights);
    let zero = TieSource::MeterZero(range);
    errors.push(ChannelError::within(counts, share, zero, all));
    for (number, (point, weight)) in points.iter().zip(&fit.weights).enumerate() {
        let reading = TieSource::MeterReading(range, number);
        errors.push(ChannelError::within(counts, share, reading, *weight));
        let piece = |part| Some(TieSource::FlatPiece(range, 2 * number + part));
        let code = point.half_code_v * fit.gain;
        errors.push(ChannelError {
            source: piece(0),
            ..ChannelError::within("resolution, flat piece", code, reading, *weight)
        });
        errors.push(ChannelError {
            name: "noise, flat piece",
            u: point.u_v * fit.gain,
            shape: Shape::Normal,
            source: piece(1),
            constant: weight.0,
            per_volt: weight.1,
        });
    }
    errors.retain(|e| e.u > 0.0);
    errors
}

/// An error that all points share acts as the weights together.
fn sum(weights: &[(f64, f64)]) -> (f64, f64) {
    let add = |sum: (f64, f64), w: &(f64, f64)| (sum.0 + w.0, sum.1 + w.1);
    weights.iter().fold((0.0, 0.0), add)
}

/// What a correction at one level leaves of an error of the scope itself.
pub(super) fn left(error: &ChannelError, fit: &Fit) -> ChannelError {
    let there = error.constant + error.per_volt * fit.read_v;
    let (constant, per_volt) = sum(&fit.weights);
    ChannelError {
        constant: error.constant - constant * there,
        per_volt: error.per_volt - per_volt * there,
        ..*error
    }
}
