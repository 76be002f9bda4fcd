//! What can go wrong with profiles and markings.

/// Why a profile or a marking can't be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ControllerError {
    /// No profile has this marking.
    #[error("no controller is known by the marking '{marking}'{}", hint(near))]
    Unknown {
        /// The marking as typed.
        marking: String,
        /// Known markings that look like it.
        near: Vec<String>,
    },
}

fn hint(near: &[String]) -> String {
    if near.is_empty() {
        String::new()
    } else {
        format!("; near it: {}", near.join(", "))
    }
}
