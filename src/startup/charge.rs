//! Closed forms of the VCC node: the charge before a start, the hiccup cycle, the steps at its ends.
//!
//! All from the node equation `C·dV/dt = (Vb − V)/R − I − V/R_leak`. SI base units throughout.

/// The VCC node before a start: capacitor, start resistor, and what draws current below the start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charge {
    /// Voltage at the far end of the start resistor, V.
    pub bulk_v: f64,
    /// Start resistor, Ω.
    pub start_resistance_ohm: f64,
    /// VCC capacitor, F.
    pub vcc_capacitance_f: f64,
    /// Constant current drawn, A.
    pub current_a: f64,
    /// Leakage to ground, Ω; infinite for none.
    pub leakage_ohm: f64,
}

/// VCC never gets there: it ends at `final_v`.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("VCC ends at {final_v:.2} V")]
pub struct Never {
    /// Where VCC ends, V.
    pub final_v: f64,
}

impl Charge {
    /// Conductance of start resistor and leakage together, S.
    fn conductance_s(&self) -> f64 {
        self.start_resistance_ohm.recip() + self.leakage_ohm.recip()
    }

    /// The voltage that VCC tends to, V: (Vb/R − I)/(1/R + 1/R_leak). NaN with both open.
    pub fn final_v(&self) -> f64 {
        (self.bulk_v / self.start_resistance_ohm - self.current_a) / self.conductance_s()
    }

    /// Time constant, s.
    pub fn time_constant_s(&self) -> f64 {
        self.vcc_capacitance_f / self.conductance_s()
    }

    /// Time from one voltage to another on the way to [`Charge::final_v`], s.
    ///
    /// # Errors
    /// [`Never`] when `to_v` does not lie between `from_v` and the final voltage, or nothing is known
    /// (NaN).
    pub fn time_s(&self, from_v: f64, to_v: f64) -> Result<f64, Never> {
        if self.conductance_s() == 0.0 {
            return self.linear_s(from_v, to_v);
        }
        let final_v = self.final_v();
        let ratio = (final_v - from_v) / (final_v - to_v);
        if ratio >= 1.0 && ratio.is_finite() {
            Ok(self.time_constant_s() * ratio.ln())
        } else {
            Err(Never { final_v })
        }
    }

    /// The same with neither start resistor nor leakage: a constant current empties the capacitor.
    fn linear_s(&self, from_v: f64, to_v: f64) -> Result<f64, Never> {
        let time_s = self.vcc_capacitance_f * (from_v - to_v) / self.current_a;
        match time_s >= 0.0 && time_s.is_finite() {
            true => Ok(time_s),
            false => Err(Never {
                final_v: self.final_v(),
            }),
        }
    }

    /// Current through the start resistor with VCC at `vcc_v`, A.
    pub fn start_current_a(&self, vcc_v: f64) -> f64 {
        (self.bulk_v - vcc_v) / self.start_resistance_ohm
    }

    /// Power in the start resistor with VCC at `vcc_v`, W.
    pub fn dissipation_w(&self, vcc_v: f64) -> f64 {
        (self.bulk_v - vcc_v).powi(2) / self.start_resistance_ohm
    }

    /// Largest start resistor with which VCC still reaches `start_v`, Ω; infinite when nothing draws
    /// current, and not above zero when the bulk voltage is below `start_v`.
    pub fn largest_start_resistor_ohm(&self, start_v: f64) -> f64 {
        (self.bulk_v - start_v) / (self.current_a + start_v / self.leakage_ohm)
    }

    /// Smallest leakage resistance with which VCC still reaches `start_v`, Ω; `None` when it does not
    /// get there even without leakage.
    pub fn smallest_leakage_ohm(&self, start_v: f64) -> Option<f64> {
        let spare_a = self.start_current_a(start_v) - self.current_a;
        (spare_a > 0.0).then_some(start_v / spare_a)
    }
}

/// Peak of the rectified mains, V: √2 times the r.m.s. value less two diodes.
pub fn bulk_peak_v(mains_rms_v: f64, diode_v: f64) -> f64 {
    std::f64::consts::SQRT_2 * mains_rms_v - 2.0 * diode_v
}

/// A hiccup: VCC falls from start to stop in a burst and climbs back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hiccup {
    /// Time from stop to start, s.
    pub recharge_s: f64,
    /// Time from start to stop, s.
    pub burst_s: f64,
}

impl Hiccup {
    /// The cycle of a node that draws `charge.current_a` while stopped and `running_a` while running;
    /// `step_v` is what the start itself takes from VCC (the VREF capacitor).
    ///
    /// # Errors
    /// [`Never`] when VCC does not climb to the start or does not fall to the stop.
    pub fn new(
        charge: &Charge,
        running_a: f64,
        start_v: f64,
        stop_v: f64,
        step_v: f64,
    ) -> Result<Hiccup, Never> {
        let running = Charge {
            current_a: running_a,
            ..*charge
        };
        Ok(Hiccup {
            recharge_s: charge.time_s(stop_v, start_v)?,
            burst_s: running.time_s(start_v - step_v, stop_v)?,
        })
    }

    /// Time from start to start, s.
    pub fn period_s(&self) -> f64 {
        self.recharge_s + self.burst_s
    }

    /// Recharge over burst, 1: it holds currents only, the capacitance cancels.
    pub fn ratio(&self) -> f64 {
        self.recharge_s / self.burst_s
    }
}

/// The steps of VCC at a start and at a stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// Fall at the start, V.
    pub start_v: f64,
    /// Rise at the stop, V.
    pub stop_v: f64,
}

impl Steps {
    /// Steps of a capacitor: the jump of current through its series resistance at both ends, and at
    /// the start the charge of the VREF capacitor, which the regulator passes on in full.
    pub fn new(
        current_jump_a: f64,
        esr_ohm: f64,
        vref_charge_c: f64,
        vcc_capacitance_f: f64,
    ) -> Steps {
        let stop_v = current_jump_a * esr_ohm;
        Steps {
            start_v: stop_v + vref_charge_c / vcc_capacitance_f,
            stop_v,
        }
    }

    /// Series resistance behind the step at the stop, Ω.
    pub fn esr_ohm(&self, current_jump_a: f64) -> f64 {
        self.stop_v / current_jump_a
    }

    /// VCC capacitor over VREF capacitor, 1.
    pub fn capacitance_ratio(&self, vref_v: f64) -> f64 {
        vref_v / (self.start_v - self.stop_v)
    }
}
