//! Values and times against those of a truth.

use firstpulse::data::{Channel, TimeAxis};
use serde_json::Value;

use super::same;

/// Part of the last printed digit that a value may be off.
const DIGIT_SHARE: f64 = 0.1;
/// Part of the last printed digit that a time may be off: half of it, and a little for the sum.
const TIME_DIGIT_SHARE: f64 = 0.51;
/// Share of a value that rounding alone may change.
const ROUNDING: f64 = 1e-9;

/// Every sample of a channel: its value, or that it is missing.
pub fn compare_values(channel: &Channel, truth: &Value) -> Result<(), String> {
    let values = truth["values"].as_array().ok_or("no values in truth")?;
    same("values", channel.samples.len(), values.len())?;
    let digit = truth["digit"].as_f64().unwrap_or(0.0) * DIGIT_SHARE;
    let relative = truth["relative"].as_f64().unwrap_or(ROUNDING);
    let found = channel.valid_slice(0..values.len());
    for (index, (found, value)) in found.iter().zip(values).enumerate() {
        let near = match value.as_f64() {
            Some(value) => (found - value).abs() <= digit + relative * value.abs(),
            None => found.is_nan() && channel.missing.contains(index),
        };
        if !near {
            return Err(format!("sample {index}: {found:?}, expected {value}"));
        }
    }
    Ok(())
}

/// The time of every sample.
pub fn compare_times(time: &TimeAxis, truth: &Value) -> Result<(), String> {
    let number = |key: &str| truth[key].as_f64().ok_or(format!("no {key} in truth"));
    let (start, step) = (number("start_s")?, number("interval_s")?);
    let digit = truth["time_digit"].as_f64();
    same("uniform", time.is_uniform(), truth["uniform"] == true)?;
    let within = digit.map_or(1e-6 * step, |digit| TIME_DIGIT_SHARE * digit);
    let printed = truth["times"].as_array();
    for index in 0..time.len() {
        let wanted = match printed {
            Some(times) => times.get(index).and_then(Value::as_f64),
            None => Some(start + index as f64 * step),
        };
        let wanted = wanted.ok_or_else(|| format!("no time {index} in truth"))?;
        let found = time.at(index);
        let sum = 8.0 * f64::EPSILON * wanted.abs();
        let near = (found - wanted).abs() <= within + sum; // false for NaN
        if !near {
            return Err(format!("time {index}: {found:e} s, expected {wanted:e} s"));
        }
    }
    compare_step(time, step, digit.unwrap_or(0.0))
}

/// Two lines through the same rounding intervals can differ by two digits over the record.
fn compare_step(time: &TimeAxis, wanted: f64, digit: f64) -> Result<(), String> {
    let spans = time.len().saturating_sub(1).max(1) as f64;
    let found = time.interval_s();
    if (found - wanted).abs() <= 1e-6 * wanted + 2.1 * digit / spans {
        return Ok(());
    }
    Err(format!("interval {found:e} s, expected {wanted:e} s"))
}
