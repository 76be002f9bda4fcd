//! A sweep over VCC: the path of another pin, its upward and downward parts, and the thresholds to mark on
//! the VCC axis.

use super::Column;
use crate::data::text::engineering;
use crate::data::{EventKind, InspectedCapture, Inspection, Quantity, Role, Unit};

/// Stretches that a sweep is cut into.
pub const STRETCHES: usize = 1500;
/// Fewer for the height of a ramp: each has to hold enough samples to meet its peaks and valleys.
pub const HEIGHT_STRETCHES: usize = 300;
/// Pins that the loop can show.
pub const UPWARD: [Role; 4] = [Role::Vref, Role::RtCt, Role::Out, Role::Gate];
/// A mean is marked beside what the comparator sees from this share of the VCC axis on: nearer, both
/// would be one line.
pub const APART: f64 = 0.004;

/// What the other pin did in one short stretch of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopPoint {
    /// Middle of VCC in the stretch.
    pub vcc: f64,
    /// Smallest value of the other pin; the height of a ramp stands in both.
    pub low: f64,
    /// Largest value of the other pin.
    pub high: f64,
}

/// The channels of VCC and of the other pin, where the capture has both.
pub fn pair(inspected: &InspectedCapture, role: Role) -> Option<(usize, usize)> {
    Some((
        inspected.channel_of(Role::Vcc)?,
        inspected.channel_of(role)?,
    ))
}

/// The path of a sweep from the stretches of both channels, corrected and in order of time; with `height`
/// what goes up is the height of a ramp. Stretches without a sample in both are left out.
pub fn points(vcc: &[Column], other: &[Column], height: bool) -> Vec<LoopPoint> {
    let mut other = other.iter().peekable();
    let mut points = Vec::with_capacity(vcc.len());
    for across in vcc {
        // the two channels may have axes of their own: match stretches by their beginning
        while other
            .peek()
            .is_some_and(|up| up.from_s < across.from_s - 1e-12)
        {
            other.next();
        }
        let Some(up) = other.peek().filter(|up| up.from_s <= across.to_s) else {
            continue;
        };
        let point = LoopPoint {
            vcc: 0.5 * (across.min + across.max),
            low: up.min,
            high: up.max,
        };
        if point.vcc.is_finite() && point.low.is_finite() && point.high.is_finite() {
            points.push(point);
        }
    }
    if height { heights(&points) } else { points }
}

/// The height in each stretch. The middle one of three neighbours: a stretch in which the ramp begins or
/// ends holds its resting level too, which is none of its height.
fn heights(points: &[LoopPoint]) -> Vec<LoopPoint> {
    let height = |index: usize| points.get(index).map(|p| p.high - p.low);
    let middle = |index: usize, own: f64| {
        let before = index.checked_sub(1).and_then(height).unwrap_or(own);
        let after = height(index + 1).unwrap_or(own);
        own.clamp(before.min(after), before.max(after))
    };
    let numbered = points.iter().enumerate();
    numbered
        .map(|(index, point)| {
            let height = middle(index, point.high - point.low);
            LoopPoint {
                low: height,
                high: height,
                ..*point
            }
        })
        .collect()
}

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
        let (word, shot) = (kind.id(), format!("shot {}", shot + 1));
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
