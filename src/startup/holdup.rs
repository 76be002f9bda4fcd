//! Closed forms of the hold-up: the output rises on the power limit, and the own winding takes over.
//!
//! An energy model: the output capacitor takes the full power limit from the first pulse on. Below
//! about 22 V a real flyback runs in continuous mode and gives less (cycle-by-cycle computation):
//! count on ±15 % for the take-over time, and take a smallest capacitor from it times 1.5.

use super::unit::UnitParts;

/// The rise of the output at constant power into a resistor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutputRise {
    /// Power into the output, W.
    pub power_w: f64,
    /// Load, Ω.
    pub load_ohm: f64,
    /// Output capacitor, F.
    pub capacitance_f: f64,
}

impl OutputRise {
    /// The rise of a unit at its power limit.
    pub fn of(parts: &UnitParts) -> OutputRise {
        OutputRise {
            power_w: parts.power_limit_w(),
            load_ohm: parts.load_ohm,
            capacitance_f: parts.output_capacitance_f,
        }
    }

    /// Time constant of the energy, s: R·C/2.
    pub fn time_constant_s(&self) -> f64 {
        0.5 * self.load_ohm * self.capacitance_f
    }

    /// Output voltage after a time, V.
    pub fn at_v(&self, since_s: f64) -> f64 {
        let final_j = self.power_w * self.time_constant_s();
        let energy_j = final_j * -(-since_s / self.time_constant_s()).exp_m1();
        (2.0 * energy_j / self.capacitance_f).sqrt()
    }

    /// Time to an output voltage, s; `None` when the power does not reach it.
    pub fn time_s(&self, output_v: f64) -> Option<f64> {
        let share = output_v.powi(2) / (self.power_w * self.load_ohm);
        (share < 1.0).then(|| -self.time_constant_s() * (-share).ln_1p())
    }
}

/// Smallest VCC capacitor that carries a first start to the take-over, F:
/// `[(I_run − I_R)·t + C_ref·VREF]/(V_start − V_stop)`, t being the time in which the own winding
/// reaches the stop threshold and I_R the start resistor's current half-way. `None` when it never does.
pub fn smallest_vcc_capacitor_f(parts: &UnitParts) -> Option<f64> {
    let needed_v = (parts.vcc_stop_v + parts.aux_diode_v) / parts.aux_ratio;
    let time_s = OutputRise::of(parts).time_s(needed_v)?;
    if needed_v > parts.output_v {
        return None;
    }
    let middle_v = 0.5 * (parts.vcc_start_v + parts.vcc_stop_v);
    let start_a = (parts.bulk_v - middle_v) / parts.start_resistance_ohm;
    let leak_a = middle_v / parts.leakage_ohm;
    let drawn_c = (parts.running_current_a() + leak_a - start_a) * time_s
        + parts.vref_capacitance_f * parts.vref_loaded_v();
    Some(drawn_c / (parts.vcc_start_v - parts.vcc_stop_v))
}
