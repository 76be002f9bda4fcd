//! From a marking to the profiles that it may stand for.

use super::spelling::{ClassNumber, Reading, distance, in_brackets, number_alone, plain, readings};
use super::{ControllerError, Library, Profile, widest};
use crate::data::{Limit, Status};

/// How a marking led to profiles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MatchKind {
    /// It is the id of one profile.
    Id,
    /// It is a part or a marking of the profiles, if need be without package suffix.
    Marking,
    /// The part has no profile; the profiles are other makers' parts of its class.
    SameClass,
    /// Only the class number is known, not the part.
    ClassNumber,
    /// The marking is not trusted: the profiles are all parts of its class.
    NotTrusted,
}

impl MatchKind {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            MatchKind::Id => "id",
            MatchKind::Marking => "marking",
            MatchKind::SameClass => "same-class",
            MatchKind::ClassNumber => "class-number",
            MatchKind::NotTrusted => "not-trusted",
        }
    }
}

/// Profiles that a marking may stand for.
#[derive(Debug, Clone)]
pub struct Found<'a> {
    /// The candidates, in order of id; never empty.
    pub profiles: Vec<&'a Profile>,
    /// How they were found.
    pub how: MatchKind,
    /// What the user should know about it; empty when there is nothing to say.
    pub note: String,
}

impl Found<'_> {
    /// As [`Library::expected`]. Where the part itself has no profile, the value is taken from
    /// sister parts, and its status says so: at best [`Status::Derived`].
    pub fn expected(&self, key: &str) -> Option<Limit> {
        let mut limit = widest::expected(&self.profiles, key)?;
        if matches!(self.how, MatchKind::SameClass | MatchKind::ClassNumber) {
            limit.status = limit.status.max(Status::Derived);
            limit.status_limits = limit.status_limits.max(Status::Derived);
        }
        Some(limit)
    }
}

/// Looks a marking up; see [`Library::find`].
pub(super) fn find<'a>(library: &'a Library, marking: &str) -> Result<Found<'a>, ControllerError> {
    let all = library.profiles();
    let id = marking.trim();
    if let Some(profile) = all.iter().find(|p| p.id.eq_ignore_ascii_case(id)) {
        return Ok(found(vec![profile], MatchKind::Id, String::new()));
    }
    let readings = readings(marking);
    let by_name = || readings.iter().find_map(|r| read(all, r, by_marking));
    let by_number = || readings.iter().find_map(|r| read(all, r, by_class));
    let mut found = by_name()
        .or_else(by_number)
        .ok_or_else(|| unknown(library, marking))?;
    narrow_by_maker(&mut found, marking);
    Ok(found)
}

fn found(profiles: Vec<&Profile>, how: MatchKind, note: String) -> Found<'_> {
    Found {
        profiles,
        how,
        note,
    }
}

type Rule = for<'a> fn(&'a [Profile], &str, &str) -> Option<Found<'a>>;

/// One way to read the lines on the case; what was left out is said.
fn read<'a>(all: &'a [Profile], reading: &Reading, rule: Rule) -> Option<Found<'a>> {
    let mut found = rule(all, &reading.text, &plain(&reading.text))?;
    if !reading.left_out.is_empty() {
        let left = format!(
            "read as '{}'; '{}' taken for maker, date or lot",
            reading.text, reading.left_out
        );
        found.note = match found.note.is_empty() {
            true => left,
            false => format!("{left}; {}", found.note),
        };
    }
    Some(found)
}

fn by_marking<'a>(all: &'a [Profile], marking: &str, wanted: &str) -> Option<Found<'a>> {
    let class = ClassNumber::read(wanted);
    if wanted.is_empty() || class.is_some_and(|class| class.is_bare()) {
        return None;
    }
    let rounds = super::spelling::without_suffixes(wanted);
    // a number alone stands for every maker's part of that number
    let numbers = wanted.starts_with(|c: char| c.is_ascii_digit());
    let select = |spellings: fn(&Profile) -> Vec<&String>| {
        rounds.iter().find_map(|round| {
            let fits = |profile: &&Profile| {
                let known = spellings(profile).into_iter().map(|known| plain(known));
                let mut known = known.flat_map(|known| {
                    let number = numbers.then(|| number_alone(&known)).flatten();
                    [Some(known), number]
                });
                known.any(|known| known.is_some_and(|known| round.contains(&known)))
            };
            let hits: Vec<&Profile> = all.iter().filter(fits).collect();
            (!hits.is_empty()).then_some(hits)
        })
    };
    if let Some(hits) = select(|p| p.parts.iter().chain(&p.markings).collect()) {
        let note = open_note(marking, &hits);
        return Some(found(hits, MatchKind::Marking, note));
    }
    let hits = select(|p| p.same_class.iter().collect())?;
    let note = format!(
        "'{}' has no profile of its own; shown are parts of the same class by other makers, whose \
         limits are an expectation only",
        marking.trim()
    );
    Some(found(hits, MatchKind::SameClass, note))
}

