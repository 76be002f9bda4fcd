//! The parts of a unit, in SI base units, and the invented unit GV-24.

use super::error::SimulateError;
use super::ramp::Ramp;

/// Part values of a flyback supply with a 384x-class controller; SI base units throughout.
///
/// A resistance of `f64::INFINITY` is an open one.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitParts {
    /// Bulk voltage on mains, V.
    pub bulk_v: f64,
    /// Start resistor, all parts in series, Ω.
    pub start_resistance_ohm: f64,
    /// VCC capacitor, F.
    pub vcc_capacitance_f: f64,
    /// Series resistance of the VCC capacitor, Ω.
    pub vcc_esr_ohm: f64,
    /// Leakage from VCC to ground, Ω.
    pub leakage_ohm: f64,
    /// Current into VCC below the start threshold, A.
    pub standby_current_a: f64,
    /// Below this VCC the standby current falls in proportion to VCC, V; 0 for a constant current.
    pub standby_knee_v: f64,
    /// Current into VCC while running, without gate charge and VREF load, A.
    pub run_current_a: f64,
    /// Start threshold of the controller, V.
    pub vcc_start_v: f64,
    /// Stop threshold of the controller, V.
    pub vcc_stop_v: f64,
    /// VREF without load, V.
    pub vref_v: f64,
    /// VREF decoupling capacitor, F.
    pub vref_capacitance_f: f64,
    /// Current that charges it at a start, A; infinite for a charge taken at once.
    pub vref_charge_a: f64,
    /// What pulls VREF down while stopped, Ω (about 5 kΩ, SLUS223G).
    pub vref_pulldown_ohm: f64,
    /// Output resistance of VREF, Ω.
    pub vref_output_ohm: f64,
    /// Current limit of VREF, A.
    pub vref_limit_a: f64,
    /// Load outside the controller on VREF, Ω.
    pub vref_load_ohm: f64,
    /// VREF below which oscillator and OUT stand, V (depends on the maker; the one here is invented).
    pub vref_good_v: f64,
    /// Timing resistor, Ω.
    pub rt_ohm: f64,
    /// Timing capacitor, F.
    pub ct_f: f64,
    /// Is RT/CT shorted to ground?
    pub ct_shorted: bool,
    /// Upper turning point of the ramp over VREF, 1.
    pub ramp_peak_share: f64,
    /// Lower turning point of the ramp over VREF, 1.
    pub ramp_valley_share: f64,
    /// Discharge current of the oscillator, A.
    pub discharge_a: f64,
    /// Oscillator cycles in an OUT cycle: 1 or 2.
    pub divide: u32,
    /// VCC minus the high level of OUT, V.
    pub out_drop_v: f64,
    /// Low level of OUT, V.
    pub out_low_v: f64,
    /// Gate charge moved in each OUT cycle, C; 0 with the gate path open.
    pub gate_charge_c: f64,
    /// Does the switch follow OUT?
    pub switch_driven: bool,
    /// Does the feedback hold COMP down, so that OUT never pulses?
    pub feedback_holds_off: bool,
    /// Primary inductance, H.
    pub primary_inductance_h: f64,
    /// Current-sense resistor, Ω.
    pub sense_ohm: f64,
    /// Current-sense limit, V.
    pub sense_limit_v: f64,
    /// Output power over power taken from the bulk, 1.
    pub efficiency: f64,
    /// Volts of the own winding for each volt of the output, 1; 0 with its path open.
    pub aux_ratio: f64,
    /// Drop of the rectifier of the own winding, V.
    pub aux_diode_v: f64,
    /// Output voltage in regulation, V.
    pub output_v: f64,
    /// Load on the output, Ω.
    pub load_ohm: f64,
    /// Output capacitor, F.
    pub output_capacitance_f: f64,
}

impl UnitParts {
    /// The invented unit GV-24: 24 V, 60 W, x844-class controller, 230 V mains.
    ///
    /// The bulk voltage is √2 · 230 V minus two bridge diodes of 1.0 V.
    pub fn gv24() -> UnitParts {
        UnitParts {
            bulk_v: super::charge::bulk_peak_v(230.0, 1.0),
            start_resistance_ohm: 164e3,
            vcc_capacitance_f: 47e-6,
            vcc_esr_ohm: 0.8,
            leakage_ohm: f64::INFINITY,
            standby_current_a: 0.5e-3,
            standby_knee_v: 2.0,
            run_current_a: 12e-3,
            vcc_start_v: 16.0,
            vcc_stop_v: 10.0,
            vref_v: 5.0,
            vref_capacitance_f: 1e-6,
            vref_charge_a: 50e-3,
            vref_pulldown_ohm: 5e3,
            vref_output_ohm: 0.3,
            vref_limit_a: 85e-3,
            vref_load_ohm: f64::INFINITY,
            vref_good_v: 3.6,
            rt_ohm: 13e3,
            ct_f: 1e-9,
            ct_shorted: false,
            ramp_peak_share: 0.54,
            ramp_valley_share: 0.2,
            discharge_a: 8.3e-3,
            divide: 2,
            out_drop_v: 1.5,
            out_low_v: 0.1,
            gate_charge_c: 35e-9,
            switch_driven: true,
            feedback_holds_off: false,
            primary_inductance_h: 620e-6,
            sense_ohm: 0.47,
            sense_limit_v: 1.0,
            efficiency: 0.85,
            aux_ratio: 14.7 / 24.0,
            aux_diode_v: 0.7,
            output_v: 24.0,
            load_ohm: 9.6,
            output_capacitance_f: 2000e-6,
        }
    }

