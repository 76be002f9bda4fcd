//! The start-up budget as an object.

use serde_json::{Map, Value, json};

use super::timing::timing;
use super::{SCHEMA, number, optional};
use crate::data::budget::{Budget, BudgetInput, PartLoad, Sensitivity, StartCurve};
use crate::data::{Bounded, PartCheck};

/// The nominal value, or `null`.
pub(super) fn typ(value: Option<Bounded>) -> Value {
    optional(value.map(|v| v.typ))
}

/// `[low, high]`, or `null`; a bound without end is `null` in its place.
pub(super) fn bounds(value: Option<Bounded>) -> Value {
    value.map_or(Value::Null, |v| json!([number(v.low), number(v.high)]))
}

/// The whole budget.
pub fn startup_budget(budget: &Budget) -> Value {
    let all: [(&str, Option<Bounded>); 11] = [
        ("bulk_voltage", budget.bulk_v),
        ("bulk_trough", budget.bulk_trough_v),
        ("charging_current", budget.charging_a),
        ("spare_current", budget.spare_a),
        ("final_voltage", budget.final_v),
        ("time_to_start", budget.time_to_start_s),
        ("run_current", budget.run_a),
        ("vref_step", budget.vref_step_v),
        ("hold_up", budget.hold_up_s),
        ("smallest_vcc_capacitor", budget.smallest_vcc_capacitor_f),
        ("largest_start_resistor", budget.largest_start_resistor_ohm),
    ];
    let mut object = Map::new();
    let mut worst = Map::new();
    for (name, value) in all {
        object.insert(name.to_owned(), typ(value));
        worst.insert(name.to_owned(), bounds(value));
    }
    worst.insert("because".to_owned(), json!(budget.worst_because));
    let mut why_not = Map::new();
    for (what, why) in &budget.why_not {
        why_not.insert((*what).to_owned(), Value::from(why.as_str()));
    }
    let list = |values: Vec<Value>| Value::Array(values);
    for (name, value) in [
        ("schema", Value::from(SCHEMA)),
        ("starts", Value::from(budget.starts.id())),
        ("never_because", json!(budget.never_because)),
        ("falls_back_because", json!(budget.falls_back_because)),
        ("vref_share", optional(budget.vref_share)),
        ("inputs", list(budget.inputs.iter().map(input).collect())),
        ("dissipation", list(budget.loads.iter().map(load).collect())),
        (
            "sensitivity",
            list(budget.sensitivity.iter().map(sensitivity).collect()),
        ),
        (
            "checked",
            list(budget.checked.iter().map(checked).collect()),
        ),
        ("curve", budget.curve.as_ref().map_or(Value::Null, curve)),
        ("timing", timing(&budget.timing, budget.from_ramp.as_ref())),
        ("worst_case", Value::Object(worst)),
        ("why_not", Value::Object(why_not)),
        ("remarks", json!(budget.remarks)),
        ("exit", Value::from(budget.exit_code())),
    ] {
        object.insert(name.to_owned(), value);
    }
    Value::Object(object)
}

fn input(input: &BudgetInput) -> Value {
    json!({
        "name": input.name,
        "unit": input.unit.symbol(),
        "value": number(input.value.typ),
        "low": number(input.value.low),
        "high": number(input.value.high),
        "origin": input.origin.id(),
        "from": input.from,
    })
}

fn load(load: &PartLoad) -> Value {
    json!({
        "part": load.part,
        "resistance": number(load.ohm.typ),
        "power": number(load.watts.typ),
        "power_worst": number(load.watts.high),
        "voltage": number(load.volts.typ),
        "voltage_worst": number(load.volts.high),
        "overstressed": load.overstressed,
        "word": load.word,
    })
}

fn sensitivity(row: &Sensitivity) -> Value {
    json!({
        "part": row.part,
        "unit": row.unit.symbol(),
        "stops": if row.above { "above" } else { "below" },
        "now": optional(row.now),
        "limit": number(row.limit),
        "worst_limit": number(row.worst_limit),
    })
}

fn checked((name, check): &(String, PartCheck)) -> Value {
    json!({
        "part": name,
        "marked": number(check.marked),
        "reading": number(check.reading),
        "deviation": number(check.deviation),
        "low": number(check.limits.0),
        "high": number(check.limits.1),
        "meter": number(check.meter),
        "p_in": number(check.p_in),
        "verdict": check.verdict.id(),
        "because": check.because,
        "settle": check.settle,
        "remarks": check.remarks,
    })
}

fn curve(curve: &StartCurve) -> Value {
    let points: Vec<Value> = curve
        .points
        .iter()
        .map(|p| {
            json!([
                number(p.t_s),
                optional(p.typ_v),
                number(p.low_v),
                number(p.high_v)
            ])
        })
        .collect();
    json!({"points": points, "start": bounds(curve.start_v), "stop": bounds(curve.stop_v)})
}
