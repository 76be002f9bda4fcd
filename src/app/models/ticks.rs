//! Round numbers along an axis.

use crate::data::Unit;
use crate::data::text::engineering;

/// A labelled place on an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Where, in the axis's unit.
    pub at: f64,
    /// What stands there.
    pub text: String,
}

/// About `wanted` round places (1, 2 or 5 times a power of ten) between `low` and `high`.
/// Nothing when the range is empty or not finite.
pub fn ticks(low: f64, high: f64, wanted: usize, unit: Unit) -> Vec<Tick> {
    let range = high - low;
    if !range.is_finite() || range <= 0.0 || wanted == 0 {
        return Vec::new();
    }
    let rough = range / wanted as f64;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(10.0 * power);
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    (first..=last)
        .take(4 * wanted + 4)
        .map(|k| {
            let at = k as f64 * step;
            Tick {
                at,
                text: label(at, step, unit),
            }
        })
        .collect()
}

/// A number with just the digits that its step needs.
pub fn label(at: f64, step: f64, unit: Unit) -> String {
    if at == 0.0 {
        return format!("0 {}", unit.shown()).trim_end().to_owned();
    }
    let places = at.abs().log10().floor() - (step * 1.001).log10().floor();
    let digits = places.clamp(0.0, 14.0) as usize + 1;
    engineering(at, unit, digits)
}

/// Seconds in a text as a person types it: `1.5`, `1,5 ms`, `20us`, `−3 µs`. `None` when it is no
/// number, or ends with something else.
pub fn seconds(text: &str) -> Option<f64> {
    let text = text.trim().replace('−', "-").replace(',', ".");
    let number_end = text
        .find(|c: char| c.is_whitespace() || c.is_alphabetic() && c != 'e' && c != 'E')
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(number_end);
    let scale = match unit.trim() {
        "" | "s" => 1.0,
        "ms" => 1e-3,
        "us" | "µs" | "μs" => 1e-6,
        "ns" => 1e-9,
        _ => return None,
    };
    let value = number.parse::<f64>().ok()? * scale;
    value.is_finite().then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_are_read_as_they_are_typed() {
        let near = |text: &str, value: f64| {
            let found = seconds(text).unwrap();
            assert!((found - value).abs() < 1e-12, "{text}: {found}");
        };
        near("1.5", 1.5);
        near(" 1,5 ms ", 1.5e-3);
        near("20us", 20e-6);
        near("−3 µs", -3e-6);
        near("2e-3", 2e-3);
        assert!(seconds("fast").is_none() && seconds("3 min").is_none() && seconds("").is_none());
    }

    #[test]
    fn places_are_round_and_say_no_more_than_they_must() {
        let shown = |low, high, unit| -> Vec<String> {
            ticks(low, high, 5, unit)
                .into_iter()
                .map(|tick| tick.text)
                .collect()
        };
        assert_eq!(
            shown(-1.0, 21.0, Unit::Volt),
            ["0 V", "5 V", "10 V", "15 V", "20 V"]
        );
        assert_eq!(
            shown(0.0, 0.0021, Unit::Second),
            ["0 s", "500 µs", "1.0 ms", "1.5 ms", "2.0 ms"]
        );
        assert!(shown(1.0, 1.0, Unit::Volt).is_empty());
        assert!(shown(f64::NAN, 1.0, Unit::Volt).is_empty());
    }
}
