//! From parts and levels to times.

/// Why an oscillator gives no ramp.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NoOscillation {
    /// RT holds CT above the valley, so that the discharge never ends.
    #[error("never oscillates: RT must be above {smallest_rt_ohm:.0} Ω")]
    DischargeTooWeak {
        /// RT must be larger than this, in ohms.
        smallest_rt_ohm: f64,
    },
    /// RT charges CT to a level that is not above the peak, so that the charge never ends.
    #[error("never oscillates: the ramp ends at {asymptote_v:.2} V, below its peak")]
    ChargeTooWeak {
        /// Where the ramp would end, in volts.
        asymptote_v: f64,
    },
    /// A value is missing, not finite, not positive, or peak and valley are not in order.
    #[error("values from which no ramp can be computed")]
    BadValues,
}

/// An RT/CT oscillator: parts, levels, discharge current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimingParts {
    /// Resistor from VREF to RT/CT, in ohms.
    pub rt_ohm: f64,
    /// Capacitor from RT/CT to ground, in farads.
    pub ct_farad: f64,
    /// Level that RT charges towards, in volts.
    pub vref_v: f64,
    /// Ramp peak, in volts.
    pub peak_v: f64,
    /// Ramp valley, in volts.
    pub valley_v: f64,
    /// Discharge current into the controller, in amperes.
    pub discharge_a: f64,
}

impl TimingParts {
    /// Time constant RT·CT, in seconds.
    pub fn tau_s(&self) -> f64 {
        self.rt_ohm * self.ct_farad
    }

    /// Level that the discharge heads for, VREF − I_d·RT, in volts.
    pub fn discharge_asymptote_v(&self) -> f64 {
        self.vref_v - self.discharge_a * self.rt_ohm
    }

    /// The oscillator ceases at this RT and below: (VREF − valley)/I_d, in ohms.
    pub fn smallest_rt_ohm(&self) -> f64 {
        (self.vref_v - self.valley_v) / self.discharge_a
    }

    /// Rise from valley to peak, RT·CT·ln[(VREF−Vv)/(VREF−Vp)], in seconds.
    ///
    /// # Errors
    /// [`NoOscillation`] where the ramp never ends or a value makes no sense.
    pub fn rise_s(&self) -> Result<f64, NoOscillation> {
        self.check()?;
        let ratio = (self.vref_v - self.valley_v) / (self.vref_v - self.peak_v);
        Ok(self.tau_s() * ratio.ln())
    }

    /// Fall from peak to valley, RT·CT·ln[(Vp−V∞)/(Vv−V∞)] with V∞ = VREF − I_d·RT, in seconds.
    ///
    /// # Errors
    /// As [`TimingParts::rise_s`].
    pub fn fall_s(&self) -> Result<f64, NoOscillation> {
        self.check()?;
        let end_v = self.discharge_asymptote_v();
        let ratio = (self.peak_v - end_v) / (self.valley_v - end_v);
        Ok(self.tau_s() * ratio.ln())
    }

    /// Oscillator frequency, 1/(rise + fall), in hertz.
    ///
    /// # Errors
    /// As [`TimingParts::rise_s`].
    pub fn frequency_hz(&self) -> Result<f64, NoOscillation> {
        Ok(1.0 / (self.rise_s()? + self.fall_s()?))
    }

    /// Frequency at OUT: the oscillator's over `divide`, 1 or 2 (other values count as 1), in hertz.
    ///
    /// # Errors
    /// As [`TimingParts::rise_s`].
    pub fn out_frequency_hz(&self, divide: u32) -> Result<f64, NoOscillation> {
        Ok(self.frequency_hz()? / share(divide))
    }

    /// Largest duty cycle at OUT, 0 to 1: OUT may be high during the rise, and in a part that
    /// divides by 2 only in every other cycle.
    ///
    /// # Errors
    /// As [`TimingParts::rise_s`].
    pub fn max_duty(&self, divide: u32) -> Result<f64, NoOscillation> {
        let (rise, fall) = (self.rise_s()?, self.fall_s()?);
        Ok(rise / (rise + fall) / share(divide))
    }

    /// The short formula of the data sheet, 1.72/(RT·CT), in hertz (SLUS223G: for RT ≥ 5 kΩ).
    pub fn short_formula_hz(&self) -> f64 {
        1.72 / self.tau_s()
    }

    /// By how much the short formula is off, as a share of the exact frequency: 0.52 is 52 % high.
    ///
    /// # Errors
    /// As [`TimingParts::rise_s`].
    pub fn short_formula_error(&self) -> Result<f64, NoOscillation> {
        Ok(self.short_formula_hz() / self.frequency_hz()? - 1.0)
    }

    /// The same oscillator with a leak from RT/CT to ground: RT and VREF by Thévenin.
    ///
    /// An infinite leak resistance changes nothing; one that is not positive gives
    /// [`NoOscillation::BadValues`] later.
    pub fn with_leak(&self, leak_ohm: f64) -> TimingParts {
        if leak_ohm.is_infinite() && leak_ohm > 0.0 {
            return *self;
        }
        let kept = leak_ohm / (self.rt_ohm + leak_ohm);
        TimingParts {
            rt_ohm: self.rt_ohm * kept,
            vref_v: self.vref_v * kept,
            ..*self
        }
    }

    fn check(&self) -> Result<(), NoOscillation> {
        let positive = [self.rt_ohm, self.ct_farad, self.discharge_a, self.vref_v];
        let good = |value: &f64| value.is_finite() && *value > 0.0;
        let levels = self.valley_v.is_finite() && self.peak_v.is_finite();
        if !positive.iter().all(good) || !levels || self.valley_v >= self.peak_v {
            return Err(NoOscillation::BadValues);
        }
        if self.peak_v >= self.vref_v {
            let asymptote_v = self.vref_v;
            return Err(NoOscillation::ChargeTooWeak { asymptote_v });
        }
        let smallest_rt_ohm = self.smallest_rt_ohm();
        if self.rt_ohm <= smallest_rt_ohm {
            return Err(NoOscillation::DischargeTooWeak { smallest_rt_ohm });
        }
        Ok(())
    }
}

fn share(divide: u32) -> f64 {
    if divide == 2 { 2.0 } else { 1.0 }
}