fn open_note(marking: &str, hits: &[&Profile]) -> String {
    match hits {
        [] | [_] => String::new(),
        many => format!(
            "'{}' is the marking of {} profiles; the widest limits apply",
            marking.trim(),
            many.len()
        ),
    }
}

fn by_class<'a>(all: &'a [Profile], marking: &str, wanted: &str) -> Option<Found<'a>> {
    let class = ClassNumber::read(wanted)?;
    let belongs = |same_prefix: bool| {
        let of_class = |part: &String| {
            ClassNumber::read(&plain(part)).is_some_and(|part| {
                class.holds(&part) && (!same_prefix || class.prefix == part.prefix)
            })
        };
        let hits = all.iter().filter(|p| p.parts.iter().any(of_class));
        hits.collect::<Vec<_>>()
    };
    let letter = class.letter.map(String::from).unwrap_or_default();
    let read_as = format!("{}{letter}", class.number.replace('X', "x"));
    let marking = marking.trim();
    let of_prefix = belongs(true);
    if !class.is_bare() && !of_prefix.is_empty() {
        let note = format!(
            "the ending '{}' of '{marking}' is not known; read as {}{read_as}",
            class.rest, class.prefix
        );
        return Some(found(of_prefix, MatchKind::ClassNumber, note));
    }
    let hits = belongs(false);
    let note = if class.is_bare() {
        format!(
            "'{marking}' names a class, not a part: all {} profiles of it",
            hits.len()
        )
    } else {
        format!(
            "'{marking}' is not known; read as class {read_as}: all {} profiles of it, whose \
             limits are an expectation only",
            hits.len()
        )
    };
    (!hits.is_empty()).then(|| found(hits, MatchKind::ClassNumber, note))
}

/// `UC3844 (TI)` keeps the profiles of that maker, if there are any.
fn narrow_by_maker(found: &mut Found, marking: &str) {
    let Some(maker) = in_brackets(marking) else {
        return;
    };
    let wanted: Vec<&str> = words(&maker).collect();
    let fits = |p: &&Profile| {
        let named = format!("{} {}", p.maker, p.title).to_lowercase();
        let begins = |word: &&str| words(&named).any(|known| known.starts_with(*word));
        wanted.iter().all(begins)
    };
    let kept: Vec<&Profile> = found.profiles.iter().copied().filter(fits).collect();
    if kept.is_empty() {
        found.note = format!("no profile by '{maker}'; {}", found.note);
        return;
    }
    if found.how == MatchKind::Marking {
        found.note = open_note(marking, &kept);
    }
    found.profiles = kept;
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
}

fn unknown(library: &Library, marking: &str) -> ControllerError {
    let wanted = plain(marking);
    let mut near: Vec<(usize, String)> = library
        .profiles()
        .iter()
        .flat_map(|p| p.parts.iter().chain(&p.markings).chain(&p.same_class))
        .map(|known| (distance(&wanted, &plain(known)), plain(known)))
        .filter(|(far, known)| *far <= 2 && *far < wanted.len() && known.len() > 3)
        .collect();
    near.sort();
    near.dedup();
    near.truncate(5);
    let missing = library.gaps().iter().find(|gap| {
        let parts = gap.parts.iter();
        let mut parts = parts.map(|part| plain(part));
        parts.any(|part| wanted.starts_with(part.trim_end_matches('X')))
    });
    ControllerError::Unknown {
        marking: marking.trim().to_owned(),
        near: near.into_iter().map(|(_, known)| known).collect(),
        gap: missing.map(|gap| gap.text.clone()).unwrap_or_default(),
    }
}
