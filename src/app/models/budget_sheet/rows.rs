//! The results of the budget and of the oscillator, row by row.

use super::{ResultModel, in_window, number, range, reason};
use crate::data::budget::Budget;
use crate::data::text::engineering;
use crate::data::{Bounded, Timing, Unit};

/// Name in JSON, title, value, unit, what it rests on.
type Row = (
    &'static str,
    &'static str,
    Option<Bounded>,
    Unit,
    &'static str,
);

fn before_start(b: &Budget) -> [Row; 7] {
    let ohm = b.largest_start_resistor_ohm;
    [
        (
            "bulk_voltage",
            "bulk voltage",
            b.bulk_v,
            Unit::Volt,
            "its reading, else the input",
        ),
        (
            "bulk_trough",
            "bulk, trough under load",
            b.bulk_trough_v,
            Unit::Volt,
            "input, bulk capacitor, power taken",
        ),
        (
            "charging_current",
            "start resistor passes",
            b.charging_a,
            Unit::Ampere,
            "bulk, start resistor, VCC at 0 V",
        ),
        (
            "spare_current",
            "left at the threshold",
            b.spare_a,
            Unit::Ampere,
            "bulk, start resistor, standby current, start threshold",
        ),
        (
            "final_voltage",
            "VCC would end at",
            b.final_v,
            Unit::Volt,
            "bulk, start resistor, standby current, leakage, zener",
        ),
        (
            "time_to_start",
            "time to the start",
            b.time_to_start_s,
            Unit::Second,
            "the same, VCC capacitor, start threshold",
        ),
        (
            "largest_start_resistor",
            "largest start resistor",
            ohm,
            Unit::Ohm,
            "bulk, standby current, start threshold",
        ),
    ]
}

fn after_start(b: &Budget) -> [Row; 4] {
    let farad = b.smallest_vcc_capacitor_f;
    [
        (
            "run_current",
            "running current",
            b.run_a,
            Unit::Ampere,
            "its reading, else published",
        ),
        (
            "vref_step",
            "VREF capacitor takes",
            b.vref_step_v,
            Unit::Volt,
            "VREF and VCC capacitor, VREF",
        ),
        (
            "hold_up",
            "VCC capacitor holds for",
            b.hold_up_s,
            Unit::Second,
            "VCC capacitor, start and stop threshold, running current",
        ),
        (
            "smallest_vcc_capacitor",
            "smallest VCC capacitor",
            farad,
            Unit::Farad,
            "time to own supply, running current, thresholds",
        ),
    ]
}

/// What the start-up parts allow, each with what it rests on or why it can't be had.
pub(super) fn results(budget: &Budget) -> Vec<ResultModel> {
    let rows = before_start(budget).into_iter().chain(after_start(budget));
    let one = |(name, title, value, unit, rests): Row| {
        let why = reason(budget, name);
        let mut row = match value {
            Some(value) => row(title, value, unit, rests),
            None => ResultModel {
                title,
                value: "–".to_owned(),
                range: String::new(),
                because: why.clone(),
            },
        };
        if value.is_some() && !why.is_empty() {
            row.because = why;
        }
        if let (true, Some(share)) = (name == "vref_step", budget.vref_share) {
            let share = engineering(share, Unit::One, 2);
            row.because = format!("{share} of the hysteresis; from {}", rests);
        }
        row
    };
    rows.map(one).collect()
}

fn row(title: &'static str, value: Bounded, unit: Unit, rests: &str) -> ResultModel {
    ResultModel {
        title,
        value: number(value.typ, unit),
        range: range(value, unit),
        because: match rests {
            "" => String::new(),
            rests => format!("from {rests}"),
        },
    }
}

/// The oscillator, as far as it can be had.
pub(super) fn timing(timing: &Timing) -> Vec<ResultModel> {
    let all: [(&'static str, Option<Bounded>, Unit, &str); 6] = [
        (
            "frequency",
            timing.frequency_hz,
            Unit::Hertz,
            "RT, CT and the relation below",
        ),
        (
            "frequency at OUT",
            timing.out_frequency_hz,
            Unit::Hertz,
            "the same, oscillator cycles in an OUT cycle",
        ),
        (
            "largest duty cycle",
            timing.max_duty,
            Unit::One,
            "charge and dead time",
        ),
        ("charge", timing.rise_s, Unit::Second, "RT, CT"),
        (
            "dead time",
            timing.fall_s,
            Unit::Second,
            "CT and the discharge",
        ),
        (
            "discharge current",
            timing.discharge_a,
            Unit::Ampere,
            "the profile of the controller, or the usual one",
        ),
    ];
    let there = all.into_iter();
    let mut rows: Vec<ResultModel> = there
        .filter_map(|(title, value, unit, rests)| Some(row(title, value?, unit, rests)))
        .collect();
    if let (Some(hz), Some(error)) = (timing.short_hz, timing.short_error) {
        rows.push(ResultModel {
            title: "by the short formula",
            value: number(hz, Unit::Hertz),
            range: String::new(),
            because: in_window(&format!(
                "1.72/(RT·CT), {:+.1} % off the exact relation",
                100.0 * error
            )),
        });
    }
    rows
}
