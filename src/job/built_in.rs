//! The record that comes with the program, embedded; its captures are those of the built-in unit.

use std::sync::Arc;

use super::load::{Loaded, Told, load_from};
use super::text;
use crate::data::job::Job;
use crate::data::{Progress, Source};
use crate::inspect::{self, InspectError};

const RECORD: &str = include_str!("../../captures/gv24/job.toml");

/// The built-in job. `told` as for [`super::load()`].
///
/// # Errors
/// As [`load_from`].
pub fn demo(told: &Told<'_>, progress: &Progress) -> Result<Loaded, InspectError> {
    let job = built_in_record()?;
    let open = |file: &str| -> Option<Arc<dyn Source>> { inspect::demo_capture(file) };
    load_from(job, &open, told, progress)
}

/// The built-in record alone.
///
/// # Errors
/// [`InspectError::Option`] where it can't be read, which a test rules out.
pub fn built_in_record() -> Result<Job, InspectError> {
    text::read("job.toml", RECORD)
        .map_err(|error| InspectError::Option(format!("built-in record: {error}")))
}
