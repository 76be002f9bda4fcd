//! The timing model of a profile, checked.

use std::collections::BTreeMap;

use super::super::oscillator::{TimingKind, TimingModel};
use super::super::raw::{RawSource, RawTiming};
use crate::data::Status;

/// Checks a timing model; else says what is wrong with it.
pub(super) fn timing_of(
    raw: &RawTiming,
    sources: &BTreeMap<String, RawSource>,
) -> Result<TimingModel, String> {
    let kind = kind_of(raw)?;
    let source = sources
        .get(&raw.source)
        .ok_or_else(|| format!("source '{}' is not in the list of sources", raw.source))?;
    let status = Status::from_id(&raw.status)
        .ok_or_else(|| format!("'{}' is no known status", raw.status))?;
    Ok(TimingModel {
        kind,
        condition: raw.condition.clone(),
        source: source.cite.clone(),
        status,
    })
}

fn kind_of(raw: &RawTiming) -> Result<TimingKind, String> {
    let given: Vec<(&str, f64)> = [
        ("constant", raw.constant),
        ("fall_ohm", raw.fall_ohm),
        ("khz_kohm", raw.khz_kohm),
        ("rise", raw.rise),
        ("sink_ma", raw.sink_ma),
        ("vref_less_valley_v", raw.vref_less_valley_v),
        ("vref_less_peak_v", raw.vref_less_peak_v),
    ]
    .into_iter()
    .filter_map(|(name, value)| Some((name, value?)))
    .collect();
    let kind = raw.kind.as_str();
    let takes: &[&str] = match kind {
        "constant-sink" | "fixed" => &[],
        "over-rc" => &["constant", "fall_ohm"],
        "over-r" => &["khz_kohm"],
        "ramp-equation" => &["rise", "sink_ma", "vref_less_valley_v", "vref_less_peak_v"],
        _ => return Err(format!("'{kind}' is no known kind of timing")),
    };
    if let Some((name, _)) = given.iter().find(|(name, _)| !takes.contains(name)) {
        return Err(format!("kind '{kind}' takes no {name}"));
    }
    if let Some((name, _)) = given.iter().find(|(_, v)| !(v.is_finite() && *v > 0.0)) {
        return Err(format!("{name} has to be above 0"));
    }
    let needs =
        |name: &str, value: Option<f64>| value.ok_or_else(|| format!("kind '{kind}' needs {name}"));
    Ok(match kind {
        "fixed" => TimingKind::Fixed,
        "over-rc" => TimingKind::OverRc {
            constant: needs("constant", raw.constant)?,
            fall_ohm: raw.fall_ohm,
        },
        "over-r" => TimingKind::OverR {
            hz_ohm: needs("khz_kohm", raw.khz_kohm)? * 1e6,
        },
        "ramp-equation" => TimingKind::RampEquation {
            rise: needs("rise", raw.rise)?,
            sink_a: needs("sink_ma", raw.sink_ma)? / 1e3,
            vref_less_valley_v: needs("vref_less_valley_v", raw.vref_less_valley_v)?,
            vref_less_peak_v: needs("vref_less_peak_v", raw.vref_less_peak_v)?,
        },
        _ => TimingKind::ConstantSink,
    })
}
