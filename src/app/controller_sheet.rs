//! The sheet of one controller: what was searched, what stands in front, and what the library holds of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::commands::Effect;
use super::state::AppState;
use crate::data::{DoNotExceed, Limit, Unit};
use crate::inspect::{
    ControllerError, Found, Library, PinSheet, Profile, ceiling_figures, ceilings, key_of,
    pin_sheet,
};

/// What was chosen.
#[derive(Debug, Clone, Default)]
pub struct ControllerForm {
    /// The search field as typed; `None` is the marking of the run.
    pub search: Option<String>,
    /// Id of the profile in front, where one was chosen among those that match.
    pub front: Option<String>,
    /// The package drawn, where another than the profile's first was chosen.
    pub package: Option<String>,
    /// What the library holds, with what it was looked up by.
    pub seen: Option<Arc<Seen>>,
}

/// A wish about the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum ControllerCommand {
    /// The search field changed.
    Search(String),
    /// Put the profile of this id in front.
    Front(String),
    /// Draw the pins of this package.
    Package(String),
    /// Judge the run by this marking.
    Judge(String),
    /// May the marking be wrong?
    NotTrusted(bool),
}

/// What a look-up depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    marking: String,
    front: Option<String>,
    package: Option<String>,
    not_trusted: bool,
    parts: BTreeMap<String, f64>,
}

/// What the library holds of a marking.
#[derive(Debug, Clone)]
pub struct Seen {
    /// What it was looked up by.
    pub asked: Asked,
    /// Ids and titles of the profiles that match, in order of id.
    pub matches: Vec<(String, String)>,
    /// What to know about the match, or why there is none; may be empty.
    pub note: String,
    /// Markings near what was typed.
    pub near: Vec<String>,
    /// The profile in front.
    pub front: Option<Front>,
}

/// One profile in full.
#[derive(Debug, Clone)]
pub struct Front {
    /// The profile, its pins those of the package drawn.
    pub profile: Profile,
    /// The packages that can be drawn.
    pub packages: Vec<String>,
    /// What to expect at the pins.
    pub pins: Vec<PinSheet>,
    /// What a bench supply must not exceed.
    pub do_not_exceed: DoNotExceed,
    /// Every figure behind it, in volts with its source.
    pub figures: Vec<(f64, String)>,
    /// What each value is, the value, the note on it.
    pub values: Vec<Published>,
    /// Where documents contradict each other.
    pub disagreements: Vec<String>,
    /// What was not read.
    pub gaps: Vec<String>,
    /// The documents cited, and how each was read.
    pub sources: Vec<String>,
}

/// One published value of a profile.
#[derive(Debug, Clone)]
pub struct Published {
    /// Its key.
    pub key: String,
    /// What it is, in words.
    pub meaning: &'static str,
    /// The value.
    pub limit: Limit,
    /// The note on it; may be empty.
    pub note: String,
}

/// Applies a wish.
pub fn apply(state: &mut AppState, command: ControllerCommand) -> Option<Effect> {
    let form = &mut state.controller;
    let group = state.group;
    match command {
        ControllerCommand::Search(text) => {
            form.search = Some(text);
            form.front = None;
            form.package = None;
        }
        ControllerCommand::Front(id) => {
            form.front = Some(id);
            form.package = None;
        }
        ControllerCommand::Package(package) => form.package = Some(package),
        ControllerCommand::Judge(marking) => {
            let marking = marking.trim().to_owned();
            state.marking.clone_from(&marking);
            let options = &mut state.case.groups.get_mut(group)?.options;
            options.controller = (!marking.is_empty()).then_some(marking);
            return Some(Effect::Examine(group));
        }
        ControllerCommand::NotTrusted(not_trusted) => {
            let options = &mut state.case.groups.get_mut(group)?.options;
            options.marking_not_trusted = not_trusted;
            return Some(Effect::Examine(group));
        }
    }
    None
}

/// The text that is searched: what was typed, else the marking of the run.
pub fn searched(state: &AppState) -> String {
    let told = || state.group().and_then(|g| g.options.controller.clone());
    let typed = state.controller.search.clone();
    typed.or_else(told).unwrap_or_default()
}

fn asked(state: &AppState) -> Asked {
    let options = state.group().map(|group| &group.options);
    Asked {
        marking: searched(state),
        front: state.controller.front.clone(),
        package: state.controller.package.clone(),
        not_trusted: options.is_some_and(|o| o.marking_not_trusted),
        parts: options.map(|o| o.parts.clone()).unwrap_or_default(),
    }
}

