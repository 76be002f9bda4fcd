//! The walk along the starts and stops, as words and two buttons.

use super::details::event_words;
use crate::app::events::{self, Step};
use crate::app::state::AppState;

/// Where the walk is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EventsModel {
    /// `2 of 6: start 15.98 ± 0.43 V, seen on VREF, shot 1, 224 ± 12 ms`.
    pub text: String,
    /// Is there one before?
    pub back: bool,
    /// Is there a next one?
    pub on: bool,
}

/// The walk of the run shown; `None` without an inspection, and where nothing starts or stops.
pub fn events(state: &AppState) -> Option<EventsModel> {
    let all = &state.inspection()?.events;
    if all.is_empty() {
        return None;
    }
    let here = events::current(state).and_then(|index| Some((index, all.get(index)?)));
    let text = match here {
        Some((index, event)) => format!("{} of {}: {}", index + 1, all.len(), event_words(event)),
        None if all.len() == 1 => "one start or stop in this run".to_owned(),
        None => format!("{} starts and stops in this run", all.len()),
    };
    Some(EventsModel {
        text,
        back: events::target(state, Step::Back).is_some(),
        on: events::target(state, Step::On).is_some(),
    })
}
