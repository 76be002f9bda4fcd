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

/// The facts of every channel of a capture, and one cycle of each laid over many where a channel of
/// the capture gives a clock.
pub fn facts_of(capture: &Capture, runner: &dyn Runner) -> Vec<Arc<Facts>> {
    let slots: Vec<Mutex<Facts>> = capture.channels.iter().map(|_| Mutex::default()).collect();
    runner.run(slots.len(), &|index| {
        let facts = signal::of_channel(&capture.channels[index]);
        *slots[index].lock().unwrap_or_else(PoisonError::into_inner) = facts;
    });
    let mut facts: Vec<Facts> = slots
        .into_iter()
        .map(|slot| slot.into_inner().unwrap_or_else(PoisonError::into_inner))
        .collect();
    let folds = signal::fold::of_capture(capture, &facts);
    for (facts, fold) in facts.iter_mut().zip(folds) {
        facts.fold = fold;
    }
    facts.into_iter().map(Arc::new).collect()
}
