//! One published value, checked and brought to SI base units.

use std::collections::BTreeMap;

use super::super::keys::{key_of, unit_of};
use super::super::raw::{RawSource, RawValue};
use crate::data::{Limit, Status};

/// Checks one value and brings it to SI base units; else says what is wrong with it.
pub(super) fn limit_of(
    raw: &RawValue,
    sources: &BTreeMap<String, RawSource>,
) -> Result<Limit, String> {
    let key = key_of(&raw.key).ok_or_else(|| format!("'{}' is no known key", raw.key))?;
    let (unit, times, over) =
        unit_of(&raw.unit).ok_or_else(|| format!("'{}' is no known unit", raw.unit))?;
    if unit != key.unit {
        return Err(format!("'{}' is no unit for it", raw.unit));
    }
    let source = sources
        .get(&raw.source)
        .ok_or_else(|| format!("source '{}' is not in the list of sources", raw.source))?;
    let status =
        |word: &str| Status::from_id(word).ok_or_else(|| format!("'{word}' is no known status"));
    let ordered: Vec<f64> = [raw.min, raw.typ, raw.max].into_iter().flatten().collect();
    if ordered.is_empty() {
        return Err("has neither min nor typ nor max".to_owned());
    }
    if !ordered.iter().all(|number| number.is_finite()) {
        return Err("has a number that is not finite".to_owned());
    }
    if !ordered.is_sorted() {
        return Err("min, typ and max are not in order".to_owned());
    }
    let si = |number: Option<f64>| number.map(|number| number * times / over);
    Ok(Limit {
        min: si(raw.min),
        typ: si(raw.typ),
        max: si(raw.max),
        unit,
        condition: raw.condition.clone(),
        source: source.cite.clone(),
        status: status(&raw.status)?,
        status_limits: status(&raw.status_limits)?,
    })
}
