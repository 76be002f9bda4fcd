//! A curve drawn with characters.

use crate::data::budget::StartCurve;
use crate::data::text::engineering;
use crate::data::{Bounded, Unit};

/// Columns of the drawing itself.
const WIDE: usize = 62;
/// Its lines.
const HIGH: usize = 13;

/// The expected VCC: `*` nominal, `.` between the slowest and the fastest, `=` within the limits of the
/// start threshold, `-` of the stop. Empty for a curve without points.
pub(super) fn sketch(curve: &StartCurve) -> Vec<String> {
    let Some(last) = curve.points.last() else {
        return Vec::new();
    };
    let top = curve
        .points
        .iter()
        .flat_map(|p| [p.high_v, p.typ_v.unwrap_or(0.0)])
        .chain(curve.start_v.map(|v| v.high))
        .fold(1.0, f64::max);
    let mut lines = Vec::new();
    for line in 0..HIGH {
        let volts = |at: f64| top * (1.0 - at / HIGH as f64);
        let (high, low) = (volts(line as f64), volts(line as f64 + 1.0));
        let label = match line % 4 {
            0 => engineering(high, Unit::Volt, 3),
            _ => String::new(),
        };
        let cells: String = (0..WIDE)
            .map(|column| cell(curve, column, low, high))
            .collect();
        lines.push(format!("  {label:>8} |{}", cells.trim_end()));
    }
    lines.push(format!("  {:>8} +{}", "0 V", "-".repeat(WIDE)));
    let end = engineering(last.t_s, Unit::Second, 3);
    lines.push(format!("  {:>8}  0{end:>width$}", "", width = WIDE - 1));
    lines
}

fn cell(curve: &StartCurve, column: usize, low: f64, high: f64) -> char {
    let last = curve.points.len() - 1;
    let here = &curve.points[column * last / (WIDE - 1)];
    let within = |v: f64| low < v && v <= high;
    if here
        .typ_v
        .is_some_and(|v| within(v) || (v <= 0.0 && low <= 0.0))
    {
        return '*';
    }
    let crosses = |band: Option<Bounded>| band.is_some_and(|b| b.low <= high && low < b.high);
    if crosses(curve.start_v) {
        return '=';
    }
    if here.low_v <= high && low < here.high_v {
        return '.';
    }
    if crosses(curve.stop_v) { '-' } else { ' ' }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::budget::CurvePoint;

    /// A straight line from 0 to 10 V, the start at 10 V.
    #[test]
    fn a_straight_rise_climbs_from_corner_to_corner() {
        let point = |k: usize| {
            let volts = k as f64 / 10.0;
            CurvePoint {
                t_s: k as f64 * 0.01,
                typ_v: Some(volts),
                low_v: volts,
                high_v: volts,
            }
        };
        let curve = StartCurve {
            points: (0..=100).map(point).collect(),
            start_v: Some(Bounded::exact(10.0)),
            stop_v: None,
        };
        let lines = sketch(&curve);
        assert_eq!(lines.len(), HIGH + 2);
        let stars: Vec<usize> = lines[..HIGH].iter().filter_map(|l| l.find('*')).collect();
        assert_eq!(stars.len(), HIGH, "{lines:#?}");
        assert!(stars.windows(2).all(|w| w[0] > w[1]), "{stars:?}");
        assert!(lines[HIGH + 1].ends_with("1.00 s"), "{lines:#?}");
        let empty = StartCurve {
            points: Vec::new(),
            ..curve
        };
        assert!(sketch(&empty).is_empty());
    }
}
