//! What the user knows and types in: hand readings, parts, and what each channel was recorded with.
//! A field holds a draft until it is left; then it becomes an option, or stays with the reason why
//! it could not.

use super::commands::Effect;
use super::state::AppState;
use crate::data::options::ChannelChoice;
use crate::data::typed::{self, MarkedPart, PARTS};
use crate::data::{Capture, Options};

/// Something that can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// A hand reading, also of a part, by the name that scripts use.
    Reading(&'static str),
    /// A part of the board, by the name that scripts use.
    Part(&'static str),
    /// Factor of the probe on a channel, by 0-based shot and channel.
    Factor(usize, usize),
    /// DC accuracy of a channel, by 0-based shot and channel.
    Accuracy(usize, usize),
    /// Accuracy of the multimeter.
    Meter,
}

impl Field {
    /// Does it belong to a channel of a shot?
    pub fn of_channel(self) -> bool {
        matches!(self, Field::Factor(..) | Field::Accuracy(..))
    }
}

/// A text that is not entered yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// As typed.
    pub text: String,
    /// Why it could not be entered.
    pub wrong: Option<String>,
}

/// The text of a field: its draft, else what the options hold, else nothing.
pub fn text(state: &AppState, field: Field) -> String {
    match state.drafts.get(&(state.group, field)) {
        Some(draft) => draft.text.clone(),
        None => state.group().map_or_else(String::new, |group| {
            held(&group.options, field, capture_of(state, field))
        }),
    }
}

/// Keeps what was typed as a draft.
pub fn edit(state: &mut AppState, field: Field, text: String) {
    let draft = Draft { text, wrong: None };
    state.drafts.insert((state.group, field), draft);
}

/// Makes an option of a draft; an empty one takes the option back. What it changes is inspected
/// again; a draft that means nothing stays, with the reason.
pub fn enter(state: &mut AppState, field: Field) -> Option<Effect> {
    let index = state.group;
    let text = state.drafts.get(&(index, field))?.text.trim().to_owned();
    let mut options = state.group()?.options.clone();
    match tell(&mut options, field, &text, capture_of(state, field)) {
        Ok(()) => {
            state.drafts.remove(&(index, field));
        }
        Err(why) => {
            if let Some(draft) = state.drafts.get_mut(&(index, field)) {
                draft.wrong = Some(why);
            }
            return None;
        }
    }
    let group = state.case.groups.get_mut(index)?;
    if group.options == options {
        return None;
    }
    group.options = options;
    Some(Effect::Examine(index))
}

fn capture_of(state: &AppState, field: Field) -> Option<&Capture> {
    let (Field::Factor(shot, _) | Field::Accuracy(shot, _)) = field else {
        return None;
    };
    Some(&state.group()?.shots.get(shot)?.capture)
}

/// Does a choice name this channel? The last one that does holds.
pub(super) fn names(
    choice: &ChannelChoice,
    shot: usize,
    channel: usize,
    capture: &Capture,
) -> bool {
    let here = choice.capture.is_none_or(|number| number == shot + 1);
    let number = (channel + 1).to_string();
    let name = capture.channels.get(channel).map(|channel| &channel.name);
    here && (choice.channel == number || Some(&choice.channel) == name)
}

fn held(options: &Options, field: Field, capture: Option<&Capture>) -> String {
    let kind = |name: &str| typed::reading_kind(name).unwrap_or(typed::Kind::Ratio);
    match field {
        Field::Reading(name) => options
            .readings
            .get(name)
            .map_or_else(String::new, |value| typed::written(*value, kind(name))),
        Field::Part(name) => held_part(options, name),
        Field::Factor(shot, channel) => {
            let of_it = |choice| capture.is_some_and(|c| names(choice, shot, channel, c));
            let found = options.probes.iter().rev().find(|(c, _)| of_it(c));
            found.map_or_else(String::new, |(_, factor)| {
                typed::written(*factor, typed::Kind::Ratio)
            })
        }
        Field::Accuracy(shot, channel) => {
            let of_it = |choice| capture.is_some_and(|c| names(choice, shot, channel, c));
            let found = options.accuracies.iter().rev().find(|(c, _)| of_it(c));
            found.map_or_else(String::new, |(_, given)| typed::written_spread(*given))
        }
        Field::Meter => options
            .meter
            .map_or_else(String::new, typed::written_spread),
    }
}

/// A part as it was marked, else its value.
fn held_part(options: &Options, name: &str) -> String {
    let plain = |value: &f64| {
        let known = PARTS.iter().find(|part| part.0 == name);
        typed::written(*value, known.map_or(typed::Kind::Ratio, |part| part.1))
    };
    let value = options.parts.get(name);
    let mark = match value {
        Some(_) => options.mark(name),
        None => options.marks.get(name),
    };
    // only what is read back as the same
    let shown = mark.map(MarkedPart::shown).filter(|shown| {
        let back = typed::marked_part(name, shown);
        back.is_ok_and(|back| mark.is_some_and(|mark| back.shown() == mark.shown()))
    });
    shown.or_else(|| value.map(plain)).unwrap_or_default()
}

/// A part as typed: its value, and the mark with its tolerance; parts that only the budget asks for
/// have the mark alone.
fn tell_part(options: &mut Options, name: &str, text: &str) -> Result<(), String> {
    let mark = typed::marked_part(name, text)?;
    if PARTS.iter().any(|part| part.0 == name) {
        options.parts.insert(name.to_owned(), mark.value());
    }
    options.marks.insert(name.to_owned(), mark);
    Ok(())
}

fn tell(
    options: &mut Options,
    field: Field,
    text: &str,
    capture: Option<&Capture>,
) -> Result<(), String> {
    let given = !text.is_empty();
    match field {
        Field::Reading(name) if given => {
            let value = typed::reading(name, text)?;
            options.readings.insert(name.to_owned(), value);
        }
        Field::Reading(name) => drop(options.readings.remove(name)),
        Field::Part(name) => {
            options.parts.remove(name);
            options.marks.remove(name);
            if given {
                tell_part(options, name, text)?;
            }
        }
        Field::Factor(shot, channel) => {
            let value = given.then(|| typed::factor(text)).transpose()?;
            let place = (shot, channel, capture);
            of_channel(&mut options.probes, place, value);
        }
        Field::Accuracy(shot, channel) => {
            let value = given.then(|| typed::spread(text)).transpose()?;
            let place = (shot, channel, capture);
            of_channel(&mut options.accuracies, place, value);
        }
        Field::Meter => options.meter = given.then(|| typed::spread(text)).transpose()?,
    }
    Ok(())
}

/// Puts a value in place of all that was said of this channel in this shot alone.
fn of_channel<T>(
    list: &mut Vec<(ChannelChoice, T)>,
    (shot, channel, capture): (usize, usize, Option<&Capture>),
    value: Option<T>,
) {
    let Some(capture) = capture else { return };
    list.retain(|(choice, _)| !(names(choice, shot, channel, capture) && choice.capture.is_some()));
    let choice = ChannelChoice {
        capture: Some(shot + 1),
        channel: (channel + 1).to_string(),
    };
    list.extend(value.map(|value| (choice, value)));
}
