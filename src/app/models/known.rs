//! What the user knows: hand readings, parts, and what each channel was recorded with.

use super::lanes::{Offer, offer_words};
use super::parts::{Named, PARTS, READINGS, named};
use crate::app::state::{AppState, Below};
use crate::app::told::{self, Field};
use crate::data::text::{counted, harmless};

/// One field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldModel {
    /// What it is of.
    pub field: Field,
    /// Name shown, which is its accessible name too.
    pub label: String,
    /// What may be typed, shown while it is empty.
    pub hint: &'static str,
    /// What stands in it.
    pub text: String,
    /// Why it could not be entered.
    pub wrong: Option<String>,
    /// What the program would enter.
    pub offer: Option<Offer>,
}

/// All fields, in the order of the keyboard.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct KnownModel {
    /// Is it unfolded?
    pub open: bool,
    /// How much was told.
    pub summary: String,
    /// Title and fields of each row.
    pub rows: Vec<(&'static str, Vec<FieldModel>)>,
}

/// Readings that stand for a quantity of the run.
const SHOWN_READINGS: [&str; 6] = [
    "bulk",
    "standby-current",
    "run-current",
    "vcc",
    "vref",
    "output",
];

/// Parts that an inspection takes into account.
const SHOWN_PARTS: [&str; 6] = [
    "start-resistor",
    "vcc-capacitor",
    "rt",
    "ct",
    "rsense",
    "zener",
];

/// The fields of the group and the shot shown.
pub fn known(state: &AppState) -> KnownModel {
    let mut readings = readings(state, &SHOWN_READINGS);
    let parts = parts(state, &SHOWN_PARTS);
    let given = |fields: &[FieldModel]| fields.iter().filter(|f| !f.text.is_empty()).count();
    let summary = format!(
        "{}, {}",
        counted(given(&readings), "reading", "readings"),
        counted(given(&parts), "part", "parts")
    );
    readings.push(meter(state));
    let mut channels = Vec::new();
    let inspected = state
        .inspection()
        .and_then(|found| found.captures.get(state.shot));
    let shot = state.shot().map(|shot| &shot.capture.channels[..]);
    for (index, channel) in shot.unwrap_or(&[]).iter().enumerate().take(8) {
        let name = harmless(&channel.name, 16);
        let field = Field::Factor(state.shot, index);
        let mut factor = model(state, field, format!("{name} probe factor"), "10x");
        factor.offer = inspected
            .and_then(|found| found.channels.get(index)?.factor_offer.as_ref())
            .map(offer_words);
        channels.push(factor);
        let field = Field::Accuracy(state.shot, index);
        channels.push(model(state, field, format!("{name} accuracy"), "3%+20mV"));
    }
    KnownModel {
        open: state.below == Some(Below::Known),
        summary,
        rows: vec![
            ("Read by hand", readings),
            ("Parts on the board", parts),
            ("This shot's channels", channels),
        ],
    }
}

/// Fields of these parts.
pub fn parts(state: &AppState, names: &[&str]) -> Vec<FieldModel> {
    each(state, &PARTS, names, Field::Part)
}

/// Fields of these readings.
pub fn readings(state: &AppState, names: &[&str]) -> Vec<FieldModel> {
    each(state, &READINGS, names, Field::Reading)
}

fn each(
    state: &AppState,
    list: &'static [Named],
    names: &[&str],
    field: fn(&'static str) -> Field,
) -> Vec<FieldModel> {
    let one = |(name, label, hint): Named| model(state, field(name), label.to_owned(), hint);
    named(list, names).into_iter().map(one).collect()
}

/// The accuracy of the meter.
pub fn meter(state: &AppState) -> FieldModel {
    model(
        state,
        Field::Meter,
        "Meter accuracy".to_owned(),
        "0.5%+10mV",
    )
}

/// The field of the bulk voltage, for the banner.
pub fn bulk(state: &AppState) -> FieldModel {
    let name = "Measured bulk voltage".to_owned();
    model(state, Field::Reading("bulk"), name, "1V2")
}

/// The accuracy of the meter, for the form that sets channels to it.
pub fn meter_accuracy(state: &AppState) -> FieldModel {
    let name = "Accuracy of this meter".to_owned();
    model(state, Field::Meter, name, "0.5%+10mV")
}

fn model(state: &AppState, field: Field, label: String, hint: &'static str) -> FieldModel {
    let draft = state.drafts.get(&(state.group, field));
    FieldModel {
        text: told::text(state, field),
        wrong: draft.and_then(|draft| draft.wrong.clone()),
        offer: None,
        field,
        label,
        hint,
    }
}
