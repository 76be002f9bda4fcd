//! The oscillator ramp: a capacitor charged through RT from VREF, discharged by a fixed current.

/// An RT/CT ramp between two levels.
///
/// Rise: RT·CT·ln[(VREF − valley)/(VREF − peak)]. Fall: RT·CT·ln[(peak − V∞)/(valley − V∞)] with
/// V∞ = VREF − I·RT, the level that the discharge would end at (node equation of RT, CT and sink).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ramp {
    /// Time from valley to peak, s.
    pub rise_s: f64,
    /// Time from peak to valley, s.
    pub fall_s: f64,
    /// Lower turning point, V.
    pub valley_v: f64,
    /// Upper turning point, V.
    pub peak_v: f64,
    tau_s: f64,
    vref_v: f64,
    bottom_v: f64,
}

impl Ramp {
    /// The ramp of these parts; `None` when it cannot run: levels outside 0 to VREF, or a discharge
    /// current that the resistor outweighs.
    pub fn new(
        vref_v: f64,
        rt_ohm: f64,
        ct_f: f64,
        valley_v: f64,
        peak_v: f64,
        discharge_a: f64,
    ) -> Option<Ramp> {
        let tau_s = rt_ohm * ct_f;
        let bottom_v = vref_v - discharge_a * rt_ohm;
        let ordered = 0.0 < valley_v && valley_v < peak_v && peak_v < vref_v;
        if !(ordered && bottom_v < valley_v && tau_s > 0.0) {
            return None;
        }
        Some(Ramp {
            rise_s: tau_s * ((vref_v - valley_v) / (vref_v - peak_v)).ln(),
            fall_s: tau_s * ((peak_v - bottom_v) / (valley_v - bottom_v)).ln(),
            valley_v,
            peak_v,
            tau_s,
            vref_v,
            bottom_v,
        })
    }

    /// Time of a cycle, s.
    pub fn period_s(&self) -> f64 {
        self.rise_s + self.fall_s
    }

    /// Cycles in a second, Hz.
    pub fn frequency_hz(&self) -> f64 {
        self.period_s().recip()
    }

    /// Cycle number and time within the cycle, for a time since the oscillator began at 0 V.
    /// `None` during the first rise from 0 V to the valley.
    pub fn cycle(&self, since_s: f64) -> Option<(u64, f64)> {
        let from_valley_s = since_s - self.first_s();
        if from_valley_s < 0.0 {
            return None;
        }
        let number = (from_valley_s / self.period_s()).floor();
        Some((number as u64, from_valley_s - number * self.period_s()))
    }

    /// RT/CT in volts at a time since the oscillator began at 0 V.
    pub fn at(&self, since_s: f64) -> f64 {
        let towards = |start: f64, end: f64, t: f64| end + (start - end) * (-t / self.tau_s).exp();
        match self.cycle(since_s) {
            None => towards(0.0, self.vref_v, since_s.max(0.0)),
            Some((_, t)) if t < self.rise_s => towards(self.valley_v, self.vref_v, t),
            Some((_, t)) => towards(self.peak_v, self.bottom_v, t - self.rise_s),
        }
    }

    /// Time from 0 V to the first valley level.
    fn first_s(&self) -> f64 {
        self.tau_s * (self.vref_v / (self.vref_v - self.valley_v)).ln()
    }
}
