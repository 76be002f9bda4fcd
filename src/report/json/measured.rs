//! A measured value set against what is published, as an object.

use serde_json::{Value, json};

use super::{number, numbered, optional};
use crate::data::{Inspection, Judged, Limit, Mark, Measured, Outcome};

/// One entry of `measured`.
pub(super) fn judged(judged: &Judged, inspection: &Inspection) -> Value {
    let measured = &judged.measured;
    let info = measured.quantity.info();
    let value = measured.value();
    json!({
        "quantity": info.id,
        "title": info.title,
        "stage": info.stage.id(),
        "capture": measured.capture.map(numbered),
        "channel": measured.channel.map(numbered),
        "channel_name": channel_name(measured, inspection),
        "unit": info.unit.symbol(),
        "value": optional(value.map(|v| v.value)),
        "u": optional(value.map(|v| v.u)),
        "u95": optional(value.map(|v| v.u95)),
        "count": value.map_or(0, |v| v.count),
        "values": value.map_or_else(Vec::new, |v| v.singles.iter().copied().map(number).collect()),
        "budget": value.map_or_else(Vec::new, |v| v.terms.iter().map(|term| json!({
            "name": term.name, "u": number(term.u), "shape": term.shape.id(), "shared": term.tie.is_some(),
        })).collect::<Vec<_>>()),
        "from_s": optional(measured.span_s.map(|s| s.0)),
        "to_s": optional(measured.span_s.map(|s| s.1)),
        "marks": measured.marks.iter().map(mark).collect::<Vec<_>>(),
        "why_not": why_not(measured),
        "expected": judged.expected.as_ref().map(expected),
        "verdict": judged.verdict.id(),
        "p_in": optional(judged.p_in),
        "provisional": judged.provisional,
        "settle": judged.settle,
        "remarks": measured.remarks,
    })
}

fn mark(mark: &Mark) -> Value {
    match *mark {
        Mark::Level {
            level,
            from_s,
            to_s,
        } => json!({
            "what": "level", "level": number(level), "from_s": number(from_s), "to_s": number(to_s),
        }),
        Mark::Instant { at_s, level } => json!({
            "what": "instant", "at_s": number(at_s), "level": optional(level),
        }),
    }
}

fn channel_name<'a>(measured: &Measured, inspection: &'a Inspection) -> Option<&'a str> {
    let capture = &inspection.captures.get(measured.capture?)?.capture;
    Some(&capture.channels.get(measured.channel?)?.name)
}

fn why_not(measured: &Measured) -> Option<&str> {
    match &measured.outcome {
        Outcome::NotMeasurable(reason) => Some(reason),
        Outcome::Value(value) if !value.value.is_finite() => Some("the result is not a number"),
        Outcome::Value(value) if !value.u.is_finite() || !value.u95.is_finite() => {
            Some("the uncertainty is not a number")
        }
        Outcome::Value(_) => None,
    }
}

/// A published value with its limits.
pub fn expected(limit: &Limit) -> Value {
    json!({
        "min": optional(limit.min),
        "typ": optional(limit.typ),
        "max": optional(limit.max),
        "condition": limit.condition,
        "source": limit.source,
        "own": limit.is_own(),
        "status": limit.status.id(),
        "status_limits": limit.status_limits.id(),
    })
}
