//! Why a file could not be read.

/// Why a file could not be read: each says where, what, and what to try.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FormatError {
    /// Nothing in it.
    #[error("{file}: the file is empty; save the capture again")]
    Empty {
        /// File name.
        file: String,
    },
}
