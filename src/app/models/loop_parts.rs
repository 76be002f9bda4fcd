//! Upward and downward parts of a sweep, and the thresholds to mark on the VCC axis.

pub use crate::inspect::view::sweep::{LoopLevel, LoopPart, levels, parts};
