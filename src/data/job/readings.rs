//! What was read by hand, apart from what stands in a run.

use super::words::When;
use crate::data::options::Accuracy;
use crate::data::part_check::{self, check, usual_meter};
use crate::data::typed::{Kind, MarkedPart, Tolerance};
use crate::data::{Role, Setup};

/// A reading without power: a resistance, the voltage of a diode test, or both.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ColdReading {
    /// Between what: `fuse`, `switch drain to source`, `sense resistor`, `VCC to ground`.
    pub place: String,
    /// Resistance, in ohms; infinite where the meter shows an open circuit.
    pub ohms: Option<f64>,
    /// Forward voltage in the meter's diode test, in volts; infinite where it shows an open circuit.
    pub diode_volts: Option<f64>,
    /// Before or after the repair.
    pub when: Option<When>,
    /// Free text.
    pub note: String,
}

/// A voltage read at a pin or a node.
#[derive(Debug, Clone, PartialEq)]
pub struct PinReading {
    /// Which pin or node.
    pub pin: Role,
    /// The reading, in volts.
    pub volts: f64,
    /// How the unit was fed.
    pub setup: Option<Setup>,
    /// Before or after the repair.
    pub when: Option<When>,
    /// Free text.
    pub note: String,
}

impl Default for PinReading {
    fn default() -> Self {
        Self {
            pin: Role::Other,
            volts: 0.0,
            setup: None,
            when: None,
            note: String::new(),
        }
    }
}

/// An output, what it should give and what it gave.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OutputReading {
    /// Name: `24 V`, `main`.
    pub name: String,
    /// What it should give, in volts.
    pub nominal_volts: Option<f64>,
    /// By how much it may differ, as a share of the nominal voltage: 0.05 is 5 %.
    pub tolerance: Option<f64>,
    /// The reading, in volts.
    pub volts: f64,
    /// The load: `none`, `2 A`, `dummy 12 ohm`.
    pub load: String,
    /// Before or after the repair.
    pub when: Option<When>,
}

/// A part that was measured, with what is printed on it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PartCheck {
    /// Which one: `C5`, `start resistor`.
    pub part: String,
    /// What it is: `resistor`, `electrolytic`, `diode`, `switch`.
    pub kind: String,
    /// Value printed on it, in the SI base unit of its kind.
    pub marked: Option<f64>,
    /// Tolerance printed on it, as a share of the marked value.
    pub tolerance: Option<f64>,
    /// What was measured, in the same unit; infinite for an open circuit.
    pub reading: Option<f64>,
    /// Equivalent series resistance, in ohms.
    pub esr_ohms: Option<f64>,
    /// Leakage current, in amperes.
    pub leakage_amperes: Option<f64>,
    /// Whether a leg was out of the board; `None` where nobody said.
    pub out_of_circuit: Option<bool>,
    /// Free text.
    pub note: String,
}

impl PartCheck {
    /// In what the part is measured, by the words of its kind; `None` where they name none that is known.
    pub fn measured_in(&self) -> Option<Kind> {
        let kind = self.kind.to_lowercase();
        let is = |words: &[&str]| words.iter().any(|word| kind.contains(word));
        if is(&["resistor", "fuse"]) {
            Some(Kind::Ohm)
        } else if is(&["electrolytic", "capacitor", "film", "ceramic"]) {
            Some(Kind::Farad)
        } else if is(&["zener"]) {
            Some(Kind::Volt)
        } else if is(&["inductor", "coil", "choke"]) {
            Some(Kind::Henry)
        } else {
            None
        }
    }

    /// The part against its mark, with the usual accuracy of a meter (common practice). `None` where
    /// mark, reading or kind is missing.
    pub fn judged(&self) -> Option<part_check::PartCheck> {
        let kind = self.measured_in()?;
        let mark = marked(kind, self.marked?, self.tolerance);
        Some(check(&mark, self.reading?, usual_meter(kind)))
    }
}

impl OutputReading {
    /// The output against what it should give, read with a meter of this accuracy, else the usual one
    /// (common practice). `None` where the nominal voltage or its tolerance is not told.
    pub fn judged(&self, meter: Option<Accuracy>) -> Option<part_check::PartCheck> {
        let mark = marked(Kind::Volt, self.nominal_volts?, Some(self.tolerance?));
        let meter = meter.unwrap_or(usual_meter(Kind::Volt));
        Some(check(&mark, self.volts, meter))
    }
}

fn marked(kind: Kind, value: f64, tolerance: Option<f64>) -> MarkedPart {
    let mut mark = MarkedPart::plain(kind, value);
    for member in &mut mark.members {
        member.tolerance = tolerance.map(Tolerance::both);
    }
    mark
}
