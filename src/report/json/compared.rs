//! Sides set against each other, as an object.

use serde_json::{Map, Value, json};

use super::{number, numbered, optional, with_schema};
use crate::data::Compared;
use crate::data::{Alignment, Row, Side};

/// The object of `compare`: the first comparison, and all of them under `comparisons`.
pub fn compared(all: &[Compared]) -> Value {
    let list: Vec<Value> = all.iter().map(one).collect();
    let mut object = match list.first() {
        Some(Value::Object(first)) => first.clone(),
        _ => Map::new(),
    };
    object.insert("comparisons".to_owned(), Value::from(list));
    with_schema(object)
}

fn one(compared: &Compared) -> Value {
    let found = &compared.comparison;
    let aligned_on = found.alignments.first().map(|a| a.by.id());
    json!({
        "before": compared.before,
        "after": compared.after,
        "summary": found.summary,
        "aligned_on": aligned_on,
        "alignments": found.alignments.iter().map(alignment).collect::<Vec<_>>(),
        "not_aligned": found.not_aligned,
        "rows": found.rows.iter().map(row).collect::<Vec<_>>(),
        "stages": found.stages.iter().map(|change| json!({
            "stage": change.stage.id(), "before": change.before.id(), "after": change.after.id(),
        })).collect::<Vec<_>>(),
        "notes": found.notes,
    })
}

fn alignment(alignment: &Alignment) -> Value {
    json!({
        "capture_before": numbered(alignment.before),
        "capture_after": numbered(alignment.after),
        "by": alignment.by.id(),
        "role": alignment.role.map(|role| role.id()),
        "shift_s": number(alignment.shift_s),
        "within_s": number(alignment.within_s),
        "reason": alignment.reason,
    })
}

fn row(row: &Row) -> Value {
    let info = row.quantity.info();
    let verdict = |side: &Option<Side>| side.as_ref().map(|s| s.verdict.id());
    let value = |side: &Option<Side>| optional(side.as_ref().map(|s| s.value.value));
    let spread = |side: &Option<Side>| optional(side.as_ref().map(|s| s.value.u95));
    let capture = |side: &Option<Side>| side.as_ref().and_then(|s| s.capture).map(numbered);
    json!({
        "quantity": info.id,
        "title": info.title,
        "channel": row.role.map(|role| role.id()),
        "unit": info.unit.symbol(),
        "before": value(&row.before),
        "before_u95": spread(&row.before),
        "after": value(&row.after),
        "after_u95": spread(&row.after),
        "capture_before": capture(&row.before),
        "capture_after": capture(&row.after),
        "change": optional(row.change.as_ref().map(|c| c.value)),
        "u95": optional(row.change.as_ref().map(|c| c.u95)),
        "difference": row.difference.id(),
        "verdict_before": verdict(&row.before),
        "verdict_after": verdict(&row.after),
        "remark": row.remark,
    })
}
