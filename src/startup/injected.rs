//! Bench supply on VCC, mains out: through a diode and a resistor, against the start resistor, which
//! feeds back into the discharged bulk capacitor.

use super::engine::{self, Branch, Feed, Now};
use super::error::SimulateError;
use super::timeline::Timeline;
use super::unit::UnitParts;

/// The silicon diode in the lead: I = Is·(e^(V/(m·Vt)) − 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diode {
    /// Saturation current Is, A.
    pub saturation_a: f64,
    /// m·Vt, V.
    pub slope_v: f64,
}

impl Diode {
    /// A small-signal silicon diode: 2.5 nA, m = 1.75 at 26 mV; about 0.71 V at 14 mA.
    pub const SILICON: Diode = Diode {
        saturation_a: 2.5e-9,
        slope_v: 1.75 * 0.026,
    };

    /// Forward voltage at a current above zero, V.
    pub fn forward_v(&self, current_a: f64) -> f64 {
        self.slope_v * (current_a / self.saturation_a).ln_1p()
    }
}

/// A bench supply whose voltage follows straight lines between corners.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchSupply {
    /// Corners `(time s, voltage V)`, times ascending; constant before the first and after the last.
    pub corners: Vec<(f64, f64)>,
    /// Resistor in the lead, Ω.
    pub series_ohm: f64,
    /// Diode in the lead.
    pub diode: Diode,
    /// End of the run, s.
    pub end_s: f64,
}

impl BenchSupply {
    /// `count` sweeps from 0 V to `top_v` and back at `rate_v_s`, with `rest_s` at 0 V before, between
    /// and after; 22 Ω and a silicon diode in the lead.
    pub fn sweeps(count: usize, top_v: f64, rate_v_s: f64, rest_s: f64) -> BenchSupply {
        let leg_s = top_v / rate_v_s;
        let mut corners = vec![(0.0, 0.0)];
        let mut at_s = rest_s;
        for _ in 0..count {
            corners.extend([
                (at_s, 0.0),
                (at_s + leg_s, top_v),
                (at_s + 2.0 * leg_s, 0.0),
            ]);
            at_s += 2.0 * leg_s + rest_s;
        }
        BenchSupply {
            corners,
            series_ohm: 22.0,
            diode: Diode::SILICON,
            end_s: at_s,
        }
    }

    /// Raised to `top_v`, then turned back until VCC stands at `vcc_v` while `parts` run; held from
    /// 2 s on until `end_s`.
    pub fn held(parts: &UnitParts, top_v: f64, vcc_v: f64, end_s: f64) -> BenchSupply {
        let mut supply = BenchSupply::sweeps(0, top_v, 1.0, 0.0);
        let current_a = parts.running_current_a()
            + vcc_v / parts.start_resistance_ohm
            + vcc_v / parts.leakage_ohm;
        let set_v = vcc_v + current_a * supply.series_ohm + supply.diode.forward_v(current_a);
        supply.corners = vec![(0.0, 0.0), (1.0, top_v), (2.0, set_v)];
        supply.end_s = end_s;
        supply
    }

    /// Runs a unit, from all capacitors empty.
    ///
    /// # Errors
    /// [`SimulateError::Part`] or [`SimulateError::TooManyChanges`].
    pub fn run(&self, parts: &UnitParts) -> Result<Timeline, SimulateError> {
        engine::run(parts, self, self.end_s)
    }

    /// Voltage, its slope in V/s, and the time to the next corner.
    pub fn at(&self, at_s: f64) -> (f64, f64, f64) {
        let next = self
            .corners
            .partition_point(|(corner_s, _)| *corner_s <= at_s);
        let before = next
            .checked_sub(1)
            .and_then(|index| self.corners.get(index));
        match (before, self.corners.get(next)) {
            (Some((s0, v0)), Some((s1, v1))) => {
                let slope_v_s = (v1 - v0) / (s1 - s0);
                (v0 + slope_v_s * (at_s - s0), slope_v_s, s1 - at_s)
            }
            (Some((_, v)), None) => (*v, 0.0, f64::INFINITY),
            (None, Some((s, v))) => (*v, 0.0, s - at_s),
            (None, None) => (0.0, 0.0, f64::INFINITY),
        }
    }

    /// Current through the diode, for a supply voltage and the state of the node, by bisection on
    /// the exponent, of which every drop is a rising function.
    fn diode_a(&self, parts: &UnitParts, supply_v: f64, now: &Now) -> f64 {
        let back_s = now.load.conductance_s + parts.start_resistance_ohm.recip();
        let current_a = |x: f64| self.diode.saturation_a * x.exp_m1();
        let left_v = |x: f64| {
            let i = current_a(x);
            let pin_v = self.pin_v(parts, i, back_s, now);
            supply_v - pin_v - self.series_ohm * i - self.diode.slope_v * x
        };
        let (mut low, mut high) = (-40.0, 40.0);
        for _ in 0..64 {
            let middle = 0.5 * (low + high);
            if left_v(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        current_a(0.5 * (low + high))
    }

    /// VCC at the pin with a current `i` fed in.
    fn pin_v(&self, parts: &UnitParts, i: f64, back_s: f64, now: &Now) -> f64 {
        let esr_ohm = parts.vcc_esr_ohm;
        (now.capacitor_v + esr_ohm * (i - now.load.current_a)) / (1.0 + esr_ohm * back_s)
    }
}

impl Feed for BenchSupply {
    /// The diode as its tangent at the present current; good for a short time only.
    fn branch(&self, parts: &UnitParts, now: &Now) -> Branch {
        let (supply_v, slope_v_s, corner_s) = self.at(now.at_s);
        let start_s = parts.start_resistance_ohm.recip();
        let diode_a = self.diode_a(parts, supply_v, now);
        let pin_v = self.pin_v(parts, diode_a, now.load.conductance_s + start_s, now);
        let tangent_ohm = self.diode.slope_v / (diode_a + self.diode.saturation_a);
        let lead_s = (self.series_ohm + tangent_ohm).recip();
        Branch {
            current_a: diode_a + lead_s * pin_v,
            slope_a_s: lead_s * slope_v_s,
            conductance_s: lead_s + start_s,
            holds_s: corner_s.min((0.05 * now.since_event_s).clamp(5e-6, 2e-3)),
        }
    }

    fn bulk_v(&self, _parts: &UnitParts, _at_s: f64) -> f64 {
        0.0
    }

    fn mains_on_s(&self) -> Option<f64> {
        None
    }
}
