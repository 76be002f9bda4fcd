//! What can go wrong with profiles and markings.

/// Why a profile or a marking can't be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ControllerError {
    /// No profile has this marking.
    #[error("no controller is known by the marking '{marking}'{}", hint(near, gap))]
    Unknown {
        /// The marking as typed.
        marking: String,
        /// Known markings that look like it.
        near: Vec<String>,
        /// What is known of why it has no profile; empty when nothing is.
        gap: String,
    },
    /// A profile file breaks the rules of its schema.
    #[error("{file}, line {line}, {key}: {what}")]
    Malformed {
        /// Name of the file.
        file: String,
        /// 1-based line.
        line: usize,
        /// Profile and key concerned, as far as known.
        key: String,
        /// What is wrong with it.
        what: String,
    },
    /// A folder or file of profiles can't be read.
    #[error("{path} can't be read: {why}")]
    Unreadable {
        /// The folder or file.
        path: String,
        /// What the system said.
        why: String,
    },
}

fn hint(near: &[String], gap: &str) -> String {
    let mut hint = String::new();
    if !gap.is_empty() {
        hint.push_str(": ");
        hint.push_str(gap.trim_end_matches('.'));
    }
    if !near.is_empty() {
        hint.push_str("; near it: ");
        hint.push_str(&near.join(", "));
    }
    hint
}
