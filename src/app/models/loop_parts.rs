//! Upward and downward parts of a sweep, and the thresholds to mark on the VCC axis.

use super::shot_words;
use super::vcc_loop::LoopPoint;
use crate::data::text::engineering;
use crate::data::{EventKind, Inspection, Quantity, Unit};

/// A stretch of a sweep in which VCC goes one way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LoopPart {
    /// Does VCC rise?
    pub rising: bool,
    /// Index of its first point.
    pub first: usize,
    /// Index of its last point, which is the first of the next part.
    pub last: usize,
}

/// VCC turns where it comes back by this share of all that it moves.
const TURN: f64 = 0.08;

/// The parts of a path, in order; none of fewer than two points, one where VCC does not move.
pub fn parts(points: &[LoopPoint]) -> Vec<LoopPart> {
    if points.len() < 2 {
        return Vec::new();
    }
    let ends = points.iter().map(|p| p.vcc);
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
        (a.min(v), b.max(v))
    });
    let turn = TURN * (high - low);
    let mut found = Vec::new();
    let (mut first, mut lowest, mut highest) = (0, 0, 0);
    let mut rising = None;
    for (index, point) in points.iter().enumerate() {
        if point.vcc >= points[highest].vcc {
            highest = index;
        }
        if point.vcc <= points[lowest].vcc {
            lowest = index;
        }
        let up = point.vcc - points[lowest].vcc > turn;
        let down = points[highest].vcc - point.vcc > turn;
        let turned = match rising {
            Some(true) => down.then_some(highest),
            Some(false) => up.then_some(lowest),
            None => {
                rising = if up {
                    Some(true)
                } else {
                    down.then_some(false)
                };
                None
            }
        };
        if let (Some(last), Some(way)) = (turned, rising) {
            found.push(LoopPart {
                rising: way,
                first,
                last,
            });
            first = last;
            rising = Some(!way);
            (lowest, highest) = (index, index);
        } else if rising == Some(true) {
            lowest = index;
        } else if rising == Some(false) {
            highest = index;
        }
    }
    found.push(LoopPart {
        rising: rising.unwrap_or(true),
        first,
        last: points.len() - 1,
    });
    found
}

/// A threshold of a shot on the VCC axis.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopLevel {
    /// Where, in volts.
    pub vcc: f64,
    /// Is it the mean, as a meter reads it, where the comparator sees another value?
    pub mean: bool,
    /// What it is.
    pub text: String,
}

/// The thresholds of a shot: what the comparator sees, and the mean where it lies more than `apart_v`
/// from that.
pub fn levels(inspection: &Inspection, shot: usize, apart_v: f64) -> Vec<LoopLevel> {
    let value = |quantity| {
        let judged = inspection.measured.iter().find(|judged| {
            judged.measured.quantity == quantity && judged.measured.capture == Some(shot)
        });
        judged.and_then(|judged| judged.measured.value().map(|v| v.value))
    };
    let words = |volts| engineering(volts, Unit::Volt, 4);
    let of = |(kind, seen, mean): (EventKind, Quantity, Quantity)| {
        let seen = value(seen).filter(|v| v.is_finite());
        let mean = value(mean).filter(|v| v.is_finite());
        let apart = |mean: &f64| seen.is_none_or(|seen| (mean - seen).abs() > apart_v);
        let mean = mean.filter(apart);
        let at_pin = if mean.is_some() { " at the pin" } else { "" };
        let (word, shot) = (kind.id(), shot_words(Some(shot)));
        let seen = seen.map(|vcc| LoopLevel {
            vcc,
            mean: false,
            text: format!("{word} {}{at_pin}, {shot}", words(vcc)),
        });
        let mean = mean.map(|vcc| LoopLevel {
            vcc,
            mean: true,
            text: format!("mean at {word} {}, as a meter reads, {shot}", words(vcc)),
        });
        seen.into_iter().chain(mean)
    };
    let both = [
        (
            EventKind::Start,
            Quantity::StartThreshold,
            Quantity::StartThresholdMean,
        ),
        (
            EventKind::Stop,
            Quantity::StopThreshold,
            Quantity::StopThresholdMean,
        ),
    ];
    both.into_iter().flat_map(of).collect()
}
