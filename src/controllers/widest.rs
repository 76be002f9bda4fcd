//! One expectation from several candidates.
//!
//! Where a marking leaves maker or grade open, the widest limits apply: the lowest minimum and the
//! highest maximum that any candidate publishes. A candidate that publishes none is named in the
//! condition; it can't narrow what the others promise, and it can't remove it.

use super::Profile;
use crate::data::text::engineering;
use crate::data::{Limit, Status, Unit};

/// The expectation for a key over all candidates; see [`super::Library::expected`].
pub(super) fn expected(candidates: &[&Profile], key: &str) -> Option<Limit> {
    match key {
        "osc_to_out_divide" => divide(candidates),
        "vcc_hysteresis" => join(candidates, hysteresis),
        _ => published(candidates, key),
    }
}

/// The widest of what the candidates publish under this key.
pub(super) fn published(candidates: &[&Profile], key: &str) -> Option<Limit> {
    join(candidates, |profile| profile.values.get(key).cloned())
}

/// OUT cycles are whole oscillator cycles divided by 1 or 2; 2 % is left for counting edges in a
/// record of finite length. `None` where the candidates
/// disagree, and where a pin of the part sets it. No table prints the ratio: it is
/// known as well as the duty cycle that goes with it.
fn divide(candidates: &[&Profile]) -> Option<Limit> {
    let ratio = candidates.first()?.divide?;
    if candidates.iter().any(|p| p.divide != Some(ratio)) {
        return None;
    }
    let duty = |profile: &Profile| {
        let keys = ["duty_max", "duty_class", "vcc_start"];
        let known = keys.iter().find_map(|key| profile.values.get(*key));
        known.map_or(Status::Derived, |limit| limit.status)
    };
    let best = candidates.iter().map(|p| duty(p)).min();
    let status = best.unwrap_or(Status::Derived);
    let exact = f64::from(ratio);
    Some(Limit {
        min: Some(exact * 0.98),
        typ: Some(exact),
        max: Some(exact * 1.02),
        unit: Unit::Quotient,
        condition: "counting tolerance ±2 %".to_owned(),
        source: "divide ratio of the part".to_owned(),
        status,
        status_limits: status,
    })
}

/// Start minus stop of one part. The limits are the furthest apart and the closest that its own
/// start and stop limits allow; documents publish none.
fn hysteresis(profile: &Profile) -> Option<Limit> {
    let start = profile.values.get("vcc_start")?;
    let stop = profile.values.get("vcc_stop")?;
    let minus = |a: Option<f64>, b: Option<f64>| Some(a? - b?);
    let told = profile.values.get("vcc_hysteresis");
    let told = told.filter(|limit| limit.status < Status::Derived);
    let derived = |a: Status, b: Status| a.max(b).max(Status::Derived);
    let (min, max) = (minus(start.min, stop.max), minus(start.max, stop.min));
    let bounded = min.is_some() || max.is_some();
    let way = "typical start minus typical stop";
    let limits = "; limits from those of start and stop";
    let source = |limit: &Limit| limit.source.clone();
    Some(Limit {
        min: min.filter(|min| *min > 0.0),
        typ: told.map_or_else(|| minus(start.typ, stop.typ), |limit| limit.typ),
        max,
        unit: Unit::Volt,
        condition: format!("{way}{}", if bounded { limits } else { "" }),
        source: joined([source(start), source(stop)]),
        status: told.map_or_else(|| derived(start.status, stop.status), |limit| limit.status),
        status_limits: derived(start.status_limits, stop.status_limits),
    })
}

