//! Round numbers along an axis.

use super::text::engineering;
use super::units::Unit;

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

#[cfg(test)]
mod tests {
    use super::*;

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
