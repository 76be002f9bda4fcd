//! A comparison with the names of its sides.

use crate::data::Comparison;

/// Two sides set against each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Name of the side before.
    pub before: String,
    /// Name of the side after.
    pub after: String,
    /// What changed.
    pub comparison: Comparison,
}
