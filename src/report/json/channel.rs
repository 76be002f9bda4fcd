//! A channel as an object: what it is, how long, its first and last values, extremes and time.

use serde_json::{Value, json};

use super::{number, optional};
use crate::data::{Channel, Facts, TimeAxis};

/// A channel of a record; extremes come from its facts, so that no pass over the samples is made.
pub(super) fn channel(channel: &Channel, facts: Option<&Facts>) -> Value {
    let samples = channel.samples.len();
    let (min, max) = facts.map_or((f64::NAN, f64::NAN), |f| (f.min, f.max));
    let why_not = if samples == 0 {
        Some("the channel has no sample")
    } else if !min.is_finite() || !max.is_finite() {
        Some("no sample of the channel is a number")
    } else {
        None
    };
    json!({
        "name": channel.name,
        "unit": channel.unit.symbol(),
        "kind": channel.kind.id(),
        "samples": samples,
        "missing": channel.missing.count(),
        "clipped": channel.clipped.count(),
        "first": values(channel, 0..samples.min(3)),
        "last": values(channel, samples.saturating_sub(3)..samples),
        "min": number(min),
        "max": number(max),
        "resolution": optional(facts.and_then(|f| f.resolution)),
        "full_scale": channel.full_scale.map(|(low, high)| json!([number(low), number(high)])),
        "time": time(&channel.time),
        "why_not": why_not,
    })
}

fn values(channel: &Channel, range: std::ops::Range<usize>) -> Vec<Value> {
    let start = range.start;
    channel
        .samples
        .slice(range)
        .into_iter()
        .enumerate()
        .map(|(position, value)| {
            if channel.missing.contains(start + position) {
                Value::Null
            } else {
                number(value)
            }
        })
        .collect()
}

fn time(axis: &TimeAxis) -> Value {
    let why_not = match axis.len() {
        0 => Some("the channel has no sample"),
        _ if !axis.interval_s().is_finite() => Some("one sample has no interval"),
        _ => None,
    };
    json!({
        "start_s": number(axis.start_s()),
        "interval_s": number(axis.interval_s()),
        "end_s": number(axis.end_s()),
        "uniform": axis.is_uniform(),
        "why_not": why_not,
    })
}