/// Joins one limit a candidate into the widest.
pub(super) fn join(
    candidates: &[&Profile],
    limit_of: impl Fn(&Profile) -> Option<Limit>,
) -> Option<Limit> {
    let all: Vec<(&str, Option<Limit>)> = candidates
        .iter()
        .map(|profile| (profile.title.as_str(), limit_of(profile)))
        .collect();
    let known: Vec<&Limit> = all.iter().filter_map(|(_, limit)| limit.as_ref()).collect();
    let unit = known.first()?.unit;
    let (min, from_min) = extreme(&known, |limit| limit.min, |a, b| a < b);
    let (max, from_max) = extreme(&known, |limit| limit.max, |a, b| a > b);
    let typical = Typical::of(&known);
    let mut used: Vec<&Limit> = [from_min, from_max].into_iter().flatten().collect();
    let status_limits = used.iter().map(|limit| limit.status_limits).max();
    if used.is_empty() {
        used.clone_from(&known);
    }
    let silent: Vec<&str> = all
        .iter()
        .filter(|(_, limit)| !limit.as_ref().is_some_and(Limit::has_limits))
        .map(|(title, _)| *title)
        .collect();
    let condition = Condition {
        published: joined(used.iter().map(|limit| limit.condition.clone())),
        spread: typical.spread(unit),
        silent: if status_limits.is_some() {
            silent
        } else {
            Vec::new()
        },
    };
    Some(Limit {
        min,
        typ: typical.agreed,
        max,
        unit,
        condition: condition.shown(),
        source: joined(used.iter().map(|limit| limit.source.clone())),
        status: typical.status,
        status_limits: status_limits.unwrap_or(typical.status),
    })
}

/// The outermost value of one side and the limit that sets it; of equals, the best known.
fn extreme<'a>(
    known: &[&'a Limit],
    side: fn(&Limit) -> Option<f64>,
    further: fn(f64, f64) -> bool,
) -> (Option<f64>, Option<&'a Limit>) {
    let mut best: Option<(f64, &Limit)> = None;
    for limit in known {
        let Some(value) = side(limit) else { continue };
        let replaces = best.is_none_or(|(so_far, from)| {
            let tied = equal(value, so_far);
            (tied && limit.status_limits < from.status_limits) || (!tied && further(value, so_far))
        });
        if replaces {
            best = Some((value, limit));
        }
    }
    (best.map(|(value, _)| value), best.map(|(_, from)| from))
}

fn equal(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// Typical values of the candidates.
struct Typical {
    agreed: Option<f64>,
    lowest: f64,
    highest: f64,
    status: Status,
}

impl Typical {
    fn of(known: &[&Limit]) -> Typical {
        let values = || known.iter().filter_map(|limit| limit.typ);
        let lowest = values().fold(f64::INFINITY, f64::min);
        let highest = values().fold(f64::NEG_INFINITY, f64::max);
        let agree = lowest.is_finite() && equal(lowest, highest);
        let statuses = || known.iter().filter(|l| l.typ.is_some()).map(|l| l.status);
        // agreeing candidates confirm each other; disagreeing ones weaken each other
        let status = if agree {
            statuses().min()
        } else {
            statuses().max()
        };
        let fallback = || known.iter().map(|limit| limit.status).max();
        Typical {
            agreed: agree.then_some(lowest),
            lowest,
            highest,
            status: status.or_else(fallback).unwrap_or(Status::MemoryLow),
        }
    }

    fn spread(&self, unit: Unit) -> String {
        if self.agreed.is_some() || !self.lowest.is_finite() {
            return String::new();
        }
        let shown = |value| engineering(value, unit, 3);
        format!(
            "typical values from {} to {}",
            shown(self.lowest),
            shown(self.highest)
        )
    }
}

/// What is said beside a joined limit.
struct Condition<'a> {
    published: String,
    spread: String,
    silent: Vec<&'a str>,
}

impl Condition<'_> {
    fn shown(self) -> String {
        let silent = if self.silent.is_empty() {
            String::new()
        } else {
            format!("no limits published for {}", self.silent.join(", "))
        };
        joined([self.published, self.spread, silent])
    }
}

/// Different, non-empty texts behind each other.
fn joined(texts: impl IntoIterator<Item = String>) -> String {
    let mut kept: Vec<String> = Vec::new();
    for text in texts {
        if !text.is_empty() && !kept.contains(&text) {
            kept.push(text);
        }
    }
    kept.join("; ")
}
