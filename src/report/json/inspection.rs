//! The objects of `inspect`: one run, a unit with later runs, a batch.

use serde_json::{Map, Value, json};

use super::channel::channel;
use super::fits::fits;
use super::measured::judged;
use super::reading::{decision, note};
use super::shot_list::shot_list;
use super::steps::steps;
use super::suspect::{stage, suspect};
use super::{map_of, number, numbered, optional, with_schema};
use crate::data::{
    ControllerChoice, DoNotExceed, Event, InspectedCapture, InspectedChannel, Inspection, Joined,
    MeterPiece, SetToMeter,
};

/// All that is known of one run.
pub fn inspection(inspection: &Inspection) -> Value {
    with_schema(body(inspection))
}

/// A unit with its runs in order of time: the first decides and fills the object, the others go
/// under `later`. An empty slice gives an object with the schema only.
pub fn case(unit: &str, runs: &[(&str, &Inspection)]) -> Value {
    let mut object = runs.first().map_or_else(Map::new, |(_, run)| body(run));
    let later: Vec<Value> = runs
        .iter()
        .skip(1)
        .map(|(title, run)| titled(title, run))
        .collect();
    object.insert("unit".to_owned(), Value::from(unit));
    if let Some((title, _)) = runs.first() {
        object.insert("title".to_owned(), Value::from(*title));
    }
    object.insert("later".to_owned(), Value::from(later));
    with_schema(object)
}

fn titled(title: &str, run: &Inspection) -> Value {
    let mut object = body(run);
    object.insert("title".to_owned(), Value::from(title));
    Value::Object(object)
}

/// A folder of files, each inspected on its own: file name with its inspection or the reason why
/// there is none. `skipped` are names of files that plainly are no captures; `exit` is the code of
/// the whole batch.
pub fn batch(
    files: &[(String, Result<Inspection, String>)],
    skipped: &[String],
    exit: u8,
) -> Value {
    let done: Vec<Value> = files
        .iter()
        .filter_map(|(file, outcome)| {
            let mut object = body(outcome.as_ref().ok()?);
            object.insert("file".to_owned(), Value::from(file.as_str()));
            Some(Value::Object(object))
        })
        .collect();
    let errors: Vec<Value> = files
        .iter()
        .filter_map(|(file, outcome)| Some(json!({"file": file, "error": outcome.as_ref().err()?})))
        .collect();
    with_schema(map_of(
        json!({"files": done, "errors": errors, "skipped": skipped, "exit": exit}),
    ))
}

/// What is known of a run, without the schema.
pub(super) fn body(run: &Inspection) -> Map<String, Value> {
    let captures: Vec<Value> = run.captures.iter().map(capture).collect();
    let measured: Vec<Value> = run.measured.iter().map(|j| judged(j, run)).collect();
    let cautions: Vec<Value> = run
        .cautions
        .iter()
        .map(|c| json!({"title": c.title, "text": c.text, "banner": c.banner}))
        .collect();
    let mut object = map_of(json!({
        "setup": run.setup.value.map(|s| s.id()),
        "setup_reason": run.setup.reason,
        "controller": run.controller.as_ref().map(controller),
        "captures": captures,
        "events": run.events.iter().map(event).collect::<Vec<_>>(),
        "joined": run.joined.iter().map(joined).collect::<Vec<_>>(),
        "measured": measured,
        "steps": run.steps.as_ref().map(steps),
        "stages": run.stages.iter().map(stage).collect::<Vec<_>>(),
        "suspects": run.suspects.iter().map(suspect).collect::<Vec<_>>(),
        "lines": {"works": run.lines.works, "does_not": run.lines.fails, "next": run.lines.next},
        "not_tested": run.not_tested,
        "cautions": cautions,
        "reference_levels": [
            run.reference_levels.low,
            run.reference_levels.middle,
            run.reference_levels.high,
        ],
        "do_not_exceed": run.do_not_exceed.as_ref().map(do_not_exceed),
        "shot_list": run.shot_list.as_ref().map(shot_list),
        "notes": run.notes.iter().map(note).collect::<Vec<_>>(),
        "exit": run.exit_code(),
    }));
    object.extend(map_of(fits(run.fits.as_ref())));
    object
}

