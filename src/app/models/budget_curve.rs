//! The expected VCC over time, as finished shapes.

use super::ticks::{Tick, ticks};
use crate::data::budget::StartCurve;
use crate::data::text::engineering;
use crate::data::{Bounded, Unit};

/// The drawing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CurveModel {
    /// End of the time axis, which begins at 0, in seconds.
    pub end_s: f64,
    /// Upper end of the voltage axis, which begins at 0, in volts.
    pub top_v: f64,
    /// Nominal VCC up to the start, time and volts.
    pub typ: Vec<(f64, f64)>,
    /// Time, least and most.
    pub band: Vec<(f64, f64, f64)>,
    /// Start threshold.
    pub start_v: Option<Bounded>,
    /// Stop threshold.
    pub stop_v: Option<Bounded>,
    /// Places on the time axis.
    pub times: Vec<Tick>,
    /// Places on the voltage axis.
    pub volts: Vec<Tick>,
    /// What it shows, in a sentence.
    pub spoken: String,
}

/// The drawing of a curve; `None` for one without length or height.
pub fn curve(curve: &StartCurve) -> Option<CurveModel> {
    let end_s = curve.points.last()?.t_s;
    let highest = curve.points.iter().map(|p| p.high_v);
    let limits = [curve.start_v, curve.stop_v].into_iter().flatten();
    let all = highest.chain(limits.map(|v| v.high));
    let top_v = 1.08 * all.filter(|v| v.is_finite()).fold(0.0, f64::max);
    if !(end_s > 0.0 && top_v > 0.0) {
        return None;
    }
    let points = curve.points.iter();
    let typ: Vec<(f64, f64)> = points
        .clone()
        .filter_map(|p| Some((p.t_s, p.typ_v?)))
        .collect();
    let volts = |v: f64| engineering(v, Unit::Volt, 3);
    let (reached_s, reached_v) = typ.last().copied().unwrap_or((0.0, 0.0));
    Some(CurveModel {
        end_s,
        top_v,
        band: points.map(|p| (p.t_s, p.low_v, p.high_v)).collect(),
        start_v: curve.start_v,
        stop_v: curve.stop_v,
        times: ticks(0.0, end_s, 6, Unit::Second),
        volts: ticks(0.0, top_v, 5, Unit::Volt),
        spoken: format!(
            "Expected VCC over time: from 0 V to {} after {} with nominal values; shaded: every combination of tolerances",
            volts(reached_v),
            engineering(reached_s, Unit::Second, 3)
        ),
        typ,
    })
}
