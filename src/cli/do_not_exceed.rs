//! What a bench supply on VCC must not exceed, with every figure behind it.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::profile::number;
use crate::data::Unit;
use crate::inspect::{Profile, ceiling_figures, ceilings};
use crate::report::json;
use crate::report::text::Page;

/// Figures listed at most, the lowest first.
const MOST: usize = 6;

/// The ceiling and what it rests on.
pub(super) fn text(page: &mut Page, profiles: &[&Profile], parts: &BTreeMap<String, f64>) {
    let limit = ceilings(profiles).with_zener(parts);
    page.heading("DO NOT EXCEED");
    let volts = number(limit.volts, Unit::Volt);
    let amps = number(limit.amps, Unit::Ampere);
    page.hanging("", 2, &format!("{volts} at VCC: {}", limit.volts_source));
    page.hanging("", 2, &format!("{amps}: {}", limit.amps_source));
    let all = ceiling_figures(profiles);
    let others = all.iter().filter(|(volts, _)| *volts > limit.volts);
    for (volts, source) in others.take(MOST) {
        let volts = number(*volts, Unit::Volt);
        page.hanging("", 6, &format!("{volts}: {source}"));
    }
}

/// The same as an object.
pub(super) fn object(profiles: &[&Profile], parts: &BTreeMap<String, f64>) -> Value {
    let limit = ceilings(profiles).with_zener(parts);
    let figures: Vec<Value> = ceiling_figures(profiles)
        .into_iter()
        .map(|(volts, source)| json!({"voltage": json::number(volts), "source": source}))
        .collect();
    json!({
        "voltage": json::number(limit.volts),
        "voltage_source": limit.volts_source,
        "current": json::number(limit.amps),
        "current_source": limit.amps_source,
        "figures": figures,
    })
}
