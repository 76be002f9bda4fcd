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

/// Sentences for the user, and by how much each reading is off beyond what it may, in volts.
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
        let scatter = meter.offset / 3.0_f64.sqrt() + point.u_v + point.half_code_v;
        let left = piece.left_v.abs();
        if left > 3.0 * scatter {
            doubts.push(format!(
                "The reading {:.3} V lies {left:.3} V off the line through all readings. Read it again, or the range was changed between them.",
                piece.read_v
            ));
        }
        beyond.push((off - allowed).max(left - 3.0 * scatter).max(0.0));
    }
    if points.len() > 1 && fit.corrected != Corrected::GainAndOffset {
        doubts.push(
            "The readings lie too near each other to tell gain from offset: only their level is corrected. Add a reading at another level."
                .to_owned(),
        );
    }
    (doubts, beyond)
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
