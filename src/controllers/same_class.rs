//! All parts of one class, for a marking that is not trusted.

use std::collections::{BTreeMap, BTreeSet};

use super::find::{Found, MatchKind};
use super::spelling::{ClassNumber, plain};
use super::{ControllerError, Library, Profile};

/// Adds to what a marking led to every profile that lists of replacements join with it: a shared
/// name, or the same class number, and the same ratio of oscillator to OUT.
pub(super) fn widen<'a>(
    library: &'a Library,
    found: Found<'a>,
    marking: &str,
) -> Result<Found<'a>, ControllerError> {
    let mut names = BTreeSet::new();
    let mut members: Vec<&Profile> = Vec::new();
    let ratio = found.profiles.first().and_then(|p| p.divide);
    for profile in &found.profiles {
        names.extend(names_of(profile));
        members.push(profile);
    }
    // each pass joins the neighbours of all members; a pass without a new one is the last
    loop {
        let known = |p: &&Profile| members.iter().any(|m| m.id == p.id);
        let joins = |p: &&Profile| !names_of(p).is_disjoint(&names);
        let all = library.profiles().iter();
        let new: Vec<&Profile> = all
            .filter(|p| p.divide == ratio && !known(p) && joins(p))
            .collect();
        if new.is_empty() {
            break;
        }
        names.extend(new.iter().flat_map(|p| names_of(p)));
        members.extend(new);
    }
    members.sort_by(|a, b| a.id.cmp(&b.id));
    let note = format!(
        "'{}' is not trusted: all {} profiles of its class are candidates, the widest limits apply",
        marking.trim(),
        members.len()
    );
    let note = match found.note.is_empty() {
        true => note,
        false => format!("{}; {note}", found.note),
    };
    Ok(Found {
        profiles: members,
        how: MatchKind::NotTrusted,
        note,
    })
}

/// The class of each profile, as a number: those that lists of replacements join, over any number of
/// steps, and that have the same ratio of oscillator to OUT.
pub(super) fn classes(profiles: &[Profile]) -> Vec<usize> {
    let mut class: Vec<usize> = (0..profiles.len()).collect();
    let mut known: BTreeMap<(Option<u32>, String), usize> = BTreeMap::new();
    for (at, profile) in profiles.iter().enumerate() {
        for name in names_of(profile) {
            let first = *known.entry((profile.divide, name)).or_insert(at);
            let (from, to) = (class[at], class[first]);
            if from != to {
                let joined = class.iter_mut().filter(|one| **one == from);
                joined.for_each(|one| *one = to);
            }
        }
    }
    class
}

/// Every name of a profile in plain spelling, its replacements, and its class number without grade
/// and letter.
fn names_of(profile: &Profile) -> BTreeSet<String> {
    let told = profile.parts.iter().chain(&profile.markings);
    let all = told.chain(&profile.same_class).map(|name| plain(name));
    // a series name, as GM384x, stands for several classes
    let series = |name: &str| ClassNumber::read(name).is_some_and(|c| c.number.contains('X'));
    let mut names: BTreeSet<String> = all.filter(|name| name.len() > 3 && !series(name)).collect();
    let number = |part: &String| Some(ClassNumber::read(&plain(part))?.number.split_off(1));
    names.extend(profile.parts.iter().filter_map(number));
    names
}
