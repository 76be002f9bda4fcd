//! The walk along the starts and stops of the run.

use super::places;
use super::state::{AppState, Explained};
use crate::data::Event;

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// To the one before.
    Back,
    /// To the next.
    On,
}

/// Index of the start or stop that is explained now.
pub fn current(state: &AppState) -> Option<usize> {
    match state.explained {
        Some(Explained::Event(index)) => Some(index),
        _ => None,
    }
}

/// Index of the start or stop that a step leads to, by shot and time; `None` at either end, and where
/// there is none at all. From anything else but an event the walk begins in the shot shown.
pub fn target(state: &AppState, step: Step) -> Option<usize> {
    let events = &state.inspection()?.events;
    let here = current(state).and_then(|index| events.get(index).map(|e| (index, e)));
    let after = |event: &Event, shot: usize, at_s: f64| (event.capture, event.at_s) > (shot, at_s);
    let before = |event: &Event, shot: usize, at_s: f64| (event.capture, event.at_s) < (shot, at_s);
    let (shot, at_s) = match (here, step) {
        (Some((_, event)), _) => (event.capture, event.at_s),
        (None, Step::On) => (state.shot, f64::NEG_INFINITY),
        (None, Step::Back) => (state.shot, f64::INFINITY),
    };
    let mut numbered = events.iter().enumerate();
    let found = match step {
        Step::On => numbered.find(|(_, e)| after(e, shot, at_s)),
        Step::Back => numbered.rfind(|(_, e)| before(e, shot, at_s)),
    };
    found.map(|(index, _)| index)
}

/// Explains the start or stop that a step leads to and shows its place; nothing at either end.
pub fn step(state: &mut AppState, step: Step) {
    if let Some(index) = target(state, step) {
        places::visit(state, Explained::Event(index));
    }
}
