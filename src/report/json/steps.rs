//! Voltage steps as an object.

use serde_json::{Value, json};

use super::{number, optional};
use crate::data::{Bracket, ProbitFit, StepsFinding, VoltageStep};

/// What `steps` holds.
pub(super) fn steps(found: &StepsFinding) -> Value {
    json!({
        "readings": found.readings.iter().map(reading).collect::<Vec<_>>(),
        "start": threshold(found.start, found.start_fit),
        "stop": threshold(found.stop, found.stop_fit),
        "start_above": optional(found.start_above_v),
        "stop_at_most": optional(found.stop_at_most_v),
        "contradictions": found.contradictions,
        "remarks": found.remarks,
    })
}

fn reading(step: &VoltageStep) -> Value {
    json!({
        "volts": number(step.volts),
        "state": step.state_id(),
        "going": step.going.map(|g| g.id()),
        "current": optional(step.current_a),
        "from": step.place.in_words(),
    })
}

fn threshold(bracket: Bracket, fit: Option<ProbitFit>) -> Value {
    json!({
        "low": optional(bracket.low_v),
        "high": optional(bracket.high_v),
        "fit": fit.map(|fit| json!({
            "centre": number(fit.centre_v),
            "u": number(fit.u_v),
            "sigma": number(fit.sigma_v),
            "count": fit.count,
        })),
    })
}