/// A threshold over all sweeps of the run.
fn joined(joined: &Joined) -> Value {
    let value = joined.value.as_ref();
    json!({
        "quantity": joined.quantity.info().id,
        "captures": joined.captures.iter().map(|c| numbered(*c)).collect::<Vec<_>>(),
        "unit": joined.quantity.info().unit.symbol(),
        "value": optional(value.map(|v| v.value)),
        "u": optional(value.map(|v| v.u)),
        "u95": optional(value.map(|v| v.u95)),
        "count": value.map_or(0, |v| v.count),
        "values": value.map_or_else(Vec::new, |v| v.singles.iter().copied().map(number).collect()),
        "why_not": (!joined.why_not.is_empty()).then_some(&joined.why_not),
    })
}

fn controller(choice: &ControllerChoice) -> Value {
    json!({
        "id": choice.id,
        "title": choice.title,
        "marking": choice.marking,
        "candidates": choice.candidates,
    })
}

fn do_not_exceed(limit: &DoNotExceed) -> Value {
    json!({
        "voltage": number(limit.volts),
        "voltage_source": limit.volts_source,
        "current": number(limit.amps),
        "current_source": limit.amps_source,
    })
}

fn event(event: &Event) -> Value {
    let why_not = match event.vcc {
        None => Some(
            event
                .why_no_vcc
                .as_ref()
                .map(|none| none.why.as_str())
                .unwrap_or("VCC was not recorded in this capture"),
        ),
        Some((vcc, u95)) if !vcc.is_finite() || !u95.is_finite() => {
            Some("VCC could not be measured here")
        }
        Some(_) => None,
    };
    json!({
        "capture": numbered(event.capture),
        "what": event.kind.id(),
        "at_s": number(event.at_s),
        "within_s": number(event.within_s),
        "witness": event.witness.id(),
        "vcc": optional(event.vcc.map(|v| v.0)),
        "u95": optional(event.vcc.map(|v| v.1)),
        "why_not": why_not,
    })
}

fn capture(inspected: &InspectedCapture) -> Value {
    let record = &inspected.capture;
    let channels: Vec<Value> = record
        .channels
        .iter()
        .zip(&inspected.channels)
        .map(|(raw, known)| {
            let mut object = map_of(channel(raw, Some(known.facts.as_ref())));
            object.extend(what_is_known(known));
            Value::Object(object)
        })
        .collect();
    json!({
        "file": record.file,
        "format": record.format,
        "kind": inspected.kind.value.map(|k| k.id()),
        "kind_reason": inspected.kind.reason,
        "setup": inspected.setup.value.map(|s| s.id()),
        "setup_reason": inspected.setup.reason,
        "channels": channels,
        "decisions": record.decisions.iter().map(decision).collect::<Vec<_>>(),
        "notes": record.notes.iter().map(note).collect::<Vec<_>>(),
    })
}

fn what_is_known(known: &InspectedChannel) -> Map<String, Value> {
    map_of(json!({
        "role": known.role.value.map(|r| r.id()),
        "role_reason": known.role.reason,
        "role_by_user": known.role.by_user,
        "role_confidence": optional(known.role.confidence),
        "bandwidth_hz": optional(known.bandwidth_hz),
        "set_to_meter": known.set_to_meter.as_ref().map(set_to_meter),
        "factor_offer": known.factor_offer.as_ref().map(|offer| json!({
            "factor": number(offer.factor), "role": offer.role.id(), "reason": offer.reason,
        })),
        "place": known.place,
        "gain": number(known.gain),
        "offset": number(known.offset),
        "accuracy": {
            "gain": number(known.accuracy.gain),
            "offset": number(known.accuracy.offset),
            "assumed": known.accuracy_assumed,
        },
    }))
}

/// What meter readings corrected in a channel.
fn set_to_meter(tied: &SetToMeter) -> Value {
    let piece = |piece: &MeterPiece| {
        json!({
            "capture": numbered(piece.capture),
            "channel": numbered(piece.channel),
            "from_s": number(piece.from_s),
            "to_s": number(piece.to_s),
            "shown": number(piece.shown_v),
            "read": number(piece.read_v),
            "left": number(piece.left_v),
        })
    };
    json!({
        "pieces": tied.pieces.iter().map(piece).collect::<Vec<_>>(),
        "corrected": tied.corrected.id(),
        "gain": number(tied.gain),
        "offset": number(tied.offset_v),
        "at": number(tied.at_v),
        "before_u95": number(tied.before_u95),
        "after_u95": number(tied.after_u95),
        "doubts": tied.doubts,
    })
}
