//! What a bench supply on VCC must not exceed.

use super::Profile;
use super::usual::HIGHEST_START_V;
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

/// What is left above the highest start of a part that starts higher than usual, in volts (common
/// practice).
const ABOVE_START_V: f64 = 1.0;

/// The lowest ceiling over all candidates: published maximum of the supply, lowest clamp voltage,
/// and the common-practice ceiling for their start threshold.
///
/// Without candidates 20 V and 50 mA. A candidate that publishes no ceiling keeps the common-practice
/// one; one without a start threshold counts as unknown. Where a candidate may start only above the
/// ceiling, the source says so.
pub fn ceilings(candidates: &[&Profile]) -> DoNotExceed {
    let all = ceiling_figures(candidates);
    let (volts, mut volts_source) = all.into_iter().next().unwrap_or_else(|| {
        (
            UNKNOWN_V,
            "common practice while the controller is not known".to_owned(),
        )
    });
    let latest = candidates
        .iter()
        .filter_map(|p| Some((highest_start(p)?, &p.title)))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(start, _)| *start > volts);
    if let Some((start, title)) = latest {
        let start = engineering(start, Unit::Volt, 3);
        volts_source.push_str(&format!(
            "; {title} may start only at {start}, which then is not reached"
        ));
    }
    DoNotExceed {
        volts,
        volts_source,
        amps: FIRST_SWEEP_A,
        amps_source: "common practice for a first sweep".to_owned(),
    }
}

/// Every figure that bounds the supply, in volts with its source, the lowest first; of equal ones
/// the published before common practice. Empty without candidates.
pub fn ceiling_figures(candidates: &[&Profile]) -> Vec<(f64, String)> {
    let mut all: Vec<(f64, String)> = candidates.iter().flat_map(|p| of_one(p)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.dedup();
    all
}

/// Highest start threshold of a part: published, else its typical one.
fn highest_start(profile: &Profile) -> Option<f64> {
    let start = profile.values.get("vcc_start")?;
    start.max.or(start.typ)
}

/// The ceilings of one candidate with their sources, published ones first.
fn of_one(profile: &Profile) -> Vec<(f64, String)> {
    let title = &profile.title;
    let value = |key: &str| profile.values.get(key);
    let most = |key: &str, what: &str| {
        let limit = value(key)?;
        Some((limit.max?, format!("{what} of {title}, {}", limit.source)))
    };
    let clamp = value("vcc_zener").and_then(|limit| {
        let what = if limit.min.is_some() {
            "lowest clamp voltage"
        } else {
            "typical clamp voltage"
        };
        let source = format!("{what} of {title}, {}", limit.source);
        Some((limit.min.or(limit.typ)?, source))
    });
    let over_voltage = value("vcc_ovp").and_then(|limit| {
        let source = format!("over-voltage stop of {title}, {}", limit.source);
        Some((limit.min.or(limit.typ)?, source))
    });
    [
        most("vcc_abs_max", "absolute maximum"),
        most("vcc_operating_max", "highest supply in operation"),
        most("vcc_recommended", "highest recommended supply"),
        clamp,
        over_voltage,
        Some(usual(profile)),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The common-practice ceiling for the start threshold of a part.
fn usual(profile: &Profile) -> (f64, String) {
    let title = &profile.title;
    let start = profile.values.get("vcc_start");
    let Some(start) = start.and_then(|limit| limit.typ.or(limit.max)) else {
        let source = format!("common practice; no start threshold known for {title}");
        return (UNKNOWN_V, source);
    };
    let volts = match start > BETWEEN_V {
        true => HIGH_START_V,
        false => LOW_START_V,
    };
    match highest_start(profile).filter(|highest| *highest > HIGHEST_START_V) {
        Some(highest) => (highest + ABOVE_START_V, start_text(start, title)),
        None => (volts, start_text(start, title)),
    }
}

fn start_text(start: f64, title: &str) -> String {
    let start = engineering(start, Unit::Volt, 3);
    format!("common practice for parts that start at {start}, {title}")
}
