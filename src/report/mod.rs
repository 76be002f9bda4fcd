//! What is known, made ready for a reader: objects for scripts and text for a person.
//!
//! Pure functions over [`crate::data`]: nothing here measures, reads a file, prints or knows a
//! clock. Start reading at [`json::inspection`] and [`text::case`]. Both faces may use them.

pub mod csv;
mod escape;
pub mod html;
pub mod job;
pub mod json;
pub mod svg;
pub mod text;

#[cfg(test)]
pub(crate) mod example;
mod reading;
mod written;

pub use job::JobReport;
pub use reading::{FileReading, Shown};
pub use text::{step_thresholds, trimmed};
pub use written::{Format, written};
