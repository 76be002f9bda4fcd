//! The oscillator as an object.

use serde_json::{Map, Value, json};

use super::startup_budget::{bounds, typ};
use super::{number, optional};
use crate::data::{Bounded, FromRamp, Timing};

/// What `timing` holds.
pub(super) fn timing(timing: &Timing, from_ramp: Option<&FromRamp>) -> Value {
    let all: [(&str, Option<Bounded>); 8] = [
        ("rt", timing.rt_ohm),
        ("ct", timing.ct_farad),
        ("discharge_current", timing.discharge_a),
        ("charge_time", timing.rise_s),
        ("dead_time", timing.fall_s),
        ("oscillator_frequency", timing.frequency_hz),
        ("out_frequency", timing.out_frequency_hz),
        ("max_duty", timing.max_duty),
    ];
    let mut object = Map::new();
    let mut worst = Map::new();
    for (name, value) in all {
        object.insert(name.to_owned(), typ(value));
        worst.insert(name.to_owned(), bounds(value));
    }
    let why_not: Map<String, Value> = timing
        .why_not
        .iter()
        .map(|(what, why)| ((*what).to_owned(), Value::from(why.as_str())))
        .collect();
    for (name, value) in [
        ("rule", Value::from(timing.rule.as_str())),
        ("source", Value::from(timing.source.as_str())),
        ("status", Value::from(timing.status.id())),
        ("divide", Value::from(timing.divide)),
        ("short_formula", optional(timing.short_hz)),
        ("short_formula_error", optional(timing.short_error)),
        ("worst_case", Value::Object(worst)),
        ("from_ramp", from_ramp.map_or(Value::Null, ramp)),
        ("why_not", Value::Object(why_not)),
        ("remarks", json!(timing.remarks)),
    ] {
        object.insert(name.to_owned(), value);
    }
    Value::Object(object)
}

fn ramp(found: &FromRamp) -> Value {
    json!({
        "rt_ct": number(found.rt_ct_s),
        "discharge_drop": number(found.discharge_drop_v),
        "discharge_slope": number(found.discharge_slope_v_per_s),
        "leak": optional(found.leak_ohm),
        "moved": found.moved.map(|moved| moved.id()),
        "because": found.because,
        "fixes": found.fixes,
    })
}
