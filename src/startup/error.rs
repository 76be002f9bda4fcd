//! Why there is no simulated capture.

/// Why a simulation gave nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SimulateError {
    /// No fault of this word can be simulated.
    #[error("no fault called '{0}' can be simulated; there are: {1}")]
    UnknownCause(String, String),
    /// The controller starts and stops so often that the run needs too many segments.
    #[error("more than {limit} segments before {at_s} s: the controller chatters")]
    TooManyChanges {
        /// Segments allowed.
        limit: usize,
        /// Time reached, in seconds.
        at_s: f64,
    },
    /// A part value makes no sense.
    #[error("the part value {name} is {value}; it has to be {wanted}")]
    Part {
        /// Field of [`super::unit::UnitParts`].
        name: &'static str,
        /// Its value.
        value: f64,
        /// What is accepted.
        wanted: &'static str,
    },
}
