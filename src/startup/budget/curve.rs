//! The expected VCC as points.

use super::node::{Corner, KNEE_V, Node, drawing_nothing};
use crate::data::Bounded;
use crate::data::budget::{CurvePoint, StartCurve};
use crate::startup::charge::Charge;

/// Points of a curve.
const POINTS: usize = 121;

/// VCC from the moment the bulk is up, until half as long again as the slowest start takes, at most four
/// times the nominal one; where it never starts, until it has come to rest. `None` where times
/// can't be had.
pub(super) fn curve(
    node: &Node,
    start_v: Option<Bounded>,
    stop_v: Option<Bounded>,
    zener_v: f64,
) -> Option<StartCurve> {
    if !node.vcc_f.typ.is_finite() {
        return None;
    }
    let time = start_v.map(|v| node.time_s(v));
    let end_s = match time.filter(|t| t.typ.is_finite()) {
        Some(time) => (1.5 * time.high).min(4.0 * time.typ).max(1.5 * time.typ),
        None => 5.0 * node.at(Corner::Typ).time_constant_s(),
    };
    let starts_s = time.map_or(f64::INFINITY, |t| t.typ);
    let cap = start_v.map_or(f64::INFINITY, |v| v.high);
    let point = |index: usize| {
        let t_s = end_s * index as f64 / (POINTS - 1) as f64;
        let at = |corner| vcc(&node.at(corner), t_s).min(zener_v);
        let fastest = fastest_v(&node.at(Corner::Fast), t_s).min(zener_v);
        CurvePoint {
            t_s,
            typ_v: Some(at(Corner::Typ)).filter(|_| t_s <= starts_s),
            low_v: at(Corner::Slow).min(cap),
            high_v: fastest.min(cap),
        }
    };
    end_s.is_finite().then(|| StartCurve {
        points: (0..POINTS).map(point).collect(),
        start_v,
        stop_v,
    })
}

/// The same with no standby current drawn up to the knee.
fn fastest_v(charge: &Charge, t_s: f64) -> f64 {
    let free = drawing_nothing(charge);
    let knee_s = free.time_s(0.0, KNEE_V).unwrap_or(f64::INFINITY);
    if t_s <= knee_s {
        return vcc(&free, t_s);
    }
    let since = (t_s - knee_s) / charge.time_constant_s();
    let end = charge.final_v();
    (end + (KNEE_V - end) * (-since).exp()).max(0.0)
}

/// VCC a time after the bulk came up, from 0 V; not below 0.
fn vcc(charge: &Charge, t_s: f64) -> f64 {
    (charge.final_v() * -(-t_s / charge.time_constant_s()).exp_m1()).max(0.0)
}
