//! It starts and falls back: who should have taken over?

use crate::data::{Evidence, Quantity, Stage, StageFinding, StageState};

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
    // no power is converted behind a dead stage: that explains the hiccup
    let explained = [Stage::Reference, Stage::Oscillator, Stage::Drive]
        .iter()
        .any(|stage| {
            stages
                .iter()
                .any(|s| s.stage == *stage && s.state == StageState::Dead)
        });
    let ticking = open && !explained && ticks(view).is_some();
    let Some(period) = view.value(Quantity::HiccupPeriod).filter(|_| ticking) else {
        return Vec::new();
    };
    let small = capacitor_doubt(view, period);
    let rest = 1.0 - small;
    // an output that never comes up points away from the auxiliary path
    let down = view.value(Quantity::OutputPeak).map(|v| v < OUTPUT_DOWN_V);
    let (aux, load) = match down {
        None => (0.7, 0.3),
        Some(false) => (0.85, 0.15),
        Some(true) => (0.05, 0.95),
    };
    // a VREF that was seen to come up is no short
    let short_bursts = view
        .value(Quantity::HiccupRatio)
        .is_some_and(|r| r > SHORT_BURST_RATIO);
    if short_bursts && view.value(Quantity::VrefVoltage).is_none() {
        return vec![
            heavy_load(view, 0.8),
            aux_path(view, 0.1),
            capacitor(view, 0.1),
        ];
    }
    vec![
        aux_path(view, 0.8 * aux * rest),
        aux_voltage(view, 0.2 * aux * rest),
        overload(view, load * rest),
        capacitor(view, small),
    ]
}

/// An output that stays below this through a whole burst is held down, in volts.
const OUTPUT_DOWN_V: f64 = 1.5;

/// Recharge to burst ratio above which far more than the usual running current empties VCC in a burst
/// (common practice: 5 to 20 is usual).
const SHORT_BURST_RATIO: f64 = 30.0;

fn heavy_load(view: &View<'_>, weight: f64) -> Weighed {
    Weighed::new(
        "vref-shorted",
        "VREF or the gate shorted: the controller draws heavily as soon as it starts",
        weight,
        "Power off: measure VREF to ground and gate to source in ohms; then record VREF beside VCC, bench-fed with no more than 50 mA.",
    )
    .supported_by(evidence(
        view,
        Quantity::HiccupRatio,
        "each burst is far shorter than the usual running current makes it",
    ))
}

fn falls_back(view: &View<'_>) -> Vec<Evidence> {
    let says = "VCC falls the whole way to the stop threshold in every burst";
    evidence(view, Quantity::StopThreshold, says)
}

/// Recharge and burst in the proportion that a good capacitor, start-up path and running current make
/// (common practice: 5 to 20).
fn usual_ratio(view: &View<'_>) -> Vec<Evidence> {
    let usual = |v: &f64| (5.0..=20.0).contains(v);
    view.value(Quantity::HiccupRatio).filter(usual).map_or(Vec::new(), |_| {
        let says = "a usual proportion of recharge to burst (5 to 20), so the running current is about right";
        evidence(view, Quantity::HiccupRatio, says)
    })
}

/// Periods that spread by less than 2 %: thresholds alone make them (common practice).
fn regular(view: &View<'_>) -> Vec<Evidence> {
    let best = view
        .best(Quantity::HiccupPeriod)
        .and_then(|j| j.measured.value());
    let Some(value) = best.filter(|v| v.singles.len() > 1) else {
        return Vec::new();
    };
    let (low, high) = value
        .singles
        .iter()
        .fold((f64::MAX, f64::MIN), |a, v| (a.0.min(*v), a.1.max(*v)));
    if high - low > 0.04 * value.value {
        return Vec::new();
    }
    evidence(
        view,
        Quantity::HiccupPeriod,
        "regular, as thresholds alone make it",
    )
}

fn aux_path(view: &View<'_>, weight: f64) -> Weighed {
    let peak = view.figure(Quantity::OutputPeak);
    let test = "Mains off, bulk measured: test the auxiliary diode and its series resistor";
    let next_check = match peak {
        Some(peak) => format!(
            "{test}. Open parts there are consistent with this record if its {peak}, reached in a burst, is the nominal one."
        ),
        None => format!(
            "{test}. If they are good, record the output during a burst: when it comes up to nominal, the auxiliary path is open."
        ),
    };
    Weighed::new(
        "aux-path-open",
        "auxiliary winding, its diode or its series resistor open",
        weight,
        next_check,
    )
    .supported_by(
        [
            falls_back(view),
            usual_ratio(view),
            regular(view),
            evidence(
                view,
                Quantity::OutputPeak,
                "the output comes up in a burst, so power is converted",
            ),
        ]
        .concat(),
    )
}

fn aux_voltage(view: &View<'_>, weight: f64) -> Weighed {
    Weighed::new(
        "aux-voltage-low",
        "auxiliary voltage too low to take over",
        weight,
        "Record the auxiliary winding at the anode of its diode during a burst.",
    )
    .supported_by(falls_back(view))
}

fn overload(view: &View<'_>, weight: f64) -> Weighed {
    let (reasons_for, reasons_against) = match view.value(Quantity::OutputPeak) {
        Some(peak) if peak < OUTPUT_DOWN_V => (
            evidence(
                view,
                Quantity::OutputPeak,
                "the output is held down in every burst",
            ),
            Vec::new(),
        ),
        Some(_) => (
            falls_back(view),
            evidence(view, Quantity::OutputPeak, "the output comes up in a burst"),
        ),
        None => (falls_back(view), Vec::new()),
    };
    Weighed::new("overload", "output overloaded or shorted, or the power limit too low", weight, "Mains off, bulk measured: take the load off and measure the resistance of the output; then record CS during a burst.").supported_by(reasons_for).opposed_by(reasons_against)
}

fn capacitor(view: &View<'_>, small: f64) -> Weighed {
    let pace = |says: &str| evidence(view, Quantity::HiccupPeriod, says);
    let (reasons_for, reasons_against) = if small > 0.5 {
        (pace("much faster than a good capacitor allows"), Vec::new())
    } else {
        (Vec::new(), pace("as slow as a good capacitor makes it"))
    };
    Weighed::new("vcc-capacitor-low", "VCC capacitor too small or dried out", small.max(0.04), "Mains off, bulk measured: put a known good 47 to 100 µF capacitor across the VCC capacitor; if the unit then starts, the old one is at fault.").supported_by(reasons_for).opposed_by(reasons_against)
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