    /// VREF that settles under its load, V: regulated up to the current limit, then limit times load.
    pub fn vref_loaded_v(&self) -> f64 {
        let regulated = self.vref_v / (1.0 + self.vref_output_ohm / self.vref_load_ohm);
        regulated.min(self.vref_limit_a * self.vref_load_ohm)
    }

    /// Current that the load outside takes from VREF once settled, A.
    pub fn vref_load_a(&self) -> f64 {
        self.vref_loaded_v() / self.vref_load_ohm
    }

    /// The ramp on RT/CT while running; `None` when the oscillator cannot run, as with VREF too low.
    pub fn ramp(&self) -> Option<Ramp> {
        let vref_v = self.vref_loaded_v();
        if self.ct_shorted || vref_v < self.vref_good_v {
            return None;
        }
        Ramp::new(
            vref_v,
            self.rt_ohm,
            self.ct_f,
            self.ramp_valley_share * vref_v,
            self.ramp_peak_share * vref_v,
            self.discharge_a,
        )
    }

    /// Frequency of OUT, Hz; 0 when OUT does not pulse.
    pub fn out_frequency_hz(&self) -> f64 {
        if self.feedback_holds_off {
            return 0.0;
        }
        self.ramp()
            .map_or(0.0, |ramp| ramp.frequency_hz() / f64::from(self.divide))
    }

    /// Current into VCC while running, A: the controller's own, the gate charge, the VREF load.
    pub fn running_current_a(&self) -> f64 {
        self.run_current_a + self.gate_charge_c * self.out_frequency_hz() + self.vref_load_a()
    }

    /// Largest output power, W, with each pulse ended by the current limit or by the end of the
    /// ramp: η · ½ · L · I² · f. 0 when the switch does not follow.
    pub fn power_limit_w(&self) -> f64 {
        let Some(ramp) = self.ramp().filter(|_| self.switch_driven) else {
            return 0.0;
        };
        let reach_a = self.bulk_v * ramp.rise_s / self.primary_inductance_h;
        let peak_a = (self.sense_limit_v / self.sense_ohm).min(reach_a);
        0.5 * self.primary_inductance_h * peak_a.powi(2) * self.out_frequency_hz() * self.efficiency
    }

    /// Output power in regulation, W.
    pub fn load_power_w(&self) -> f64 {
        self.output_v.powi(2) / self.load_ohm
    }

    /// Voltage of the own winding after its rectifier, V, for an output voltage.
    pub fn aux_v(&self, output_v: f64) -> f64 {
        self.aux_ratio * output_v - self.aux_diode_v
    }

    /// Part values by the words used for parts on the command line, SI base units.
    pub fn named(&self) -> [(&'static str, f64); 10] {
        [
            ("start-resistor", self.start_resistance_ohm),
            ("vcc-capacitor", self.vcc_capacitance_f),
            ("vcc-capacitor-esr", self.vcc_esr_ohm),
            ("vref-capacitor", self.vref_capacitance_f),
            ("rt", self.rt_ohm),
            ("ct", if self.ct_shorted { 0.0 } else { self.ct_f }),
            ("rsense", self.sense_ohm),
            ("gate-charge", self.gate_charge_c),
            ("primary-inductance", self.primary_inductance_h),
            ("aux-ratio", self.aux_ratio),
        ]
    }

    /// Refuses values that the model cannot run with.
    ///
    /// # Errors
    /// [`SimulateError::Part`] for a capacitance, resistance or threshold that is not above zero.
    pub fn checked(&self) -> Result<(), SimulateError> {
        let positive = [
            ("vcc_capacitance_f", self.vcc_capacitance_f),
            ("start_resistance_ohm", self.start_resistance_ohm),
            ("leakage_ohm", self.leakage_ohm),
            ("vref_capacitance_f", self.vref_capacitance_f),
            ("vref_charge_a", self.vref_charge_a),
            ("vref_pulldown_ohm", self.vref_pulldown_ohm),
            ("vref_load_ohm", self.vref_load_ohm),
            ("output_capacitance_f", self.output_capacitance_f),
            ("load_ohm", self.load_ohm),
            ("hysteresis", self.vcc_start_v - self.vcc_stop_v),
            ("vcc_stop_v", self.vcc_stop_v),
        ];
        match positive
            .into_iter()
            .find(|(_, value)| value.is_nan() || *value <= 0.0)
        {
            Some((name, value)) => Err(SimulateError::Part {
                name,
                value,
                wanted: "above zero",
            }),
            None => Ok(()),
        }
    }
}
