//! What the ramp says of its parts: RT × CT and the discharge current, with VREF from whichever shot
//! of the run has it.

use crate::controllers::timing::USUAL_VREF_V;
use crate::data::{Measured, Outcome, Quantity, Term, TieSource, Value};

/// Spread of VREF taken where no shot and no reading gives it: ±0.1 V (SLUS223G: 4.9 to 5.1 V).
const ASSUMED_VREF_SPREAD_V: f64 = 0.1;

/// Largest relative standard uncertainty of the fall with which a discharge current is still given.
const MOST_OF_FALL: f64 = 0.3;

/// Adds what follows from ramp and VREF together to what was measured on all captures of a run.
pub fn add(measured: &mut Vec<Measured>) {
    let made: Vec<Measured> = measured
        .iter()
        .filter(|m| m.quantity == Quantity::RampRiseDuration)
        .filter_map(|rise| Some(of_ramp(rise, measured, rise.value()?)))
        .flatten()
        .collect();
    measured.extend(made);
}

fn of_ramp(rise: &Measured, all: &[Measured], duration: &Value) -> Vec<Measured> {
    let beside = |quantity| {
        all.iter()
            .find(|m| {
                m.quantity == quantity && (m.capture, m.channel) == (rise.capture, rise.channel)
            })
            .and_then(Measured::value)
    };
    let (Some(peak), Some(valley)) = (beside(Quantity::RampPeak), beside(Quantity::RampValley))
    else {
        return Vec::new();
    };
    let vref = vref_for(peak, all);
    let mut made = Vec::new();
    let mut add = |quantity, outcome| {
        made.push(Measured {
            quantity,
            capture: rise.capture,
            channel: rise.channel,
            outcome,
            span_s: rise.span_s,
            marks: rise.marks.clone(),
            remarks: Vec::new(),
        });
    };
    let product = Value::of(
        |x| product(x[0], x[1], x[2], x[3]),
        &[duration, peak, valley, &vref],
    );
    add(
        Quantity::RtCtProduct,
        given(product, "the ramp does not rise towards VREF"),
    );
    if let Some(fall) = beside(Quantity::RampFallDuration) {
        let outcome = if fall.u > MOST_OF_FALL * fall.value {
            let why = "the fall of the ramp takes too few samples for its duration; record with a faster time base";
            Outcome::NotMeasurable(why.to_owned())
        } else {
            let inputs = [duration, peak, valley, &vref, fall];
            given(
                Value::of(discharge, &inputs),
                "the fall of the ramp gives no discharge current",
            )
        };
        add(Quantity::RampDischarge, outcome);
    }
    made
}

fn given(value: Value, why_not: &str) -> Outcome {
    if value.value.is_finite() && value.u95.is_finite() && value.value > 0.0 {
        Outcome::Value(value)
    } else {
        Outcome::NotMeasurable(why_not.to_owned())
    }
}

/// RT × CT in seconds, from the rise of an exponential towards VREF.
fn product(rise_s: f64, peak_v: f64, valley_v: f64, vref_v: f64) -> f64 {
    rise_s / ((vref_v - valley_v) / (vref_v - peak_v)).ln()
}

/// Discharge current × RT in volts: VREF minus the level towards which the fall heads.
fn discharge(x: &[f64]) -> f64 {
    let (rise_s, peak_v, valley_v, vref_v, fall_s) = (x[0], x[1], x[2], x[3], x[4]);
    let k = (fall_s / product(rise_s, peak_v, valley_v, vref_v)).exp();
    vref_v - (k * valley_v - peak_v) / (k - 1.0)
}

/// VREF of the run: measured on the same channel and range as the ramp if any was, else the one with
/// the smallest uncertainty, else 5 V with the published spread.
fn vref_for(ramp: &Value, all: &[Measured]) -> Value {
    let gain = |value: &Value| {
        let mut ties = value.terms.iter().filter_map(|t| t.tie).map(|t| t.source);
        ties.find(|s| matches!(s, TieSource::Gain(_) | TieSource::MeterReading(..)))
    };
    let own = gain(ramp);
    let found = all.iter().filter(|m| m.quantity == Quantity::VrefVoltage);
    let found = found.filter_map(Measured::value).min_by(|a, b| {
        let foreign = |v: &Value| own.is_none() || gain(v) != own;
        (foreign(a), a.u)
            .partial_cmp(&(foreign(b), b.u))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    found.cloned().unwrap_or_else(|| {
        Value::from_terms(
            USUAL_VREF_V,
            vec![Term::within("VREF (assumed)", ASSUMED_VREF_SPREAD_V)],
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RT 13 kΩ, CT 1 nF, 8.3 mA, 5 V, 2.7 and 1.0 V: rise 7.1940 µs, fall 0.2110 µs (closed form, checked
    /// elsewhere in the tests against a time-stepping run) are 13.000 µs and 107.90 V.
    #[test]
    fn the_parts_come_back_from_the_ramp() {
        assert!((product(7.194_0e-6, 2.7, 1.0, 5.0) / 13.0e-6 - 1.0).abs() < 1e-4);
        let volts = discharge(&[7.194_0e-6, 2.7, 1.0, 5.0, 0.211_0e-6]);
        assert!((volts / 107.9 - 1.0).abs() < 1e-3, "{volts}");
    }

    #[test]
    fn one_gain_error_on_ramp_and_reference_cancels() {
        let level = |volts: f64, range| {
            let gain = Term::within("gain", 0.02 * volts).tied(TieSource::Gain(range), volts);
            Value::from_terms(volts, vec![gain])
        };
        let rise = Value::from_terms(7.194e-6, Vec::new());
        let of = |range| {
            let inputs = [&rise, &level(2.7, 1), &level(1.0, 1), &level(5.0, range)];
            Value::of(|x| product(x[0], x[1], x[2], x[3]), &inputs)
        };
        assert!(of(1).u < 1e-4 * of(1).value, "{:?}", of(1));
        // published sensitivity: 2 % of gain on the ramp alone moves the product by 3.3 %
        let alone = of(2)
            .terms
            .iter()
            .find(|t| t.tie.is_some_and(|t| t.source == TieSource::Gain(1)))
            .unwrap()
            .u;
        assert!(
            (alone * 3.0_f64.sqrt() / of(2).value - 0.033).abs() < 2e-3,
            "{alone}"
        );
    }
}
