//! The shot list.

use crate::app::sheet;
use crate::app::state::AppState;
use crate::data::text::harmless;
use crate::data::{InspectedCapture, Proposed, Role, Setup};
use crate::inspect;

/// One shot of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShotModel {
    /// Number shown, from 1.
    pub number: usize,
    /// `sweep`, `start`, `running`, or `kind not known`.
    pub kind: String,
    /// Pins recorded.
    pub pins: String,
    /// File name, made harmless.
    pub file: String,
    /// How the unit was fed, if known.
    pub setup: Option<Setup>,
    /// Why kind and set-up are what they are.
    pub reason: String,
    /// Is it shown?
    pub chosen: bool,
    /// Can it be looked at how its file was read?
    pub from_file: bool,
    /// Accessible name.
    pub spoken: String,
    /// Each channel with its pin, and how sure that is.
    pub channels: Vec<PinModel>,
}

/// A channel with its pin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PinModel {
    /// `CH1: VCC (7), likely 97 %`.
    pub text: String,
    /// Why.
    pub reason: String,
}

/// One line a channel, before the inspection too, so that nothing moves when it is done.
fn pins(shot: &inspect::Shot, found: Option<&InspectedCapture>) -> Vec<PinModel> {
    let channels = shot.capture.channels.iter().enumerate();
    channels
        .map(|(index, channel)| {
            let known = found.and_then(|found| found.channels.get(index));
            let (words, reason) = known.map_or_else(
                || ("not inspected yet".to_owned(), String::new()),
                |known| (pin_words(&known.role), known.role.reason.clone()),
            );
            PinModel {
                text: format!("{}: {words}", harmless(&channel.name, 16)),
                reason,
            }
        })
        .collect()
}

/// `VCC (7), likely 97 %`.
fn pin_words(role: &Proposed<Role>) -> String {
    let title = role
        .value
        .map_or_else(|| "pin not known".to_owned(), Role::title_with_pin);
    let sure = if role.by_user {
        Some("set by you".to_owned())
    } else {
        role.sureness()
    };
    sure.map_or_else(|| title.clone(), |sure| format!("{title}, {sure}"))
}

/// Longest file name shown in the list.
const LONGEST_NAME: usize = 64;

/// Shots with one channel each and equal times, which may be one, with the words that offer it.
pub fn together(state: &AppState) -> Vec<(Vec<usize>, String)> {
    let shots = state
        .group()
        .map_or(&[][..], |group| group.shots.as_slice());
    let words = |group: Vec<usize>| {
        let numbers: Vec<String> = group.iter().map(|index| (index + 1).to_string()).collect();
        let text = format!("Make one shot of {}", numbers.join(", "));
        (group, text)
    };
    inspect::together(shots).into_iter().map(words).collect()
}

/// The shots of the group shown.
pub fn shots(state: &AppState) -> Vec<ShotModel> {
    let Some(group) = state.group() else {
        return Vec::new();
    };
    let inspected = |index: usize| state.inspection().and_then(|i| i.captures.get(index));
    group
        .shots
        .iter()
        .enumerate()
        .map(|(index, shot)| {
            let found = inspected(index);
            let kind = found.and_then(|found| found.kind.value);
            let kind = kind.map_or("kind not known", |kind| kind.id()).to_owned();
            let roles: Vec<&str> = found
                .map(|found| &found.channels[..])
                .unwrap_or(&[])
                .iter()
                .filter_map(|channel| channel.role.value)
                .map(Role::title)
                .collect();
            let file = harmless(&shot.capture.file, LONGEST_NAME);
            let reason = found.map_or_else(String::new, |found| {
                format!(
                    "kind: {}\nset-up: {}",
                    found.kind.reason, found.setup.reason
                )
            });
            let channels = pins(shot, found);
            let pins = roles.join(" + ");
            let setup = found.and_then(|found| found.setup.value);
            ShotModel {
                number: index + 1,
                spoken: format!("Shot {}: {kind}, {pins}, {file}", index + 1),
                kind,
                pins,
                file,
                setup,
                reason,
                chosen: index == state.shot,
                channels,
                from_file: sheet::origin_of(state, index).is_some(),
            }
        })
        .collect()
}
