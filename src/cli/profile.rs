//! One controller in full, as text.

use std::collections::BTreeMap;

use super::do_not_exceed;
use super::pinout::pinout;
use crate::data::text::engineering;
use crate::data::{Limit, Unit};
use crate::inspect::{Library, Profile, pin_sheet};
use crate::report::text::{Page, trimmed};

mod object;

pub(super) use object::{gap, object};

/// A published value's row: key, least, typical, most.
const COLUMNS: [usize; 4] = [30, 13, 13, 13];

/// The whole profile; `parts` of the board bear on what not to exceed.
pub(super) fn text(
    page: &mut Page,
    library: &Library,
    profile: &Profile,
    parts: &BTreeMap<String, f64>,
) {
    head(page, profile);
    pins(page, profile);
    do_not_exceed::text(page, &[profile], parts);
    expected_at_pins(page, profile);
    let all = profile.values.iter();
    values(
        page,
        all.map(|(key, limit)| (key.as_str(), limit, library.note(&profile.id, key))),
    );
    contradictions(page, library, &[profile]);
    if !profile.notes.is_empty() {
        page.heading("NOTES");
        page.hanging("", 2, &profile.notes);
    }
    documents(page, library, profile);
}

fn head(page: &mut Page, profile: &Profile) {
    page.paragraph(&profile.title);
    page.rule();
    page.hanging("Id", 12, &profile.id);
    page.hanging("Maker", 12, &profile.maker);
    page.hanging("Family", 12, &profile.family);
    page.hanging("Parts", 12, &profile.parts.join(", "));
    if !profile.markings.is_empty() {
        page.hanging("Also marked", 12, &profile.markings.join(", "));
    }
    if !profile.same_class.is_empty() {
        page.hanging("Same class", 12, &profile.same_class.join(", "));
    }
    page.hanging(
        "OUT",
        12,
        match profile.divide {
            Some(2) => "one OUT cycle for two oscillator cycles",
            Some(_) => "one OUT cycle for each oscillator cycle",
            None => "one OUT cycle for one or two oscillator cycles, as a pin sets it",
        },
    );
    if let Some(timing) = &profile.timing {
        let mut text = timing.in_words();
        for more in [&timing.condition, &timing.source] {
            if !more.is_empty() {
                text.push_str("; ");
                text.push_str(more);
            }
        }
        page.hanging("Frequency", 12, &format!("{text}; {}", timing.status.id()));
    }
    if let Some(file) = &profile.own_file {
        page.hanging("From", 12, &format!("own profile {file}"));
    }
}

fn pins(page: &mut Page, profile: &Profile) {
    let main = (profile.package.as_str(), &profile.pins);
    let others = profile.packages.iter().map(|(p, pins)| (p.as_str(), pins));
    for (package, pins) in [main].into_iter().chain(others) {
        let drawing = pinout(pins);
        if drawing.is_empty() {
            continue;
        }
        page.heading(
            match package {
                "" => "PINS, SEEN FROM ABOVE".to_owned(),
                package => format!("PINS OF THE {package}, SEEN FROM ABOVE"),
            }
            .as_str(),
        );
        for line in drawing {
            page.drawn(&format!("  {line}"));
        }
    }
}

fn expected_at_pins(page: &mut Page, profile: &Profile) {
    let sheet = pin_sheet(profile);
    if sheet.is_empty() {
        return;
    }
    page.heading("WHAT A SCOPE SHOWS");
    page.row(2, &[("pin", 16), ("stopped", 28), ("running", 28)]);
    for pin in &sheet {
        let name = format!("{} {}", pin.pin, pin.name);
        page.row(2, &[(&name, 16), (&pin.stopped, 28), (&pin.running, 28)]);
    }
    page.heading("WHERE TO CONNECT");
    for pin in sheet.iter().filter(|pin| !pin.connect.is_empty()) {
        page.hanging(&format!("  {} {}", pin.pin, pin.name), 20, pin.connect);
    }
    page.hanging(
        "",
        2,
        "Injected: mains off, bulk capacitor measured and empty; current limit before voltage.",
    );
}

/// A table of published values with condition, source, status and note.
pub(super) fn values<'a>(
    page: &mut Page,
    values: impl Iterator<Item = (&'a str, &'a Limit, Option<&'a str>)>,
) {
    page.heading("PUBLISHED VALUES");
    let [key, least, typical, most] = COLUMNS;
    page.row(
        2,
        &[
            ("", key),
            ("least", least),
            ("typical", typical),
            ("most", most),
        ],
    );
    for (name, limit, note) in values {
        let shown = |value: Option<f64>| value.map_or(String::new(), |v| number(v, limit.unit));
        page.row(
            2,
            &[
                (&name.replace('_', " "), key),
                (&shown(limit.min), least),
                (&shown(limit.typ), typical),
                (&shown(limit.max), most),
            ],
        );
        let mut origin = limit.condition.clone();
        let status = status(limit);
        for more in [limit.source.as_str(), &status, note.unwrap_or("")] {
            if !origin.is_empty() && !more.is_empty() {
                origin.push_str("; ");
            }
            origin.push_str(more);
        }
        page.hanging("", 6, &origin);
    }
}

/// Where documents contradict each other on these profiles, and what was not read of them.
pub(super) fn contradictions(page: &mut Page, library: &Library, profiles: &[&Profile]) {
    let concerns = |ids: &[String]| profiles.iter().any(|p| ids.contains(&p.id));
    let all = library.disagreements().iter();
    let contradictions: Vec<&str> = all
        .filter(|one| concerns(&one.profiles))
        .map(|one| one.text.as_str())
        .collect();
    let all = library.gaps().iter();
    let gaps: Vec<&str> = all
        .filter(|gap| concerns(&gap.profiles))
        .map(|gap| gap.text.as_str())
        .collect();
    for (title, texts) in [
        ("WHERE DOCUMENTS CONTRADICT EACH OTHER", contradictions),
        ("WHAT WAS NOT READ", gaps),
    ] {
        if texts.is_empty() {
            continue;
        }
        page.heading(title);
        for text in texts {
            page.hanging("  -", 4, text);
        }
    }
}

/// The documents behind the values, and how each was read.
fn documents(page: &mut Page, library: &Library, profile: &Profile) {
    page.heading("SOURCES");
    for text in library.cited(profile) {
        page.hanging("  -", 4, &text);
    }
}

/// A published number without digits of ours: `14.5 V`.
pub(super) fn number(value: f64, unit: Unit) -> String {
    trimmed(&engineering(value, unit, 4))
}

fn status(limit: &Limit) -> String {
    if limit.has_limits() && limit.status_limits != limit.status {
        format!(
            "typical {}, limits {}",
            limit.status.id(),
            limit.status_limits.id()
        )
    } else {
        limit.status.id().to_owned()
    }
}
