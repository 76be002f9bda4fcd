//! The one shape of which every quantity is made: a line plus a decaying exponential.

/// `level + slope·t + amplitude·e^(−t/tau)`, with t counted from the start of its segment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// Level, in the unit of the quantity.
    pub level: f64,
    /// Slope, unit per second.
    pub slope: f64,
    /// Amplitude of the exponential at t = 0, in the unit of the quantity.
    pub amplitude: f64,
    /// Time constant, s; not used when the amplitude is 0.
    pub tau_s: f64,
}

impl Curve {
    /// A constant.
    pub fn constant(level: f64) -> Curve {
        Curve::line(level, 0.0)
    }

    /// A straight line.
    pub fn line(level: f64, slope: f64) -> Curve {
        Curve {
            level,
            slope,
            amplitude: 0.0,
            tau_s: 1.0,
        }
    }

    /// An exponential from `start` towards `end`.
    pub fn towards(start: f64, end: f64, tau_s: f64) -> Curve {
        Curve {
            level: end,
            slope: 0.0,
            amplitude: start - end,
            tau_s,
        }
    }

    /// Value at time `t_s` from the start of the segment.
    pub fn at(&self, t_s: f64) -> f64 {
        self.level + self.slope * t_s + self.amplitude * (-t_s / self.tau_s).exp()
    }

    /// First time within `horizon_s` at which a rising curve reaches `level`; 0 when it is already
    /// there, `None` when it ends below.
    pub fn rises_to(&self, level: f64, horizon_s: f64) -> Option<f64> {
        let mirrored = Curve {
            level: -self.level,
            slope: -self.slope,
            amplitude: -self.amplitude,
            tau_s: self.tau_s,
        };
        mirrored.falls_to(-level, horizon_s)
    }

    /// First time within `horizon_s` at which a falling curve reaches `level`; 0 when it is already
    /// there, `None` when it ends above.
    pub fn falls_to(&self, level: f64, horizon_s: f64) -> Option<f64> {
        if self.at(0.0) <= level {
            return Some(0.0);
        }
        if self.at(horizon_s) > level {
            return None;
        }
        bisect(horizon_s, |t| self.at(t) <= level)
    }
}

/// The smallest time in `[0, horizon_s]` from which `reached` holds, for a condition that turns from
/// false to true once; `None` when it does not hold at the horizon.
pub(crate) fn bisect(horizon_s: f64, reached: impl Fn(f64) -> bool) -> Option<f64> {
    if !reached(horizon_s) {
        return None;
    }
    let (mut before, mut after) = (0.0, horizon_s);
    for _ in 0..100 {
        let middle = 0.5 * (before + after);
        if middle <= before || middle >= after {
            break;
        }
        if reached(middle) {
            after = middle;
        } else {
            before = middle;
        }
    }
    Some(after)
}
