//! What the start-up parts allow: inputs, results with bounds, and reasons for what can't be computed.

use std::collections::BTreeMap;

use super::bounded::Bounded;
use super::options::{Accuracy, Options};
use super::part_check::PartCheck;
use super::timing::{FromRamp, Timing};
use super::typed::{self, MarkedPart};
use super::units::Unit;

/// What feeds the bulk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// Alternating mains behind a bridge, else direct voltage.
    pub ac: bool,
    /// Volts, r.m.s. for mains, with the limits.
    pub volts: Bounded,
    /// Were the limits told? Else ±10 % was taken.
    pub limits_told: bool,
}

/// What is asked of the budget.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BudgetRequest {
    /// The supply's own input.
    pub feed: Option<Feed>,
    /// Parts as marked, by name.
    pub marks: BTreeMap<String, MarkedPart>,
    /// Readings by name, SI base units: those of `READINGS`, of parts, and of a ramp.
    pub readings: BTreeMap<String, f64>,
    /// The multimeter's accuracy; `None` takes the usual one.
    pub meter: Option<Accuracy>,
}

impl BudgetRequest {
    /// What was told of a run, and what feeds the unit. Parts told without a mark are taken as marked with
    /// their value.
    pub fn of(options: &Options, feed: Option<Feed>) -> BudgetRequest {
        let kind = |name: &str| typed::PARTS.iter().find(|p| p.0 == name).map(|p| p.1);
        let mut marks = BTreeMap::new();
        for (name, value) in &options.parts {
            let plain = || Some(MarkedPart::plain(kind(name)?, *value));
            if let Some(part) = options.mark(name).cloned().or_else(plain) {
                marks.insert(name.clone(), part);
            }
        }
        for (name, ..) in typed::MORE_PARTS {
            if let Some(mark) = options.marks.get(name) {
                marks.insert(name.to_owned(), mark.clone());
            }
        }
        BudgetRequest {
            feed,
            marks,
            readings: options.readings.clone(),
            meter: options.meter,
        }
    }
}

/// Where an input came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Typed as marked.
    Typed,
    /// Read by hand.
    Read,
    /// Published for the controller.
    Published,
    /// A usual figure; nobody gave it.
    Assumed,
    /// Computed from others.
    Computed,
}

impl Origin {
    /// The word used in JSON and on screen.
    pub fn id(self) -> &'static str {
        match self {
            Origin::Typed => "typed",
            Origin::Read => "read",
            Origin::Published => "published",
            Origin::Assumed => "assumed",
            Origin::Computed => "computed",
        }
    }
}

/// One input of the budget.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetInput {
    /// Its name, as typed or as in JSON.
    pub name: &'static str,
    /// In words.
    pub title: &'static str,
    /// Unit of the value.
    pub unit: Unit,
    /// Value with bounds.
    pub value: Bounded,
    /// Where it came from.
    pub origin: Origin,
    /// The same in a sentence, with the source.
    pub from: String,
}

/// What one resistor of the start path bears.
#[derive(Debug, Clone, PartialEq)]
pub struct PartLoad {
    /// `start-resistor`, `start-resistor 1 of 2`.
    pub part: String,
    /// Its resistance, in ohms.
    pub ohm: Bounded,
    /// Power in it with VCC running, in watts; the most with VCC at 0 V.
    pub watts: Bounded,
    /// Voltage across it, in volts; the most with VCC at 0 V.
    pub volts: Bounded,
    /// More than a quarter-watt part of 250 V bears?
    pub overstressed: bool,
    /// What rating it takes, in words.
    pub word: String,
}

/// How bad one part may be before the unit stops starting, all others as they are.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// Name of the part or figure.
    pub part: &'static str,
    /// In words.
    pub title: &'static str,
    /// Unit of the limits.
    pub unit: Unit,
    /// Does it stop starting above the limit, or below it?
    pub above: bool,
    /// What it is now, where it is known.
    pub now: Option<f64>,
    /// The limit with all others at their nominal values.
    pub limit: f64,
    /// The limit with all others at their worst.
    pub worst_limit: f64,
}

