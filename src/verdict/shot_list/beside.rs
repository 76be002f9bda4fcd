//! What stands beside the shots: readings by hand, and what comes after this set-up.

use crate::data::{Options, Setup};

/// Readings to take by hand in these set-ups, those left out that the user entered.
pub(super) fn readings(setups: &[Setup], options: &Options) -> Vec<String> {
    let cold = [
        (
            None,
            "Unplugged and the bulk capacitor measured below 10 V; then, in ohms:",
        ),
        (
            None,
            "VCC (7) to ground, both ways: a short or a few hundred ohms is a finding.",
        ),
        (None, "Switch: drain to source and gate to source."),
        (None, "Current-sense resistor, against its printed value."),
        (None, "Auxiliary diode and output rectifier, both ways."),
        (
            None,
            "Fuse, bridge, and each part of the start-up resistor.",
        ),
    ];
    let bench = [
        (
            Some("bulk"),
            "Bulk voltage, before the bench supply is connected (bulk).",
        ),
        (
            Some("standby-current"),
            "Bench current just below the start threshold (standby-current).",
        ),
        (
            Some("run-current"),
            "Bench current while it runs (run-current).",
        ),
        (Some("vref"), "VREF while it runs, by multimeter (vref)."),
    ];
    let mains = [
        (Some("bulk"), "Bulk voltage on mains (bulk)."),
        (
            Some("output"),
            "Output voltage, its nominal value known (output).",
        ),
    ];
    let mut all: Vec<String> = Vec::new();
    for setup in setups {
        let of_setup: &[(Option<&str>, &str)] = match setup {
            Setup::Cold => &cold,
            Setup::Injected | Setup::LowBulk => &bench,
            Setup::Mains => &mains,
        };
        for (name, text) in of_setup {
            let entered = name.is_some_and(|name| options.readings.contains_key(name));
            if !entered && !all.iter().any(|known| known == text) {
                all.push((*text).to_owned());
            }
        }
    }
    all
}

/// What comes once the shots of this set-up are taken.
pub(super) fn later(setup: Setup) -> Vec<String> {
    let texts: &[&str] = match setup {
        Setup::Cold => &[
            "Nothing shorted: mains stays out, a current-limited bench supply feeds VCC, and the injected shots follow.",
        ],
        Setup::Injected => &[
            "With 30 to 50 V, current-limited, on the bulk capacitor and a dummy load: OUT + gate and CS + COMP.",
            "On mains only after the current-sense and feedback-loop checks are entered and the change-over list is done: VCC + VREF, VCC + bulk, VCC + output, CS + COMP.",
        ],
        Setup::LowBulk => &[
            "On mains only after the current-sense and feedback-loop checks are entered and the change-over list is done: VCC + VREF, VCC + bulk, VCC + output, CS + COMP.",
        ],
        Setup::Mains => &[
            "After a repair the same starts once more, at the lowest mains and full load, for the record.",
        ],
    };
    texts.iter().map(|text| (*text).to_owned()).collect()
}
