//! Round numbers along an axis, and a time as it is typed.

pub use crate::data::ticks::{Tick, label, ticks};

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
}
