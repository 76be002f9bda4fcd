//! One controller in full, as text and as an object.

use serde_json::{Value, json};

use super::pinout::pinout;
use crate::data::text::engineering;
use crate::data::{Limit, Unit};
use crate::inspect::Profile;
use crate::report::json::optional;
use crate::report::text::{Page, trimmed};

/// A published value's row: key, least, typical, most.
const COLUMNS: [usize; 4] = [30, 13, 13, 13];

/// The whole profile.
pub(super) fn text(page: &mut Page, profile: &Profile) {
    page.paragraph(&profile.title);
    page.rule();
    page.hanging("Id", 12, &profile.id);
    page.hanging("Maker", 12, &profile.maker);
    page.hanging("Family", 12, &profile.family);
    page.hanging("Parts", 12, &profile.parts.join(", "));
    if !profile.markings.is_empty() {
        page.hanging("Also marked", 12, &profile.markings.join(", "));
    }
    if !profile.same_class.is_empty() {
        page.hanging("Same class", 12, &profile.same_class.join(", "));
    }
    page.hanging(
        "OUT",
        12,
        match profile.divide {
            2 => "one OUT cycle for two oscillator cycles",
            _ => "one OUT cycle for each oscillator cycle",
        },
    );
    let drawing = pinout(&profile.pins);
    if !drawing.is_empty() {
        page.heading("PINS, SEEN FROM ABOVE");
        for line in drawing {
            page.drawn(&format!("  {line}"));
        }
    }
    values(
        page,
        profile
            .values
            .iter()
            .map(|(key, limit)| (key.as_str(), limit)),
    );
    if !profile.notes.is_empty() {
        page.heading("NOTES");
        page.hanging("", 2, &profile.notes);
    }
}

/// A table of published values with condition, source and status.
pub(super) fn values<'a>(page: &mut Page, values: impl Iterator<Item = (&'a str, &'a Limit)>) {
    page.heading("PUBLISHED VALUES");
    let [key, least, typical, most] = COLUMNS;
    page.row(
        2,
        &[
            ("", key),
            ("least", least),
            ("typical", typical),
            ("most", most),
        ],
    );
    for (name, limit) in values {
        let shown = |value: Option<f64>| value.map_or(String::new(), |v| number(v, limit.unit));
        page.row(
            2,
            &[
                (&name.replace('_', " "), key),
                (&shown(limit.min), least),
                (&shown(limit.typ), typical),
                (&shown(limit.max), most),
            ],
        );
        let mut origin = limit.condition.clone();
        for more in [limit.source.as_str(), &status(limit)] {
            if !origin.is_empty() && !more.is_empty() {
                origin.push_str("; ");
            }
            origin.push_str(more);
        }
        page.hanging("", 6, &origin);
    }
}

/// A published number without digits of ours: `14.5 V`.
pub(super) fn number(value: f64, unit: Unit) -> String {
    trimmed(&engineering(value, unit, 4))
}

fn status(limit: &Limit) -> String {
    if limit.has_limits() && limit.status_limits != limit.status {
        format!(
            "typical {}, limits {}",
            limit.status.id(),
            limit.status_limits.id()
        )
    } else {
        limit.status.id().to_owned()
    }
}

/// The profile as an object.
pub(super) fn object(profile: &Profile) -> Value {
    let values: Vec<Value> = profile
        .values
        .iter()
        .map(|(key, limit)| {
            json!({
                "key": key,
                "min": optional(limit.min),
                "typ": optional(limit.typ),
                "max": optional(limit.max),
                "unit": limit.unit.symbol(),
                "condition": limit.condition,
                "source": limit.source,
                "status": limit.status.id(),
                "status_limits": limit.status_limits.id(),
            })
        })
        .collect();
    let pins: Vec<Value> = profile
        .pins
        .iter()
        .map(|(n, name)| json!({"pin": n, "name": name}))
        .collect();
    json!({
        "id": profile.id,
        "title": profile.title,
        "family": profile.family,
        "maker": profile.maker,
        "parts": profile.parts,
        "markings": profile.markings,
        "same_class": profile.same_class,
        "pins": pins,
        "divide": profile.divide,
        "values": values,
        "notes": profile.notes,
    })
}
