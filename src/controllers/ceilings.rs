//! What a bench supply on VCC must not exceed.

use super::Profile;
use crate::data::{DoNotExceed, Unit, text::engineering};

/// Ceiling while the family is not known (common practice), in volts.
const UNKNOWN_V: f64 = 20.0;
/// Ceiling for parts that start near 16 V (common practice), in volts.
const HIGH_START_V: f64 = 18.0;
/// Ceiling for parts that start near 8.4 V (common practice), in volts.
const LOW_START_V: f64 = 12.0;
/// A typical start threshold above this belongs to the 16 V parts, in volts.
const BETWEEN_V: f64 = 12.0;
/// Current limit for the first sweep (common practice), in amperes.
const FIRST_SWEEP_A: f64 = 0.05;

/// The lowest ceiling over all candidates: published absolute maximum, lowest clamp voltage, and
/// the common-practice ceiling for their start threshold.
///
/// Without candidates 20 V and 50 mA. A candidate that publishes no ceiling keeps the common-practice
/// one; one without a start threshold counts as unknown.
pub fn ceilings(candidates: &[&Profile]) -> DoNotExceed {
    let mut lowest = (
        UNKNOWN_V,
        "common practice while the controller is not known".to_owned(),
    );
    let mut first = true;
    for (volts, source) in candidates.iter().flat_map(|profile| of_one(profile)) {
        if first || volts < lowest.0 {
            lowest = (volts.min(UNKNOWN_V), source);
            first = false;
        }
    }
    let (volts, volts_source) = lowest;
    DoNotExceed {
        volts,
        volts_source,
        amps: FIRST_SWEEP_A,
        amps_source: "common practice for a first sweep".to_owned(),
    }
}

/// The ceilings of one candidate with their sources, the common-practice one first.
fn of_one(profile: &Profile) -> Vec<(f64, String)> {
    let title = &profile.title;
    let value = |key: &str| profile.values.get(key);
    let start = value("vcc_start").and_then(|limit| limit.typ.or(limit.max));
    let usual = match start {
        Some(start) if start > BETWEEN_V => (HIGH_START_V, start_text(start, title)),
        Some(start) => (LOW_START_V, start_text(start, title)),
        None => (
            UNKNOWN_V,
            format!("common practice; no start threshold known for {title}"),
        ),
    };
    let maximum = value("vcc_abs_max").and_then(|limit| {
        let source = format!("absolute maximum of {title}, {}", limit.source);
        Some((limit.max?, source))
    });
    let clamp = value("vcc_zener").and_then(|limit| {
        let source = format!("lowest clamp voltage of {title}, {}", limit.source);
        Some((limit.min?, source))
    });
    [Some(usual), maximum, clamp]
        .into_iter()
        .flatten()
        .collect()
}

fn start_text(start: f64, title: &str) -> String {
    let start = engineering(start, Unit::Volt, 3);
    format!("common practice for parts that start at {start}, {title}")
}
