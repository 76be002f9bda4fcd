//! Reading a source and finding the facts of its channels, on all cores.

use std::sync::{Arc, Mutex, PoisonError};

use crate::data::{Capture, Facts, Progress, Runner, Source};
use crate::formats::{self, ReadOptions};
use crate::signal;

use super::{InspectError, Shot, ThreadRunner};

/// Reads a source and finds the facts of every channel, on all cores.
///
/// # Errors
/// [`InspectError::Format`] or [`InspectError::Cancelled`].
pub fn load(
    source: &Arc<dyn Source>,
    options: &ReadOptions,
    progress: &Progress,
) -> Result<Vec<Arc<Shot>>, InspectError> {
    let runner = ThreadRunner::new();
    let captures = formats::read(source, options, &runner, progress)?;
    captures
        .into_iter()
        .map(|capture| {
            progress.check()?;
            let facts = facts_of(&capture, &runner);
            Ok(Arc::new(Shot {
                capture: Arc::new(capture),
                facts,
            }))
        })
        .collect()
}

/// The facts of every channel of a capture.
pub fn facts_of(capture: &Capture, runner: &dyn Runner) -> Vec<Arc<Facts>> {
    let slots: Vec<Mutex<Option<Arc<Facts>>>> =
        capture.channels.iter().map(|_| Mutex::new(None)).collect();
    runner.run(slots.len(), &|index| {
        let facts = Arc::new(signal::of_channel(&capture.channels[index]));
        *slots[index].lock().unwrap_or_else(PoisonError::into_inner) = Some(facts);
    });
    slots
        .into_iter()
        .map(|slot| {
            slot.into_inner()
                .unwrap_or_else(PoisonError::into_inner)
                .unwrap_or_default()
        })
        .collect()
}
