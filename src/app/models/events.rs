//! The walk along the starts and stops, as words and two buttons.

use super::details::event_words;
use crate::app::events::{self, Step};
use crate::app::state::AppState;

/// Where the walk is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EventsModel {
    /// Beside the buttons: `event 2 of 6`.
    pub text: String,
    /// `start 15.98 ± 0.43 V, seen on VREF, shot 1, 224 ± 12 ms`; what there is before the walk begins.
    pub spoken: String,
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
        Some((index, _)) => format!("event {} of {}", index + 1, all.len()),
        None if all.len() == 1 => "1 event".to_owned(),
        None => format!("{} events", all.len()),
    };
    let spoken = here.map_or_else(
        || "the starts and stops of this run".to_owned(),
        |(_, event)| event_words(event),
    );
    Some(EventsModel {
        text,
        spoken,
        back: events::target(state, Step::Back).is_some(),
        on: events::target(state, Step::On).is_some(),
    })
}
