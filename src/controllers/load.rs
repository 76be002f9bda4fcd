//! From the text of a profile file to checked profiles in SI base units.

use std::collections::BTreeMap;

use toml::Spanned;

use super::oscillator::TimingModel;
use super::raw::{RawFile, RawPins, RawProfile, RawSource, RawTiming};
use super::{ControllerError, Profile};
use crate::data::Limit;

mod place;
mod timing;
mod value;

pub(super) use place::Place;
use timing::timing_of;
use value::limit_of;

/// Hysteresis may differ from start minus stop by this much, in volts: all three are rounded.
const ROUNDED_V: f64 = 0.1;

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
    let shared = Shared::of(&place, &raw)?;
    let mut loaded = Loaded {
        sources: raw.sources.values().map(document_of).collect(),
        ..Loaded::default()
    };
    for entry in &raw.profile {
        let (profile, notes) = profile_of(&place, &raw, entry, &shared)?;
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

type Pins = BTreeMap<u8, String>;

/// Pins, what they are called in other packages, and the timing that a file shares.
struct Shared {
    pins: Pins,
    packages: BTreeMap<String, Pins>,
    timing: Option<TimingModel>,
}

impl Shared {
    fn of(place: &Place, raw: &RawFile) -> Result<Shared, ControllerError> {
        let group = &raw.group;
        let mut packages = BTreeMap::new();
        if let Some(named) = &group.packages {
            for (package, pins) in named.get_ref() {
                let pins = pins_of(pins).map_err(|w| place.wrong(named.span(), "packages", w))?;
                packages.insert(package.clone(), pins);
            }
        }
        Ok(Shared {
            pins: spanned_pins(place, &group.pins)?,
            packages,
            timing: timing_at(place, raw, group.timing.as_ref())?,
        })
    }
}

fn spanned_pins(place: &Place, named: &Spanned<RawPins>) -> Result<Pins, ControllerError> {
    pins_of(named.get_ref()).map_err(|what| place.wrong(named.span(), "pins", what))
}

fn pins_of(named: &RawPins) -> Result<Pins, String> {
    let pin = |(number, name): (&String, &String)| match number.parse::<u8>() {
        Ok(number) if (1..=28).contains(&number) => Ok((number, name.clone())),
        _ => Err(format!("'{number}' is no pin number")),
    };
    named.iter().map(pin).collect()
}

fn timing_at(
    place: &Place,
    raw: &RawFile,
    named: Option<&Spanned<RawTiming>>,
) -> Result<Option<TimingModel>, ControllerError> {
    let read = |named: &Spanned<RawTiming>| {
        timing_of(named.get_ref(), &raw.sources)
            .map_err(|what| place.wrong(named.span(), "timing", what))
    };
    named.map(read).transpose()
}

type Notes = Vec<((String, String), String)>;

fn profile_of(
    place: &Place,
    raw: &RawFile,
    entry: &Spanned<RawProfile>,
    shared: &Shared,
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
        package: group.package.clone(),
        pins: match &own.pins {
            Some(named) => spanned_pins(place, named)?,
            None => shared.pins.clone(),
        },
        packages: shared.packages.clone(),
        divide: own.divide,
        timing: timing_at(place, raw, own.timing.as_ref())?.or_else(|| shared.timing.clone()),
        values,
        own_file: None,
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
    if !matches!(own.divide, None | Some(1 | 2)) {
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
    let Some((start, stop)) = typical("vcc_start").zip(typical("vcc_stop")) else {
        return Ok(());
    };
    let wrong = |key: &str, what: String| {
        let name = format!("{} {key}", entry.get_ref().id);
        Err(place.wrong(entry.span(), &name, what))
    };
    if start <= stop {
        let what = format!("starts at {start} V, which is not above the stop at {stop} V");
        return wrong("vcc_start", what);
    }
    for key in ["vcc_hysteresis", "vcc_hysteresis_text"] {
        if let Some(told) = typical(key).filter(|h| (start - stop - h).abs() > ROUNDED_V) {
            let what = format!("{told} V is not start minus stop, {start} V - {stop} V");
            return wrong(key, what);
        }
    }
    Ok(())
}
