//! Thresholds over all sweeps of a run.

use super::quantity::Quantity;
use super::value::Value;

/// One threshold over several shots of a run, or why they can't be joined.
#[derive(Debug, Clone, PartialEq)]
pub struct Joined {
    /// Start or stop threshold, or hysteresis.
    pub quantity: Quantity,
    /// Indices of the captures that gave it.
    pub captures: Vec<usize>,
    /// Mean over all events of these captures; `None` where they contradict each other.
    pub value: Option<Value>,
    /// Why they are not joined, as a sentence; empty where they are.
    pub why_not: String,
}
