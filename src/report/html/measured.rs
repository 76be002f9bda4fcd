//! Measured values against what is published; derived values and what was assumed stand apart.

use super::page::Page;
use super::{Sheet, once};
use crate::data::text::{engineering, plus_minus};
use crate::data::{Inspection, Judged, Outcome};
use crate::report::csv::is_derived;
use crate::report::job::run_words;
use crate::report::text::limits;

const HEAD: [&str; 5] = ["quantity", "shot", "value", "published", "verdict"];

/// The tables of each run.
pub(super) fn measured(page: &mut Page, sheet: &Sheet<'_>) {
    page.heading(2, "Measured values");
    for (_, run, found) in sheet.runs() {
        page.heading(3, &run_words(run));
        table(page, found, "Measured (± holds 95 %)", false);
        joined(page, found);
        table(
            page,
            found,
            "Derived from measured values (± holds 95 %)",
            true,
        );
        beside(page, found);
        not_measured(page, found);
        events(page, found);
    }
    assumed(page, sheet);
}

fn shot(judged: &Judged) -> String {
    let capture = judged.measured.capture;
    capture.map_or("hand".to_owned(), |c| format!("{}", c + 1))
}

fn table(page: &mut Page, found: &Inspection, caption: &str, derived: bool) {
    let those = found
        .measured
        .iter()
        .filter(|j| j.measured.value().is_some() && is_derived(j.measured.quantity) == derived);
    let mut sources = Vec::new();
    let rows: Vec<[String; 5]> = those.map(|judged| row(judged, &mut sources)).collect();
    page.table(caption, HEAD, &rows);
    let numbered = sources.iter().enumerate();
    let numbered: Vec<String> = numbered.map(|(n, s)| format!("[{}] {s}", n + 1)).collect();
    page.quiet(&numbered.join("\n"));
}

/// A row; where its limits come from is a number of `sources`, to which it is added.
fn row(judged: &Judged, sources: &mut Vec<String>) -> [String; 5] {
    let info = judged.measured.quantity.info();
    let value = judged.measured.value();
    let value = value.map_or_else(String::new, |v| plus_minus(v.value, v.u95, info.unit));
    let provisional = if judged.provisional {
        ", provisional"
    } else {
        ""
    };
    [
        info.title.to_owned(),
        shot(judged),
        value,
        published(judged, sources),
        format!("{}{provisional}", judged.verdict.title()),
    ]
}

fn published(judged: &Judged, sources: &mut Vec<String>) -> String {
    let Some(limit) = &judged.expected else {
        return String::new();
    };
    let source = if limit.condition.is_empty() {
        limit.source.clone()
    } else {
        format!("{} ({})", limit.source, limit.condition)
    };
    let known = sources.iter().position(|known| *known == source);
    let number = known.unwrap_or_else(|| {
        sources.push(source);
        sources.len() - 1
    });
    let shown = limits(limit.min, limit.max, limit.typ, limit.unit);
    format!("{shown} [{}]", number + 1)
}

fn joined(page: &mut Page, found: &Inspection) {
    let rows: Vec<[String; 3]> = found
        .joined
        .iter()
        .map(|one| {
            let info = one.quantity.info();
            let shots: Vec<String> = one.captures.iter().map(|c| format!("{}", c + 1)).collect();
            let value = one.value.as_ref().map_or_else(
                || one.why_not.clone(),
                |v| plus_minus(v.value, v.u95, info.unit),
            );
            [info.title.to_owned(), shots.join(", "), value]
        })
        .collect();
    page.table(
        "Over all sweeps of the run (± holds 95 %)",
        ["quantity", "shots", "value"],
        &rows,
    );
}

/// Remarks, and what would settle what can't be said.
fn beside(page: &mut Page, found: &Inspection) {
    let of = |judged: &Judged| {
        let title = judged.measured.quantity.info().title;
        let remarks = judged.measured.remarks.iter();
        let mut all: Vec<String> = remarks.map(|text| format!("{title}: {text}")).collect();
        if !judged.settle.is_empty() {
            all.push(format!("To settle the {title}: {}", judged.settle));
        }
        all
    };
    page.list(&once(found.measured.iter().flat_map(of)));
}

fn not_measured(page: &mut Page, found: &Inspection) {
    let rows = found.measured.iter().filter_map(|judged| {
        let Outcome::NotMeasurable(why) = &judged.measured.outcome else {
            return None;
        };
        let title = judged.measured.quantity.info().title;
        Some([title.to_owned(), shot(judged), why.clone()])
    });
    let rows: Vec<[String; 3]> = rows.collect();
    page.table("Not measured", ["quantity", "shot", "why"], &rows);
}

/// Most starts and stops that are listed for a run.
const MOST_EVENTS: usize = 16;

fn events(page: &mut Page, found: &Inspection) {
    let rows: Vec<[String; 5]> = found
        .events
        .iter()
        .take(MOST_EVENTS)
        .map(|event| {
            let unit = crate::data::Unit::Second;
            let unread = if event.why_no_vcc.is_some() {
                "can't be read"
            } else {
                ""
            };
            let vcc = event.vcc.map_or_else(
                || unread.to_owned(),
                |(volts, u95)| plus_minus(volts, u95, crate::data::Unit::Volt),
            );
            [
                event.kind.id().to_owned(),
                format!("{}", event.capture + 1),
                plus_minus(event.at_s, event.within_s, unit),
                vcc,
                event.witness.title().to_owned(),
            ]
        })
        .collect();
    page.table(
        "Starts and stops",
        ["what", "shot", "at", "VCC", "seen on"],
        &rows,
    );
    let more = found.events.len().saturating_sub(MOST_EVENTS);
    if more > 0 {
        page.quiet(&format!("And {more} more; the JSON form has them all."));
    }
}

/// Terms of the budgets that nobody gave a figure for, and accuracies taken for granted.
fn assumed(page: &mut Page, sheet: &Sheet<'_>) {
    let terms = sheet
        .runs()
        .flat_map(|(_, _, found)| &found.measured)
        .filter_map(|judged| judged.measured.value())
        .flat_map(|value| &value.terms)
        .filter(|term| term.name.ends_with("(assumed)"))
        .map(|term| term.name.trim_end_matches(" (assumed)").to_owned());
    let mut all = once(terms);
    let channels = sheet.runs().flat_map(|(_, run, found)| {
        let shots = found.captures.iter().enumerate();
        shots.flat_map(move |(number, shot)| {
            let channels = shot.channels.iter().zip(&shot.capture.channels);
            let assumed = channels.filter(|(known, _)| known.accuracy_assumed);
            assumed.map(move |(known, channel)| {
                let a = known.accuracy;
                format!(
                    "{}, shot {}, {}: scope ±({} + {})",
                    run.title,
                    number + 1,
                    channel.name,
                    engineering(a.gain, crate::data::Unit::One, 2),
                    engineering(a.offset, channel.unit, 2)
                )
            })
        })
    });
    let channels = once(channels);
    if all.is_empty() && channels.is_empty() {
        return;
    }
    page.heading(3, "Assumed, not measured");
    page.paragraph("Nobody gave these figures, so the usual ones of the trade were taken: for a scope that was not checked ±(2 % of the reading + 0.1 division), for its time base ±100 ppm, for a multimeter ±(0.5 % + 10 mV).");
    if !all.is_empty() {
        all = vec![format!(
            "In the uncertainty of the values: {}",
            all.join(", ")
        )];
    }
    all.extend(channels);
    page.list(&all);
}
