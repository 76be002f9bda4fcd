//! What a shot is expected to show: voltages of each pin and times, from limits, parts and readings.

use crate::controllers::timing::{self, TimingParts};
use crate::controllers::{Profile, usual};
use crate::data::shot_list::DIVISIONS_ACROSS;
use crate::data::{DoNotExceed, Limit, Role, Setup, ShotKind};
use crate::startup::charge::Charge;

use super::scale::at_least;
use crate::verdict::view::View;

/// Top of a sweep while the family is not known, in volts: above the highest start threshold of the
/// family (common practice for the 16 V parts).
const SWEEP_TOP_V: f64 = 18.0;
/// Share of a sweep's top at which the controller is held running: between the usual stop and
/// start thresholds of its class (common practice).
const HELD_SHARE: f64 = 0.85;
/// Rate of a sweep by hand, in volts a second (common practice).
pub(super) const SWEEP_RATE_V_S: f64 = 1.0;
/// How long VCC is held still at each of two levels, in seconds (common practice).
const HOLD_S: f64 = 2.0;
/// Shortest and longest sweep by hand, in seconds a division (common practice: 20 to 60 s).
const SWEEP_S: (f64, f64) = (2.0, 5.0);
/// Slowest usual oscillator, in hertz (common practice: 50 to 150 kHz).
const SLOW_OSCILLATOR_HZ: f64 = 50e3;
/// Cycles of OUT that a running shot holds at least.
const CYCLES: f64 = 2.5;
/// VCC of a unit that runs on its own winding, at most, in volts (common practice).
const OWN_SUPPLY_V: f64 = 20.0;
/// Bulk voltage in `low-bulk`, at most, in volts (common practice).
const LOW_BULK_V: f64 = 50.0;
/// Crest of 230 V mains with 10 % more (IEC 60038: 230 V ± 10 %), in volts.
const BULK_V: f64 = 358.0;
/// Bulk voltage that times are reckoned with where none was read: the crest of 230 V, in volts.
const USUAL_BULK_V: f64 = 325.0;
/// Current that a controller draws below its start threshold, in amperes (SLUS223G: 0.5 mA typical).
const STANDBY_A: f64 = 0.5e-3;
/// Output expected where none was read, at most, in volts (common practice).
const OUTPUT_V: f64 = 30.0;
/// What rings below zero at OUT, gate and CS, in volts (common practice).
const RINGING_V: f64 = 1.0;
/// COMP with nothing regulating, at most, in volts (SLUS223G: 6 V typical above 5 V).
const COMP_V: f64 = 6.5;
/// A start on mains without parts to reckon with, in seconds a division.
const START_S: f64 = 0.2;

/// Figures that all shots of a list share.
#[derive(Debug, Clone)]
pub(super) struct Expect {
    /// The bench supply's ceiling, a zener on the board included.
    pub ceiling: DoNotExceed,
    /// Top of a sweep, in volts; never above the ceiling.
    pub top_v: f64,
    /// VCC to hold a running controller at, in volts.
    pub held_v: f64,
    /// The lower of two levels for a meter reading, in volts.
    pub low_v: f64,
    /// Highest start threshold, in volts.
    pub start_v: f64,
    /// Oscillator frequency that RT and CT give, in hertz.
    pub oscillator_hz: Option<f64>,
    /// Timing capacitor, in farads, where it was told.
    pub ct_f: Option<f64>,
    divide: f64,
    vref_v: f64,
    ramp_v: f64,
    bulk_read_v: Option<f64>,
    output_read_v: Option<f64>,
    first_start_s: Option<f64>,
}

impl Expect {
    /// From the controller's limits where one is named, else from the family's usual levels.
    pub fn new(view: &View<'_>, candidates: &[&Profile], ceiling: DoNotExceed) -> Self {
        let controller = view.controller;
        let highest = |limit: Option<&Limit>, usual: f64| {
            limit.and_then(|l| l.max.or(l.typ)).unwrap_or(usual)
        };
        let options = view.options;
        let part = |name: &str| options.parts.get(name).copied().filter(|v| *v > 0.0);
        let read = |name: &str| options.readings.get(name).copied().filter(|v| *v > 0.0);
        let start_v = highest(
            controller.and_then(|c| c.start.as_ref()),
            usual::HIGHEST_START_V,
        );
        let top_v = ceiling.volts.min(SWEEP_TOP_V);
        let held_v = whole(HELD_SHARE * top_v);
        let (rt, ct_f) = (part("rt"), part("ct"));
        let mut expect = Self {
            top_v,
            held_v,
            low_v: whole(held_v / 2.0).min(5.0),
            start_v,
            oscillator_hz: rt
                .zip(ct_f)
                .and_then(|(rt, ct)| frequency(candidates, rt, ct)),
            ct_f,
            divide: controller.and_then(|c| c.divide).map_or(2.0, f64::from),
            vref_v: highest(controller.and_then(|c| c.vref.as_ref()), usual::VREF_V.1),
            ramp_v: highest(
                controller.and_then(|c| c.ramp_peak.as_ref()),
                timing::USUAL_PEAK_V,
            ),
            bulk_read_v: read("bulk"),
            output_read_v: read("output"),
            first_start_s: None,
            ceiling,
        };
        let parts = part("start-resistor").zip(part("vcc-capacitor"));
        expect.first_start_s = parts.and_then(|(r, c)| expect.first_start(r, c));
        expect
    }

