//! Faults as changes of part values.

use super::error::SimulateError;
use super::unit::UnitParts;

/// A cause that can be simulated.
#[derive(Debug, Clone, Copy)]
pub struct Cause {
    /// Word of the cause, as in verdicts.
    pub id: &'static str,
    /// What is changed, in a line.
    pub what: &'static str,
    change: fn(&mut UnitParts),
}

impl Cause {
    /// All causes that can be simulated.
    pub const ALL: &'static [Cause] = &CAUSES;

    /// The cause of this word.
    ///
    /// # Errors
    /// [`SimulateError::UnknownCause`], with the words that exist.
    pub fn from_id(id: &str) -> Result<Cause, SimulateError> {
        let found = Cause::ALL.iter().find(|cause| cause.id == id).copied();
        found.ok_or_else(|| {
            let known: Vec<_> = Cause::ALL.iter().map(|cause| cause.id).collect();
            SimulateError::UnknownCause(id.to_owned(), known.join(", "))
        })
    }

    /// Changes the parts of a unit.
    pub fn apply(&self, parts: &mut UnitParts) {
        (self.change)(parts);
    }
}

const CAUSES: [Cause; 13] = [
    Cause {
        id: "nothing-wrong-in-what-was-tested",
        what: "no part is changed",
        change: |_| {},
    },
    Cause {
        id: "aux-path-open",
        what: "the own winding gives nothing to VCC",
        change: |parts| parts.aux_ratio = 0.0,
    },
    Cause {
        id: "aux-voltage-low",
        what: "the own winding gives 65 % of its voltage",
        change: |parts| parts.aux_ratio *= 0.65,
    },
    Cause {
        id: "vcc-capacitor-low",
        what: "the VCC capacitor has a tenth of its capacitance",
        change: |parts| parts.vcc_capacitance_f *= 0.1,
    },
    Cause {
        id: "vcc-leakage",
        what: "12 kΩ from VCC to ground",
        change: |parts| parts.leakage_ohm = 12e3,
    },
    Cause {
        id: "start-resistor-high",
        what: "the start resistor has risen to 450 kΩ",
        change: |parts| parts.start_resistance_ohm = 450e3,
    },
    Cause {
        id: "start-path-open",
        what: "the start resistor is open",
        change: |parts| parts.start_resistance_ohm = f64::INFINITY,
    },
    Cause {
        id: "vref-overloaded",
        what: "52 Ω on VREF, beyond its current limit",
        change: |parts| parts.vref_load_ohm = 52.0,
    },
    Cause {
        id: "vref-shorted",
        what: "0.5 Ω from VREF to ground",
        change: |parts| parts.vref_load_ohm = 0.5,
    },
    Cause {
        id: "ct-shorted",
        what: "RT/CT shorted to ground",
        change: |parts| parts.ct_shorted = true,
    },
    Cause {
        id: "gate-path-open",
        what: "OUT does not reach the gate",
        change: |parts| {
            parts.gate_charge_c = 0.0;
            parts.switch_driven = false;
        },
    },
    Cause {
        id: "feedback-holds-off",
        what: "COMP is held down, OUT never pulses",
        change: |parts| parts.feedback_holds_off = true,
    },
    Cause {
        id: "uvlo-out-of-tolerance",
        what: "thresholds at 13.4 V and 8.0 V",
        change: |parts| {
            parts.vcc_start_v = 13.4;
            parts.vcc_stop_v = 8.0;
        },
    },
];
