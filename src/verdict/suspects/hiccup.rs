//! It starts and falls back: who should have taken over?

use crate::data::{Quantity, Stage, StageFinding, StageState};

use super::super::stages::ticks;
use super::{View, Weighed, evidence};

/// Ticks per second up to which a VCC capacitor is about right, and above which it is suspicious
/// (common practice: 1 to 10 Hz, above 20 Hz).
const USUAL_HZ: f64 = 10.0;
const SUSPICIOUS_HZ: f64 = 20.0;

/// Capacitance, as a share of the value given, below which the capacitor explains the hiccup.
const SMALL_SHARE: f64 = 0.5;

pub(super) fn weigh(view: &View<'_>, stages: &[StageFinding]) -> Vec<Weighed> {
    let open = stages
        .iter()
        .any(|s| s.stage == Stage::OwnSupply && s.state != StageState::Working);
    let ticking = open && ticks(view).is_some();
    let Some(period) = view.value(Quantity::HiccupPeriod).filter(|_| ticking) else {
        return Vec::new();
    };
    let small = capacitor_doubt(view, period);
    let (period_for, period_against) = if small > 0.5 { (1, 0) } else { (0, 1) };
    let pace = |says: &str| evidence(view, Quantity::HiccupPeriod, says);
    let levels = || {
        evidence(
            view,
            Quantity::StopThreshold,
            "VCC falls the whole way to the stop threshold in every burst",
        )
    };
    let ratio = || {
        evidence(
            view,
            Quantity::HiccupRatio,
            "recharge and burst are in the usual proportion (5 to 20), so the running current is about right",
        )
    };
    let rest = 1.0 - small;
    vec![
        Weighed {
            cause: "aux-path-open",
            title: "auxiliary winding, its diode or its series resistor open",
            weight: 0.55 * rest,
            reasons_for: [levels(), ratio(), pace("regular, at a usual pace")].concat(),
            reasons_against: Vec::new(),
            next_check: "Mains off, bulk measured: test the auxiliary diode and its series resistor. If they are good, record the output during a burst: when it comes up to nominal, the auxiliary path is open.",
        },
        Weighed {
            cause: "aux-voltage-low",
            title: "auxiliary voltage too low to take over",
            weight: 0.15 * rest,
            reasons_for: levels(),
            reasons_against: Vec::new(),
            next_check: "Record the auxiliary winding at the anode of its diode during a burst.",
        },
        Weighed {
            cause: "overload",
            title: "output overloaded or shorted, or the power limit too low",
            weight: 0.2 * rest,
            reasons_for: levels(),
            reasons_against: Vec::new(),
            next_check: "Mains off, bulk measured: take the load off and measure the resistance of the output; then record CS during a burst.",
        },
        Weighed {
            cause: "vcc-capacitor-low",
            title: "VCC capacitor too small or dried out",
            weight: small.max(0.04),
            reasons_for: if period_for == 1 {
                pace("much faster than a good capacitor allows")
            } else {
                Vec::new()
            },
            reasons_against: if period_against == 1 {
                pace("as slow as a good capacitor makes it")
            } else {
                Vec::new()
            },
            next_check: "Mains off, bulk measured: put a known good 47 to 100 µF capacitor across the VCC capacitor; if the unit then starts, the old one is at fault.",
        },
    ]
}

/// 0: the capacitor is about right; 1: it is far too small. From the charge slope where resistor,
/// bulk and capacitor are known, else from the pace of the ticking.
fn capacitor_doubt(view: &View<'_>, period_s: f64) -> f64 {
    if let Some(share) = capacitance_share(view) {
        return if share < SMALL_SHARE { 0.9 } else { 0.05 };
    }
    let hertz = 1.0 / period_s;
    ((hertz - USUAL_HZ) / (SUSPICIOUS_HZ - USUAL_HZ)).clamp(0.0, 1.0) * 0.7 + 0.05
}

/// Measured over given capacitance: C = (I_R − I_standby) / slope, with half a milliampere of standby
/// current where none was read (SLUS223G, typical).
fn capacitance_share(view: &View<'_>) -> Option<f64> {
    let part = |name: &str| view.options.parts.get(name).copied();
    let slope = view.value(Quantity::ChargeSlope).filter(|s| *s > 0.0)?;
    let bulk = view.value(Quantity::BulkVoltage)?;
    let top = view.value(Quantity::StartThreshold)?;
    let bottom = view.value(Quantity::StopThreshold).unwrap_or(top);
    let standby = view.value(Quantity::StandbyCurrent).unwrap_or(0.5e-3);
    let current = (bulk - 0.5 * (top + bottom)) / part("start-resistor")? - standby;
    Some(current / slope / part("vcc-capacitor")?)
}
