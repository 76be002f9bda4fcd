//! From a measured ramp back to the parts.

/// A ramp as measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RampSeen {
    /// Rise from valley to peak, in seconds.
    pub rise_s: f64,
    /// Fall from peak to valley, in seconds.
    pub fall_s: f64,
    /// Peak, in volts.
    pub peak_v: f64,
    /// Valley, in volts.
    pub valley_v: f64,
    /// VREF, in volts. Measured on the same channel and range, a gain error cancels.
    pub vref_v: f64,
}

/// What a ramp gives away of its parts. Any one of RT, CT and discharge current gives the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RampConstants {
    /// RT·CT, in seconds.
    pub tau_s: f64,
    /// Level that the discharge heads for, in volts.
    pub asymptote_v: f64,
    /// I_d·RT, in volts.
    pub discharge_drop_v: f64,
    /// I_d/CT, in volts a second.
    pub discharge_slope_v_per_s: f64,
}

impl RampSeen {
    /// Inverts the rise and the fall: τ = rise/ln[(VREF−Vv)/(VREF−Vp)], k = e^(fall/τ),
    /// V∞ = (k·Vv − Vp)/(k − 1), I_d·RT = VREF − V∞, I_d/CT = (VREF − V∞)/τ.
    ///
    /// `None` for times that are not positive, levels that are not in order, and NaN.
    pub fn constants(&self) -> Option<RampConstants> {
        let times = self.rise_s > 0.0 && self.fall_s > 0.0;
        let levels = self.valley_v < self.peak_v && self.peak_v < self.vref_v;
        if !times || !levels {
            return None;
        }
        let ratio = (self.vref_v - self.valley_v) / (self.vref_v - self.peak_v);
        let tau_s = self.rise_s / ratio.ln();
        // exp(x) − 1 keeps its digits for a fall that is short against τ
        let growth = (self.fall_s / tau_s).exp_m1();
        let asymptote_v = self.valley_v - (self.peak_v - self.valley_v) / growth;
        let discharge_drop_v = self.vref_v - asymptote_v;
        let constants = RampConstants {
            tau_s,
            asymptote_v,
            discharge_drop_v,
            discharge_slope_v_per_s: discharge_drop_v / tau_s,
        };
        let all = [tau_s, asymptote_v, constants.discharge_slope_v_per_s];
        all.iter()
            .all(|value| value.is_finite())
            .then_some(constants)
    }
}

impl RampConstants {
    /// CT for a known RT, in farads.
    pub fn ct_farad(&self, rt_ohm: f64) -> f64 {
        self.tau_s / rt_ohm
    }

    /// RT for a known CT, in ohms.
    pub fn rt_ohm(&self, ct_farad: f64) -> f64 {
        self.tau_s / ct_farad
    }

    /// Discharge current for a known RT, in amperes.
    pub fn discharge_a(&self, rt_ohm: f64) -> f64 {
        self.discharge_drop_v / rt_ohm
    }

    /// RT for a known discharge current, in ohms.
    pub fn rt_ohm_from_discharge(&self, discharge_a: f64) -> f64 {
        self.discharge_drop_v / discharge_a
    }
}
