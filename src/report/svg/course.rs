//! The course of a line as path data.

use crate::data::drawing::Reach;

/// What is nearer than this to the last point is not drawn, in pixels.
const NEAR: f64 = 0.25;

/// Path data of a line: at each place from the end nearer to the line so far to the other one, so that
/// everything between lowest and highest value is covered. Broken where a value is not finite.
pub(super) fn course(reaches: &[Reach], x: impl Fn(f64) -> f64, y: impl Fn(f64) -> f64) -> String {
    let mut out = String::new();
    let mut pen: Option<(f64, f64)> = None;
    for reach in reaches {
        let known = reach.at.is_finite() && reach.low.is_finite() && reach.high.is_finite();
        if !known {
            pen = None;
            continue;
        }
        let (at, low, high) = (x(reach.at), y(reach.low), y(reach.high));
        let ends = match pen {
            Some((_, last)) if (last - high).abs() < (last - low).abs() => [high, low],
            _ => [low, high],
        };
        for end in ends {
            match pen {
                None => out.push_str(&format!("M{at:.1} {end:.1}")),
                Some((px, py)) if (px - at).abs() < NEAR && (py - end).abs() < NEAR => continue,
                Some(_) => out.push_str(&format!("L{at:.1} {end:.1}")),
            }
            pen = Some((at, end));
        }
    }
    out
}
