//! The VCC node with bounds: two corners hold every combination.
//!
//! Before a start C·dV/dt = (Vb − V)/R − I − V/R_leak. At any V between 0 and Vb the right side grows with Vb
//! and falls with R, I and 1/R_leak, and C only slows it down where it is positive. So one corner is
//! the fastest at every V and one the slowest, whatever the others are (comparison of differential equations), and
//! time, final voltage and spare current take their extremes there.
//!
//! The standby current is constant here. In truth it falls with VCC below about 2 V; the fast corner draws none
//! there, so that its time is a bound for that as well.

use crate::data::Bounded;
use crate::startup::charge::{Charge, Never};

/// Below this VCC the standby current may fall to nothing, V (common practice).
pub const KNEE_V: f64 = 2.0;

/// One of the three values of bounds.
type Pick = fn(&Bounded) -> f64;

/// The node before a start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Bulk, V.
    pub bulk_v: Bounded,
    /// Start resistor, Ω.
    pub start_ohm: Bounded,
    /// VCC capacitor, F; NaN where it is not known, which leaves times out.
    pub vcc_f: Bounded,
    /// Standby current and the capacitor's leakage, A.
    pub standby_a: Bounded,
    /// Leakage to ground, Ω; infinite for none.
    pub leakage_ohm: Bounded,
}

/// Which combination of the bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    /// Everything that delays.
    Slow,
    /// Nominal values.
    Typ,
    /// Everything that helps.
    Fast,
}

impl Node {
    /// The node at a corner.
    pub fn at(&self, corner: Corner) -> Charge {
        let (helps, delays): (Pick, Pick) = match corner {
            Corner::Slow => (|b| b.low, |b| b.high),
            Corner::Typ => (|b| b.typ, |b| b.typ),
            Corner::Fast => (|b| b.high, |b| b.low),
        };
        Charge {
            bulk_v: helps(&self.bulk_v),
            start_resistance_ohm: delays(&self.start_ohm),
            vcc_capacitance_f: delays(&self.vcc_f),
            current_a: delays(&self.standby_a),
            leakage_ohm: helps(&self.leakage_ohm),
        }
    }

    /// A figure at all three corners.
    pub fn bounded(&self, figure: impl Fn(&Charge, Corner) -> f64) -> Bounded {
        let at = |corner| figure(&self.at(corner), corner);
        Bounded::around(at(Corner::Typ), at(Corner::Slow), at(Corner::Fast))
    }

    /// Current through the start resistor into an empty capacitor, A.
    pub fn charging_a(&self) -> Bounded {
        self.bounded(|charge, _| charge.start_current_a(0.0))
    }

    /// Where VCC would end, V; not below 0, since the current drawn falls with VCC.
    pub fn final_v(&self) -> Bounded {
        self.bounded(|charge, _| charge.final_v().max(0.0))
    }

    /// Current left for the capacitor at the start threshold, A.
    pub fn spare_a(&self, start_v: Bounded) -> Bounded {
        self.bounded(|charge, corner| {
            let v = threshold(start_v, corner);
            charge.start_current_a(v) - charge.current_a - v / charge.leakage_ohm
        })
    }

    /// From 0 V to the start, s; infinite where it never gets there.
    pub fn time_s(&self, start_v: Bounded) -> Bounded {
        self.bounded(|charge, corner| {
            let level = threshold(start_v, corner);
            let time = match corner {
                Corner::Fast => fastest_s(charge, level),
                _ => charge.time_s(0.0, level),
            };
            time.unwrap_or(f64::INFINITY)
        })
    }

    /// Largest start resistor, Ω.
    pub fn largest_start_ohm(&self, start_v: Bounded) -> Bounded {
        self.bounded(|charge, corner| {
            let most = charge.largest_start_resistor_ohm(threshold(start_v, corner));
            most.max(0.0)
        })
    }
}

/// The same node while it draws no standby current.
pub(super) fn drawing_nothing(charge: &Charge) -> Charge {
    Charge {
        current_a: 0.0,
        ..*charge
    }
}

/// To a level with no standby current drawn up to the knee.
fn fastest_s(charge: &Charge, level_v: f64) -> Result<f64, Never> {
    let knee_v = KNEE_V.min(level_v);
    let to_knee = drawing_nothing(charge).time_s(0.0, knee_v)?;
    Ok(to_knee + charge.time_s(knee_v, level_v)?)
}

/// A slow start has the highest threshold.
pub fn threshold(start_v: Bounded, corner: Corner) -> f64 {
    match corner {
        Corner::Slow => start_v.high,
        Corner::Typ => start_v.typ,
        Corner::Fast => start_v.low,
    }
}