/// What the library holds of what is searched now; `None` where it was not looked up yet.
pub fn seen(state: &AppState) -> Option<Arc<Seen>> {
    let seen = state.controller.seen.as_ref()?;
    (seen.asked == asked(state)).then(|| Arc::clone(seen))
}

/// Looks up what the sheet shows, where that changed.
pub fn refresh(state: &mut AppState, library: &Library) {
    if seen(state).is_none() {
        let made = look_up(asked(state), library);
        state.controller.seen = Some(Arc::new(made));
    }
}

fn look_up(asked: Asked, library: &Library) -> Seen {
    let mut seen = Seen {
        matches: Vec::new(),
        note: String::new(),
        near: Vec::new(),
        front: None,
        asked,
    };
    let marking = seen.asked.marking.trim().to_owned();
    let named = |profiles: &[&Profile]| -> Vec<(String, String)> {
        let each = profiles.iter();
        each.map(|p| (p.id.clone(), p.title.clone())).collect()
    };
    if marking.is_empty() {
        seen.note = "Type the marking as it stands on the chip.".to_owned();
    } else {
        match found(library, &marking, seen.asked.not_trusted) {
            Ok(found) => {
                seen.matches = named(&found.profiles);
                seen.note = found.note;
            }
            Err(error) => {
                seen.note = error.to_string();
                if let ControllerError::Unknown { near, .. } = error {
                    seen.near = near;
                }
                seen.matches = named(&holding(library, &marking));
            }
        }
    }
    let chosen = seen.asked.front.as_ref();
    let id = chosen.or(seen.matches.first().map(|(id, _)| id));
    let profile = id.and_then(|id| library.profiles().iter().find(|p| p.id == *id));
    seen.front = profile.map(|p| front(library, p, &seen.asked));
    seen
}

fn found<'a>(
    library: &'a Library,
    marking: &str,
    not_trusted: bool,
) -> Result<Found<'a>, ControllerError> {
    match not_trusted {
        true => library.find_class(marking),
        false => library.find(marking),
    }
}

/// Most profiles listed by a part of their name.
const MOST_HOLDING: usize = 40;

/// Profiles in whose title, parts, markings or family the text occurs, for one that is no marking.
fn holding<'a>(library: &'a Library, text: &str) -> Vec<&'a Profile> {
    let wanted = text.to_lowercase();
    let holds = |known: &String| known.to_lowercase().contains(&wanted);
    let all = library.profiles().iter();
    let fits = |p: &&Profile| {
        let names = p.parts.iter().chain(&p.markings);
        holds(&p.title) || holds(&p.family) || names.into_iter().any(holds)
    };
    all.filter(fits).take(MOST_HOLDING).collect()
}

fn front(library: &Library, profile: &Profile, asked: &Asked) -> Front {
    let mut shown = profile.clone();
    let mut packages = vec![profile.package.clone()];
    packages.extend(profile.packages.keys().cloned());
    if let Some((package, pins)) = asked
        .package
        .as_ref()
        .and_then(|package| profile.packages.get_key_value(package))
    {
        shown.package.clone_from(package);
        shown.pins.clone_from(pins);
    }
    let of_it = |ids: &[String]| ids.contains(&profile.id);
    let disagreements = library.disagreements().iter();
    let gaps = library.gaps().iter();
    Front {
        pins: pin_sheet(&shown),
        do_not_exceed: ceilings(&[profile]).with_zener(&asked.parts),
        figures: ceiling_figures(&[profile]),
        values: values(library, profile),
        disagreements: disagreements
            .filter(|one| of_it(&one.profiles))
            .map(|one| one.text.clone())
            .collect(),
        gaps: gaps
            .filter(|gap| of_it(&gap.profiles))
            .map(|gap| gap.text.clone())
            .collect(),
        sources: library.cited(profile),
        packages,
        profile: shown,
    }
}

fn values(library: &Library, profile: &Profile) -> Vec<Published> {
    let one = |(key, limit): (&String, &Limit)| Published {
        key: key.clone(),
        meaning: key_of(key).map_or("", |known| known.meaning),
        limit: limit.clone(),
        note: library.note(&profile.id, key).unwrap_or("").to_owned(),
    };
    let mut all: Vec<Published> = profile.values.iter().map(one).collect();
    // volts first: thresholds and ceilings are what is looked for
    let rank = |unit: Unit| usize::from(unit != Unit::Volt);
    all.sort_by_key(|one| (!one.key.starts_with("vcc"), rank(one.limit.unit)));
    all
}
