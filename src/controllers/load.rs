//! From the text of a profile file to checked profiles in SI base units.

use std::collections::BTreeMap;
use std::ops::Range;

use toml::Spanned;

use super::keys::{key_of, unit_of};
use super::raw::{RawFile, RawProfile, RawSource, RawValue};
use super::{ControllerError, Profile};
use crate::data::{Limit, Status};

/// Version of the file format that this program reads.
pub(super) const SCHEMA: u32 = 1;

/// A document that profiles cite, and how it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceDocument {
    /// The short form used in [`Limit::source`].
    pub cite: String,
    /// Maker of the document; empty for memory and for computed values.
    pub maker: String,
    /// Document with its date and the parts of it that were used.
    pub document: String,
    /// How it was read: whole text, excerpts, from memory.
    pub read: String,
}

/// What one file holds.
#[derive(Debug, Clone, Default)]
pub(super) struct Loaded {
    pub profiles: Vec<Profile>,
    pub sources: Vec<SourceDocument>,
    /// Notes on single values, by profile id and key.
    pub notes: BTreeMap<(String, String), String>,
}

/// Reads and checks one file.
pub(super) fn load(file: &str, text: &str) -> Result<Loaded, ControllerError> {
    let place = Place { file, text };
    let raw: RawFile = toml::from_str(text).map_err(|error| place.syntax(&error))?;
    if *raw.schema.get_ref() != SCHEMA {
        let what = format!(
            "schema {} is not known, only {SCHEMA}",
            raw.schema.get_ref()
        );
        return Err(place.wrong(raw.schema.span(), "schema", what));
    }
    let pins = pins_of(&place, &raw)?;
    let mut loaded = Loaded {
        sources: raw.sources.values().map(document_of).collect(),
        ..Loaded::default()
    };
    for entry in &raw.profile {
        let (profile, notes) = profile_of(&place, &raw, entry, &pins)?;
        loaded.notes.extend(notes);
        loaded.profiles.push(profile);
    }
    Ok(loaded)
}

fn document_of(raw: &RawSource) -> SourceDocument {
    SourceDocument {
        cite: raw.cite.clone(),
        maker: raw.maker.clone(),
        document: raw.document.clone(),
        read: raw.read.clone(),
    }
}

fn pins_of(place: &Place, raw: &RawFile) -> Result<BTreeMap<u8, String>, ControllerError> {
    let named = &raw.group.pins;
    let pin = |(number, name): (&String, &String)| match number.parse::<u8>() {
        Ok(number) if (1..=28).contains(&number) => Ok((number, name.clone())),
        _ => Err(place.wrong(named.span(), "pins", format!("'{number}' is no pin number"))),
    };
    named.get_ref().iter().map(pin).collect()
}

type Notes = Vec<((String, String), String)>;

fn profile_of(
    place: &Place,
    raw: &RawFile,
    entry: &Spanned<RawProfile>,
    pins: &BTreeMap<u8, String>,
) -> Result<(Profile, Notes), ControllerError> {
    let own = entry.get_ref();
    check_profile(place, entry)?;
    let (mut values, mut notes) = (BTreeMap::new(), BTreeMap::new());
    for list in [&raw.group.value, &own.value] {
        let mut seen = Vec::new();
        for value in list {
            let inner = value.get_ref();
            let name = format!("{} {}", own.id, inner.key);
            if seen.contains(&&inner.key) {
                return Err(place.wrong(value.span(), &name, "given twice".to_owned()));
            }
            seen.push(&inner.key);
            let limit = limit_of(inner, &raw.sources)
                .map_err(|what| place.wrong(value.span(), &name, what))?;
            values.insert(inner.key.clone(), limit);
            notes.insert(inner.key.clone(), inner.note.clone());
        }
    }
    check_thresholds(place, entry, &values)?;
    let notes = notes
        .into_iter()
        .filter(|(_, note)| !note.is_empty())
        .map(|(key, note)| ((own.id.clone(), key), note))
        .collect();
    let group = &raw.group;
    let profile = Profile {
        id: own.id.clone(),
        title: own.title.clone(),
        family: group.family.clone(),
        maker: group.maker.clone(),
        parts: own.parts.clone(),
        markings: own.markings.clone(),
        same_class: own.same_class.clone(),
        pins: pins.clone(),
        divide: own.divide,
        values,
        notes: joined_notes(&group.notes, &own.notes),
    };
    Ok((profile, notes))
}

