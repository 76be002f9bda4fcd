//! Hand readings as measured values.

use crate::data::options::Accuracy;
use crate::data::{Measured, Options, Outcome, Quantity, Term, TieSource, Value};

/// Accuracy assumed of a multimeter: ±(0.5 % of the reading + 10 mV, or 10 µA for a current)
/// (common practice).
const ASSUMED_GAIN: f64 = 0.005;
/// Counts of it in volts.
const ASSUMED_COUNTS_V: f64 = 0.01;

/// Accuracy of the meter in volts as told, else as assumed; and whether it was assumed.
pub(super) fn meter_of(told: Option<Accuracy>) -> (Accuracy, bool) {
    let assumed = Accuracy {
        gain: ASSUMED_GAIN,
        offset: ASSUMED_COUNTS_V,
    };
    (told.unwrap_or(assumed), told.is_none())
}

/// The readings that stand for a quantity, each with the meter's budget. Readings that stand for
/// none are kept in the options and not listed here.
pub fn measured(options: &Options) -> Vec<Measured> {
    options
        .readings
        .iter()
        .filter_map(|(name, reading)| {
            let quantity = quantity_of(name)?;
            let value = Value::from_terms(*reading, terms(quantity, *reading, options.meter));
            Some(Measured {
                quantity,
                capture: None,
                channel: None,
                outcome: Outcome::Value(value),
                span_s: None,
                marks: Vec::new(),
                remarks: Vec::new(),
            })
        })
        .collect()
}

fn quantity_of(name: &str) -> Option<Quantity> {
    match name.replace('_', "-").as_str() {
        "standby-current" => Some(Quantity::StandbyCurrent),
        "run-current" => Some(Quantity::RunCurrent),
        "vcc" => Some(Quantity::VccReading),
        "vref" => Some(Quantity::VrefVoltage),
        "bulk" => Some(Quantity::BulkVoltage),
        "output" => Some(Quantity::OutputVoltage),
        _ => None,
    }
}

/// The terms of a reading by the meter told, else by the one assumed.
pub(super) fn terms(quantity: Quantity, reading: f64, meter: Option<Accuracy>) -> Vec<Term> {
    let current = quantity.info().unit == crate::data::Unit::Ampere;
    match meter {
        // a meter's volts say nothing of its counts in amperes: only its share of the reading carries over
        Some(meter) if current => vec![
            Term::within("meter", meter.gain * reading),
            Term::within("meter counts (assumed)", 1e-5),
        ],
        Some(meter) => vec![
            Term::within("meter", meter.gain * reading).tied(TieSource::Meter, reading),
            Term::within("meter counts", meter.offset),
        ],
        None => {
            let counts = if current { 1e-5 } else { ASSUMED_COUNTS_V };
            vec![
                Term::within("meter (assumed)", ASSUMED_GAIN * reading)
                    .tied(TieSource::Meter, reading),
                Term::within("meter counts (assumed)", counts),
            ]
        }
    }
}