/// One point of the expected VCC.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Since the bulk came up, in seconds.
    pub t_s: f64,
    /// VCC with all parts at their nominal values, in volts, up to the start; `None` after it.
    pub typ_v: Option<f64>,
    /// Least that VCC may be, in volts.
    pub low_v: f64,
    /// Most that VCC may be, in volts: not above the highest start threshold.
    pub high_v: f64,
}

/// The expected VCC from the moment the bulk is up, with the limits drawn beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct StartCurve {
    /// Points, evenly spaced in time.
    pub points: Vec<CurvePoint>,
    /// Start threshold, in volts.
    pub start_v: Option<Bounded>,
    /// Stop threshold, in volts.
    pub stop_v: Option<Bounded>,
}

/// Does the unit start?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Starts {
    /// With every combination of tolerances and limits.
    Always,
    /// With nominal values, but not with every combination.
    NotAtWorst,
    /// Not even with nominal values.
    Never,
    /// An input is missing.
    CannotSay,
}

impl Starts {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Starts::Always => "always",
            Starts::NotAtWorst => "not-at-worst",
            Starts::Never => "never",
            Starts::CannotSay => "cannot-say",
        }
    }
}

/// The start-up budget. A result is `None` where an input is missing: [`Budget::why_not`] has the reason
/// under the name that the result has in JSON.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// What it was computed from, in the order of the circuit.
    pub inputs: Vec<BudgetInput>,
    /// Bulk without load, in volts.
    pub bulk_v: Option<Bounded>,
    /// Lowest bulk of a cycle under load, in volts.
    pub bulk_trough_v: Option<Bounded>,
    /// Current that the start resistor passes into an empty VCC capacitor, in amperes.
    pub charging_a: Option<Bounded>,
    /// Current left for the capacitor at the start threshold, in amperes; negative where it never gets
    /// there.
    pub spare_a: Option<Bounded>,
    /// Where VCC would end without a start, in volts.
    pub final_v: Option<Bounded>,
    /// From bulk up to the start, in seconds; the high bound is infinite where the worst never starts.
    pub time_to_start_s: Option<Bounded>,
    /// Does it start?
    pub starts: Starts,
    /// Why it never starts with nominal values.
    pub never_because: Option<String>,
    /// Why it may not start at worst.
    pub worst_because: Option<String>,
    /// Why VCC falls back to the stop after a start, with nominal values: the capacitor is empty before the
    /// own supply carries.
    pub falls_back_because: Option<String>,
    /// What each resistor of the start path bears.
    pub loads: Vec<PartLoad>,
    /// Current into VCC while running, in amperes.
    pub run_a: Option<Bounded>,
    /// What the VREF capacitor takes from VCC at a start, in volts.
    pub vref_step_v: Option<Bounded>,
    /// The same as a share of the hysteresis.
    pub vref_share: Option<f64>,
    /// How long the VCC capacitor carries the controller, in seconds.
    pub hold_up_s: Option<Bounded>,
    /// Smallest VCC capacitor that lasts until the own supply carries, in farads; infinite where no capacitor
    /// does.
    pub smallest_vcc_capacitor_f: Option<Bounded>,
    /// Largest start resistor with which VCC reaches the start, in ohms; the low bound is that of the
    /// worst case.
    pub largest_start_resistor_ohm: Option<Bounded>,
    /// How bad each part may be.
    pub sensitivity: Vec<Sensitivity>,
    /// The expected VCC.
    pub curve: Option<StartCurve>,
    /// Parts that were read, against their marks.
    pub checked: Vec<(String, PartCheck)>,
    /// The oscillator.
    pub timing: Timing,
    /// What a measured ramp gives away.
    pub from_ramp: Option<FromRamp>,
    /// Results without a value, each with the reason.
    pub why_not: Vec<(&'static str, String)>,
    /// What else to know, in sentences.
    pub remarks: Vec<String>,
}

impl Budget {
    /// Could anything be computed? Exit code 0, else 2.
    pub fn exit_code(&self) -> u8 {
        let computed = [
            self.bulk_v,
            self.final_v,
            self.hold_up_s,
            self.smallest_vcc_capacitor_f,
            self.largest_start_resistor_ohm,
            self.timing.frequency_hz,
        ];
        let any = computed.iter().any(Option::is_some)
            || !self.checked.is_empty()
            || self.from_ramp.is_some();
        if any { 0 } else { 2 }
    }
}
