//! One controller as an object.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::inspect::{Gap, Library, Profile, TimingModel, pin_sheet};
use crate::report::json::optional;

/// The profile as an object, with what is known about it elsewhere in the library.
pub(in super::super) fn object(library: &Library, profile: &Profile) -> Value {
    let concerns = |ids: &[String]| ids.contains(&profile.id);
    let contradictions: Vec<Value> = library
        .disagreements()
        .iter()
        .filter(|one| concerns(&one.profiles))
        .map(|one| json!({"id": one.id, "keys": one.keys, "text": one.text}))
        .collect();
    let gaps: Vec<&str> = library
        .gaps()
        .iter()
        .filter(|gap| concerns(&gap.profiles))
        .map(|gap| gap.text.as_str())
        .collect();
    json!({
        "id": profile.id,
        "title": profile.title,
        "family": profile.family,
        "maker": profile.maker,
        "parts": profile.parts,
        "markings": profile.markings,
        "same_class": profile.same_class,
        "own": profile.own_file.is_some(),
        "package": profile.package,
        "pins": pins(profile),
        "packages": profile.packages.iter().map(|(package, pins)| json!({
            "package": package, "pins": names(pins),
        })).collect::<Vec<_>>(),
        "divide": profile.divide,
        "timing": profile.timing.as_ref().map(timing),
        "values": values(library, profile),
        "disagreements": contradictions,
        "gaps": gaps,
        "notes": profile.notes,
    })
}

/// What the profiles do not hold.
pub(in super::super) fn gap(gap: &Gap) -> Value {
    json!({"id": gap.id, "parts": gap.parts, "profiles": gap.profiles, "text": gap.text})
}

fn values(library: &Library, profile: &Profile) -> Vec<Value> {
    let value = |(key, limit): (&String, &crate::data::Limit)| {
        json!({
            "key": key,
            "min": optional(limit.min),
            "typ": optional(limit.typ),
            "max": optional(limit.max),
            "unit": limit.unit.symbol(),
            "condition": limit.condition,
            "source": limit.source,
            "own": limit.is_own(),
            "status": limit.status.id(),
            "status_limits": limit.status_limits.id(),
            "note": library.note(&profile.id, key).unwrap_or(""),
        })
    };
    profile.values.iter().map(value).collect()
}

fn pins(profile: &Profile) -> Vec<Value> {
    let pin = |pin: crate::inspect::PinSheet| {
        json!({
            "pin": pin.pin,
            "name": pin.name,
            "role": pin.role.map(|role| role.id()),
            "stopped": pin.stopped,
            "running": pin.running,
            "connect": pin.connect,
        })
    };
    pin_sheet(profile).into_iter().map(pin).collect()
}

fn names(pins: &BTreeMap<u8, String>) -> Vec<Value> {
    let pin = |(pin, name): (&u8, &String)| json!({"pin": pin, "name": name});
    pins.iter().map(pin).collect()
}

fn timing(timing: &TimingModel) -> Value {
    json!({
        "text": timing.in_words(),
        "condition": timing.condition,
        "source": timing.source,
        "status": timing.status.id(),
    })
}
