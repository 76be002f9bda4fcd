//! The shape of a profile file, before it is checked.

use std::collections::BTreeMap;

use serde::Deserialize;
use toml::Spanned;

/// A whole file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawFile {
    pub schema: Spanned<u32>,
    pub sources: BTreeMap<String, RawSource>,
    pub group: RawGroup,
    #[serde(default)]
    pub profile: Vec<Spanned<RawProfile>>,
}

/// A document, and how it was read.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawSource {
    pub cite: String,
    pub maker: String,
    pub document: String,
    pub read: String,
}

/// What all profiles of a file share.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawGroup {
    #[serde(rename = "title")]
    pub _title: String,
    pub maker: String,
    pub family: String,
    #[serde(default)]
    pub notes: String,
    #[serde(default)]
    pub package: String,
    pub pins: Spanned<RawPins>,
    #[serde(default)]
    pub packages: Option<Spanned<BTreeMap<String, RawPins>>>,
    pub timing: Option<Spanned<RawTiming>>,
    #[serde(default)]
    pub value: Vec<Spanned<RawValue>>,
}

/// Pin number to pin name.
pub(super) type RawPins = BTreeMap<String, String>;

/// How the frequency is set.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawTiming {
    pub kind: String,
    pub constant: Option<f64>,
    pub fall_ohm: Option<f64>,
    pub khz_kohm: Option<f64>,
    pub rise: Option<f64>,
    pub sink_ma: Option<f64>,
    pub vref_less_valley_v: Option<f64>,
    pub vref_less_peak_v: Option<f64>,
    pub condition: String,
    pub source: String,
    pub status: String,
}

/// One part, or grade of a part.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawProfile {
    pub id: String,
    pub title: String,
    pub parts: Vec<String>,
    #[serde(default)]
    pub markings: Vec<String>,
    #[serde(default)]
    pub same_class: Vec<String>,
    pub divide: Option<u32>,
    pub pins: Option<Spanned<RawPins>>,
    pub timing: Option<Spanned<RawTiming>>,
    #[serde(default)]
    pub notes: String,
    #[serde(default)]
    pub value: Vec<Spanned<RawValue>>,
}

/// One published value, in the document's own unit.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawValue {
    pub key: String,
    pub min: Option<f64>,
    pub typ: Option<f64>,
    pub max: Option<f64>,
    pub unit: String,
    pub condition: String,
    pub source: String,
    pub status: String,
    pub status_limits: String,
    #[serde(default)]
    pub note: String,
}
