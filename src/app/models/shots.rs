//! The shot list.

use crate::app::sheet;
use crate::app::state::AppState;
use crate::data::Setup;
use crate::data::text::harmless;
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
            let pins: Vec<&str> = found
                .map(|found| &found.channels[..])
                .unwrap_or(&[])
                .iter()
                .filter_map(|channel| channel.role.value)
                .map(crate::data::Role::title)
                .collect();
            let file = harmless(&shot.capture.file, LONGEST_NAME);
            let reason = found.map_or_else(String::new, |found| {
                format!(
                    "kind: {}\nset-up: {}",
                    found.kind.reason, found.setup.reason
                )
            });
            let pins = pins.join(" + ");
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
                from_file: sheet::origin_of(state, index).is_some(),
            }
        })
        .collect()
}