fn joined_notes(group: &str, own: &str) -> String {
    format!("{group} {own}").trim().to_owned()
}

fn check_profile(place: &Place, entry: &Spanned<RawProfile>) -> Result<(), ControllerError> {
    let own = entry.get_ref();
    let wrong = |key: &str, what: &str| {
        let name = format!("{} {key}", own.id);
        Err(place.wrong(entry.span(), name.trim(), what.to_owned()))
    };
    if own.id.trim().is_empty() {
        return wrong("id", "is empty");
    }
    if own.parts.iter().all(|part| part.trim().is_empty()) {
        return wrong("parts", "names no part");
    }
    if !matches!(own.divide, 1 | 2) {
        return wrong("divide", "must be 1 or 2");
    }
    Ok(())
}

fn check_thresholds(
    place: &Place,
    entry: &Spanned<RawProfile>,
    values: &BTreeMap<String, Limit>,
) -> Result<(), ControllerError> {
    let typical = |key: &str| values.get(key).and_then(|limit| limit.typ);
    match (typical("vcc_start"), typical("vcc_stop")) {
        (Some(start), Some(stop)) if start <= stop => {
            let name = format!("{} vcc_start", entry.get_ref().id);
            let what = format!("starts at {start} V, which is not above the stop at {stop} V");
            Err(place.wrong(entry.span(), &name, what))
        }
        _ => Ok(()),
    }
}

/// Checks one value and brings it to SI base units.
fn limit_of(raw: &RawValue, sources: &BTreeMap<String, RawSource>) -> Result<Limit, String> {
    let key = key_of(&raw.key).ok_or_else(|| format!("'{}' is no known key", raw.key))?;
    let (unit, times, over) =
        unit_of(&raw.unit).ok_or_else(|| format!("'{}' is no known unit", raw.unit))?;
    if unit != key.unit {
        return Err(format!("'{}' is no unit for it", raw.unit));
    }
    let source = sources
        .get(&raw.source)
        .ok_or_else(|| format!("source '{}' is not in the list of sources", raw.source))?;
    let status =
        |word: &str| Status::from_id(word).ok_or_else(|| format!("'{word}' is no known status"));
    let ordered: Vec<f64> = [raw.min, raw.typ, raw.max].into_iter().flatten().collect();
    if ordered.is_empty() {
        return Err("has neither min nor typ nor max".to_owned());
    }
    if !ordered.iter().all(|number| number.is_finite()) {
        return Err("has a number that is not finite".to_owned());
    }
    if !ordered.is_sorted() {
        return Err("min, typ and max are not in order".to_owned());
    }
    let si = |number: Option<f64>| number.map(|number| number * times / over);
    Ok(Limit {
        min: si(raw.min),
        typ: si(raw.typ),
        max: si(raw.max),
        unit,
        condition: raw.condition.clone(),
        source: source.cite.clone(),
        status: status(&raw.status)?,
        status_limits: status(&raw.status_limits)?,
    })
}

/// A file and its text, to say where something is wrong.
pub(super) struct Place<'a> {
    pub file: &'a str,
    pub text: &'a str,
}

impl Place<'_> {
    fn wrong(&self, span: Range<usize>, key: &str, what: String) -> ControllerError {
        ControllerError::Malformed {
            file: self.file.to_owned(),
            line: self.line(span.start),
            key: key.to_owned(),
            what,
        }
    }

    /// What the TOML reader refused.
    pub fn syntax(&self, error: &toml::de::Error) -> ControllerError {
        let start = error.span().map_or(0, |span| span.start);
        self.wrong(
            start..start,
            &self.key_at(start),
            error.message().to_owned(),
        )
    }

    fn line(&self, offset: usize) -> usize {
        let before = self.text.as_bytes().iter().take(offset);
        1 + before.filter(|byte| **byte == b'\n').count()
    }

    /// The value key on the line at this offset, else the word left of the equals sign, else the
    /// whole line.
    fn key_at(&self, offset: usize) -> String {
        let line = self.text.lines().nth(self.line(offset) - 1).unwrap_or("");
        let quoted = line
            .split_once("key = \"")
            .and_then(|(_, rest)| rest.split_once('"'))
            .map(|(key, _)| key);
        let left = || line.split_once('=').map_or(line, |(left, _)| left);
        quoted.unwrap_or_else(left).trim().to_owned()
    }
}