    fn first_start(&self, start_resistance_ohm: f64, vcc_capacitance_f: f64) -> Option<f64> {
        let charge = Charge {
            bulk_v: self
                .bulk_read_v
                .filter(|v| *v > LOW_BULK_V)
                .unwrap_or(USUAL_BULK_V),
            start_resistance_ohm,
            vcc_capacitance_f,
            current_a: STANDBY_A,
            leakage_ohm: f64::INFINITY,
        };
        charge.time_s(0.0, self.start_v).ok()
    }

    /// Lowest and highest voltage of a pin, in volts.
    pub fn range_v(&self, role: Role, setup: Setup, kind: ShotKind) -> (f64, f64) {
        let mains = setup == Setup::Mains;
        let vcc = match (mains, kind) {
            (true, _) => OWN_SUPPLY_V,
            (false, ShotKind::Running) => self.held_v,
            (false, _) => self.top_v,
        };
        match role {
            Role::Vcc => (0.0, vcc),
            Role::Vref => (0.0, self.vref_v),
            // an oscillator that stands still leaves the pin at VREF
            Role::RtCt if kind == ShotKind::Running => (0.0, self.ramp_v),
            Role::RtCt => (0.0, self.vref_v),
            Role::Out | Role::Gate => (-RINGING_V, vcc),
            Role::Cs => (-RINGING_V / 2.0, usual::HIGHEST_CS_V + RINGING_V / 2.0),
            Role::Comp => (0.0, COMP_V),
            Role::Fb => (0.0, self.vref_v),
            Role::Bulk if mains => (
                0.0,
                self.bulk_read_v.map_or(BULK_V, |v| BULK_V.max(1.1 * v)),
            ),
            Role::Bulk => (0.0, LOW_BULK_V),
            Role::Output => (0.0, self.output_read_v.map_or(OUTPUT_V, |v| 1.25 * v)),
            Role::Aux | Role::Other => (-vcc, vcc),
        }
    }

    /// Was the nominal output read?
    pub fn output_known(&self) -> bool {
        self.output_read_v.is_some()
    }

    /// Seconds a division of a kind of shot.
    pub fn seconds_per_division(&self, kind: ShotKind) -> f64 {
        match kind {
            ShotKind::Sweep => {
                let sweep_s = 2.0 * self.top_v / SWEEP_RATE_V_S + 2.0 * HOLD_S;
                at_least(sweep_s / DIVISIONS_ACROSS).clamp(SWEEP_S.0, SWEEP_S.1)
            }
            ShotKind::Running => {
                let slowest_hz = self.oscillator_hz.unwrap_or(SLOW_OSCILLATOR_HZ);
                at_least(CYCLES * self.divide / slowest_hz / DIVISIONS_ACROSS)
            }
            ShotKind::Start => {
                // the first start, and as much again twice for what follows
                let reckoned = self.first_start_s.map(|s| 3.0 * s / DIVISIONS_ACROSS);
                at_least(reckoned.unwrap_or(START_S)).clamp(0.02, 5.0)
            }
        }
    }
}

fn frequency(candidates: &[&Profile], rt_ohm: f64, ct_farad: f64) -> Option<f64> {
    let published = timing::expected_frequency(candidates, rt_ohm, ct_farad).and_then(|l| l.typ);
    let usual = TimingParts {
        rt_ohm,
        ct_farad,
        vref_v: timing::USUAL_VREF_V,
        peak_v: timing::USUAL_PEAK_V,
        valley_v: timing::USUAL_VALLEY_V,
        discharge_a: timing::USUAL_DISCHARGE_A,
    };
    published
        .or_else(|| usual.frequency_hz().ok())
        .filter(|f| f.is_finite() && *f > 0.0)
}

/// Whole volts below, from 1 V on.
fn whole(volts: f64) -> f64 {
    if volts >= 1.0 { volts.floor() } else { volts }
}
