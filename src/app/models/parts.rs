//! Parts and readings that have a field somewhere in the window: each once, with its name for people and
//! an example.

/// The name that scripts use, the name shown, an example.
pub type Named = (&'static str, &'static str, &'static str);

/// Parts of the board.
pub const PARTS: [Named; 12] = [
    ("start-resistor", "Start resistor", "220k 5%"),
    ("vcc-capacitor", "VCC capacitor", "47u 20%"),
    ("vref-capacitor", "VREF capacitor", "100n"),
    ("rt", "RT", "4k7 1%"),
    ("ct", "CT", "2n2 5%"),
    ("rsense", "Sense resistor", "0R47"),
    ("zener", "Zener on VCC", "20V"),
    ("gate-charge", "Gate charge", "35nC"),
    ("leakage", "Leakage at VCC", "1M"),
    ("take-over-time", "Time to own supply", "10ms"),
    ("bulk-capacitor", "Bulk capacitor", "100u"),
    ("bulk-power", "Power taken", "60W"),
];

/// What is read by hand.
pub const READINGS: [Named; 17] = [
    ("bulk", "Bulk voltage", "325V"),
    ("standby-current", "Standby current", "0.4mA"),
    ("run-current", "Running current", "12mA"),
    ("vcc", "VCC reading", "14V"),
    ("vref", "VREF reading", "5V"),
    ("output", "Output voltage", "24V"),
    ("ramp-rise", "Ramp rises for", "18us"),
    ("ramp-fall", "Ramp falls for", "0.7us"),
    ("ramp-peak", "Ramp peak", "2V7"),
    ("ramp-valley", "Ramp valley", "1V"),
    ("ramp-asymptote", "Rise heads for", "5V"),
    ("start-resistor", "Start resistor, read", "217k8"),
    ("vcc-capacitor", "VCC capacitor, read", "44u"),
    ("vref-capacitor", "VREF capacitor, read", "96n"),
    ("rt", "RT, read", "4k68"),
    ("ct", "CT, read", "2n16"),
    ("zener", "Zener, read", "19V8"),
];

/// Those of a list that go by these names, in the order of the names.
pub fn named(list: &'static [Named], names: &[&str]) -> Vec<Named> {
    let one = |name: &&str| list.iter().find(|known| known.0 == *name).copied();
    names.iter().filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::typed::{MORE_PARTS, all_readings, marked_part, reading};

    #[test]
    fn every_name_is_one_that_can_be_told_and_every_example_can_be_typed() {
        for (name, _, example) in PARTS {
            assert!(marked_part(name, example).is_ok(), "{name} {example}");
        }
        for (name, _, example) in READINGS {
            assert!(reading(name, example).is_ok(), "{name} {example}");
            assert!(all_readings().any(|known| known.0 == name));
        }
        for (name, ..) in MORE_PARTS {
            assert!(PARTS.iter().any(|known| known.0 == name), "{name}");
        }
    }

    #[test]
    fn no_two_fields_have_the_same_name() {
        let mut labels: Vec<&str> = PARTS.iter().chain(&READINGS).map(|one| one.1).collect();
        let count = labels.len();
        labels.sort_unstable();
        labels.dedup();
        assert_eq!(labels.len(), count);
    }
}
