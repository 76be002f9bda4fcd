//! How bad each part may be before the unit stops starting, one at a time.

use super::hold::Running;
use super::node::{Corner, Node, threshold};
use crate::data::budget::{Feed, Sensitivity};
use crate::data::{Bounded, Unit};
use crate::startup::charge::Charge;

/// One limit at the nominal and at the worst corner of the others.
struct Row {
    part: &'static str,
    title: &'static str,
    unit: Unit,
    above: bool,
    now: Option<f64>,
}

impl Row {
    fn with(self, limit: impl Fn(Corner) -> f64) -> Sensitivity {
        Sensitivity {
            part: self.part,
            title: self.title,
            unit: self.unit,
            above: self.above,
            now: self.now.filter(|v| v.is_finite()),
            limit: limit(Corner::Typ),
            worst_limit: limit(Corner::Slow),
        }
    }
}

/// Limits of the charge: start resistor, standby current, leakage, input.
pub(super) fn charge(node: &Node, start_v: Bounded, feed: Option<&Feed>) -> Vec<Sensitivity> {
    let at = |corner| (node.at(corner), threshold(start_v, corner));
    let spare = |charge: &Charge, v: f64| charge.start_current_a(v) - charge.current_a;
    let mut all = vec![
        Row {
            part: "start-resistor",
            title: "start resistor",
            unit: Unit::Ohm,
            above: true,
            now: Some(node.start_ohm.typ),
        }
        .with(|corner| {
            let (charge, v) = at(corner);
            charge.largest_start_resistor_ohm(v).max(0.0)
        }),
        Row {
            part: "standby-current",
            title: "standby current",
            unit: Unit::Ampere,
            above: true,
            now: Some(node.standby_a.typ),
        }
        .with(|corner| {
            let (charge, v) = at(corner);
            (charge.start_current_a(v) - v / charge.leakage_ohm).max(0.0)
        }),
        Row {
            part: "leakage",
            title: "leakage from VCC to ground",
            unit: Unit::Ohm,
            above: false,
            now: Some(node.leakage_ohm.typ),
        }
        .with(|corner| {
            let (charge, v) = at(corner);
            match spare(&charge, v) {
                left if left > 0.0 => v / left,
                _ => f64::INFINITY,
            }
        }),
        Row {
            part: "bulk",
            title: "bulk voltage",
            unit: Unit::Volt,
            above: false,
            now: Some(node.bulk_v.typ),
        }
        .with(|corner| least_bulk(at(corner))),
    ];
    if let Some(feed) = feed.filter(|f| f.ac) {
        all.push(
            Row {
                part: "input",
                title: "mains, r.m.s.",
                unit: Unit::Volt,
                above: false,
                now: Some(feed.volts.typ),
            }
            .with(|corner| {
                let drop = 2.0 * super::bulk::DIODE_V;
                let flat = match corner {
                    Corner::Slow => 1.0 - super::bulk::FLATTENED,
                    _ => 1.0,
                };
                (least_bulk(at(corner)) + drop) / (std::f64::consts::SQRT_2 * flat)
            }),
        );
    }
    all
}

fn least_bulk((charge, v): (Charge, f64)) -> f64 {
    v + charge.start_resistance_ohm * (charge.current_a + v / charge.leakage_ohm)
}

/// The limit of the VCC capacitor and of the take-over.
pub(super) fn capacitor(running: &Running, take_over_s: Bounded) -> Vec<Sensitivity> {
    let smallest = running.smallest_f(take_over_s);
    let hold = running.hold_up_s();
    vec![
        Sensitivity {
            part: "vcc-capacitor",
            title: "VCC capacitor",
            unit: Unit::Farad,
            above: false,
            now: Some(running.node.vcc_f.typ).filter(|v| v.is_finite()),
            limit: smallest.typ,
            worst_limit: smallest.high,
        },
        Sensitivity {
            part: "take-over-time",
            title: "time until the own supply carries VCC",
            unit: Unit::Second,
            above: true,
            now: Some(take_over_s.typ),
            limit: hold.typ,
            worst_limit: hold.low,
        },
    ]
}
