//! What speaks against a correction: readings that scope and meter can't both show.

use crate::data::options::Accuracy;
use crate::data::{ChannelError, Corrected, InspectedChannel, MeterPiece, TieSource};

use super::Point;
use super::fit::Fit;

/// By how much scope and meter may differ at a piece, in volts: all half-widths together.
pub(super) fn allowed(
    point: &Point,
    known: &InspectedChannel,
    factor: f64,
    meter: Accuracy,
) -> f64 {
    let read = point.piece.read_v.abs();
    (known.accuracy.gain + meter.gain) * read
        + known.accuracy.offset * factor.abs()
        + meter.offset
        + 3.0 * point.u_v
        + point.half_code_v
}

/// Sentences for the user, and by how much each reading that is doubted may be wrong, in volts.
pub(super) fn find(
    fit: &Fit,
    pieces: &[MeterPiece],
    points: &[Point],
    (known, factor): (&InspectedChannel, f64),
    meter: Accuracy,
) -> (Vec<String>, Vec<f64>) {
    let (mut doubts, mut beyond) = (Vec::new(), Vec::new());
    for (piece, point) in pieces.iter().zip(points) {
        let off = (piece.read_v - piece.shown_v).abs();
        let allowed = allowed(point, known, factor, meter);
        if off > allowed {
            doubts.push(format!(
                "The scope showed {:.3} V where the meter read {:.3} V: more apart than both may be off ({allowed:.3} V). Check the probe factor and that both were on the same point.",
                piece.shown_v, piece.read_v
            ));
        }
        let (left, may) = (piece.left_v.abs(), left_allowed(fit, point, known, meter));
        if left > may {
            doubts.push(format!(
                "The reading {:.3} V lies {left:.3} V off the line through all readings (up to {may:.3} V may be chance). Read it again, or the range was changed between them.",
                piece.read_v
            ));
        }
        // wrong by all of it, if the others are right
        let apart = if off > allowed { off } else { 0.0 };
        let own = if left > may {
            left / (1.0 - pull(fit, beyond.len(), piece)).max(0.1)
        } else {
            0.0
        };
        beyond.push(apart.max(own));
    }
    if fit.corrected == Corrected::GainAndOffset {
        let (off, may) = gain_off(fit, points, known, meter);
        if off > may {
            doubts.push(format!(
                "Between the readings the scope would be off by {:.1} % of the voltage, more than the {:.1} % that scope and meter may be: either the scope is off by more than was told, or one of them was not read at its piece.",
                100.0 * off,
                100.0 * may
            ));
            for (beyond, point) in beyond.iter_mut().zip(points) {
                let far = 2.0 * (point.piece.read_v - fit.read_v).abs();
                *beyond = beyond.max((off + may) * far);
            }
        }
    } else if points.len() > 1 {
        doubts.push(too_near(points));
    }
    (doubts, beyond)
}

/// How far a reading pulls the line at its own level towards itself: 1 where nothing else holds it there.
fn pull(fit: &Fit, number: usize, piece: &MeterPiece) -> f64 {
    let (constant, per_volt) = fit.weights[number];
    constant + per_volt * piece.read_v
}

/// By how much a reading may lie off the line by what is its own, in volts; where only one level is corrected, also by
/// what the gain may be off.
fn left_allowed(fit: &Fit, point: &Point, known: &InspectedChannel, meter: Accuracy) -> f64 {
    let own = meter.offset + 3.0 * point.u_v + point.half_code_v;
    let far = (point.piece.read_v - fit.read_v).abs();
    match fit.corrected {
        Corrected::GainAndOffset => own,
        Corrected::OneLevel => own + (known.accuracy.gain + meter.gain) * far,
    }
}

/// By which share the scope's gain is off by the line through all readings, and by which it may be.
fn gain_off(fit: &Fit, points: &[Point], known: &InspectedChannel, meter: Accuracy) -> (f64, f64) {
    let own = points.iter().zip(&fit.weights).map(|(point, (_, lever))| {
        lever.abs() * (meter.offset + 3.0 * point.u_v + point.half_code_v)
    });
    let may = known.accuracy.gain + meter.gain + own.sum::<f64>();
    ((1.0 / fit.gain - 1.0).abs(), may)
}

/// Readings that say less of the gain than the scope's accuracy does, and why.
fn too_near(points: &[Point]) -> String {
    let half = points.iter().map(|p| p.half_code_v).fold(0.0, f64::max);
    let alone = points.iter().map(|p| p.u_v).fold(0.0, f64::max);
    let beside = if half > alone {
        format!(", beside code steps of {:.3} V,", 2.0 * half)
    } else {
        String::new()
    };
    format!(
        "The readings lie too near each other{beside} to tell gain from offset: only their level is corrected. Add a reading at a level further away."
    )
}

/// Readings that can't be right as they stand make every level less certain by as much.
pub(super) fn errors(beyond: &[f64], fit: &Fit, range: u64) -> Vec<ChannelError> {
    let found = beyond.iter().zip(&fit.weights).enumerate();
    found
        .filter(|(_, (volts, _))| **volts > 0.0)
        .map(|(number, (volts, weight))| {
            let own = TieSource::MeterReading(range, usize::MAX - number);
            ChannelError::within("meter and scope disagree", *volts, own, *weight)
        })
        .collect()
}
