//! After the start: how long the VCC capacitor carries the controller, and how small it may be.

use super::node::{Corner, Node};
use crate::data::Bounded;
use crate::startup::charge::Charge;

/// The node while running without its own supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Running {
    /// The node before the start; its standby current is not used.
    pub node: Node,
    /// Current into VCC while running, A.
    pub run_a: Bounded,
    /// Start threshold, V.
    pub start_v: Bounded,
    /// Stop threshold, V.
    pub stop_v: Bounded,
    /// Charge of the VREF capacitor, C; 0 for none.
    pub vref_c: Bounded,
}

/// One combination: node, thresholds, charge taken at the start.
#[derive(Debug, Clone, Copy)]
struct Case {
    charge: Charge,
    start_v: f64,
    stop_v: f64,
    vref_c: f64,
}

impl Running {
    fn at(&self, corner: Corner) -> Case {
        let (run_a, start_v, stop_v, vref_c) = match corner {
            Corner::Slow => (
                self.run_a.high,
                self.start_v.low,
                self.stop_v.high,
                self.vref_c.high,
            ),
            Corner::Typ => (
                self.run_a.typ,
                self.start_v.typ,
                self.stop_v.typ,
                self.vref_c.typ,
            ),
            Corner::Fast => (
                self.run_a.low,
                self.start_v.high,
                self.stop_v.low,
                self.vref_c.low,
            ),
        };
        let mut charge = self.node.at(corner);
        // what helps the start by being small is what shortens the hold-up
        charge.vcc_capacitance_f = match corner {
            Corner::Slow => self.node.vcc_f.low,
            Corner::Typ => self.node.vcc_f.typ,
            Corner::Fast => self.node.vcc_f.high,
        };
        charge.current_a = run_a;
        Case {
            charge,
            start_v,
            stop_v,
            vref_c,
        }
    }

    /// From start to stop without the own supply, s: 0 where the VREF capacitor alone takes VCC below the
    /// stop or the limits of the thresholds overlap, infinite where the start resistor carries it.
    pub fn hold_up_s(&self) -> Bounded {
        let at = |corner| {
            let case = self.at(corner);
            hold_up(&case, case.charge.vcc_capacitance_f)
        };
        Bounded::around(at(Corner::Typ), at(Corner::Slow), at(Corner::Fast))
    }

    /// Smallest VCC capacitor that lasts `until_s`, F; infinite where none does.
    pub fn smallest_f(&self, until_s: Bounded) -> Bounded {
        Bounded::around(
            smallest(&self.at(Corner::Typ), until_s.typ),
            smallest(&self.at(Corner::Slow), until_s.high),
            smallest(&self.at(Corner::Fast), until_s.low),
        )
    }

    /// What the VREF capacitor takes from VCC at the start, V.
    pub fn vref_step_v(&self) -> Bounded {
        let step = |charge: f64, farad: f64| charge / farad;
        let c = self.node.vcc_f;
        Bounded::around(
            step(self.vref_c.typ, c.typ),
            step(self.vref_c.low, c.high),
            step(self.vref_c.high, c.low),
        )
    }
}

fn hold_up(case: &Case, farad: f64) -> f64 {
    let begin_v = case.start_v - case.vref_c / farad;
    if begin_v <= case.stop_v {
        return 0.0;
    }
    let charge = Charge {
        vcc_capacitance_f: farad,
        ..case.charge
    };
    charge.time_s(begin_v, case.stop_v).unwrap_or(f64::INFINITY)
}

/// The hold-up grows with the capacitor, so that halving finds it.
fn smallest(case: &Case, until_s: f64) -> f64 {
    const LEAST: f64 = 1e-12;
    const MOST: f64 = 1e3;
    if hold_up(case, MOST) < until_s {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (LEAST, MOST);
    for _ in 0..200 {
        let middle = (low * high).sqrt();
        if hold_up(case, middle) >= until_s {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}
