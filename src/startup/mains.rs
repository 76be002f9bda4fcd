//! Start on mains: VCC is charged from the bulk through the start resistor.

use super::engine::{self, Branch, Feed, Now};
use super::error::SimulateError;
use super::timeline::Timeline;
use super::unit::UnitParts;

/// A start on mains, with a constant bulk voltage from the moment of switching on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MainsStart {
    /// When mains comes on, s.
    pub on_s: f64,
    /// End of the run, s.
    pub end_s: f64,
}

impl MainsStart {
    /// Runs a unit, from all capacitors empty.
    ///
    /// # Errors
    /// [`SimulateError::Part`] or [`SimulateError::TooManyChanges`].
    pub fn run(&self, parts: &UnitParts) -> Result<Timeline, SimulateError> {
        engine::run(parts, self, self.end_s)
    }
}

impl Feed for MainsStart {
    fn branch(&self, parts: &UnitParts, now: &Now) -> Branch {
        let conductance_s = parts.start_resistance_ohm.recip();
        Branch {
            current_a: self.bulk_v(parts, now.at_s) * conductance_s,
            slope_a_s: 0.0,
            conductance_s,
            holds_s: if now.at_s < self.on_s {
                self.on_s - now.at_s
            } else {
                f64::INFINITY
            },
        }
    }

    fn bulk_v(&self, parts: &UnitParts, at_s: f64) -> f64 {
        if at_s < self.on_s { 0.0 } else { parts.bulk_v }
    }

    fn mains_on_s(&self) -> Option<f64> {
        Some(self.on_s)
    }
}
