//! The frame of the bench sheet: the unit, what was not tested, cautions, where it all comes from.

use super::page::Page;
use super::{Sheet, joined, once};
use crate::data::text::harmless;
use crate::data::typed::{Kind, MORE_PARTS, PARTS, written, written_spread};
use crate::data::{Caution, Inspection};
use crate::report::job::run_words;

/// Unit, complaint, controller, parts as told.
pub(super) fn unit(page: &mut Page, sheet: &Sheet<'_>) {
    let job = sheet.report.job;
    page.heading(2, "Bench sheet: the unit");
    let trusted = match job.controller.trusted {
        Some(true) => "marking trusted",
        Some(false) => "marking not trusted",
        None => "",
    };
    let meter = job.meter.map(written_spread);
    page.facts(
        "Unit and complaint",
        &[
            ("Unit", sheet.report.unit().to_owned()),
            ("Maker", job.unit.maker.clone()),
            ("Serial number", job.unit.serial.clone()),
            ("Complaint", job.complaint.clone()),
            (
                "Controller",
                joined(&[job.controller.marking.as_str(), trusted]),
            ),
            ("Judged as", controller(sheet)),
            (
                "Fed by",
                job.input.map(|i| i.to_string()).unwrap_or_default(),
            ),
            ("Multimeter", meter.unwrap_or_default()),
            ("Opened", job.opened.clone()),
            ("Changed last", job.changed.clone()),
            ("Notes", job.notes.clone()),
        ],
    );
    let rows: Vec<[String; 2]> = job
        .parts
        .iter()
        .map(|(name, value)| [name.clone(), written(*value, kind_of(name))])
        .collect();
    page.table(
        "Part values as printed on the board or told: taken for granted, not measured",
        ["part", "value"],
        &rows,
    );
    let problems = sheet.report.problems.iter();
    let problems: Vec<String> = problems
        .map(|p| format!("{}: {}", p.file, p.text))
        .collect();
    if !problems.is_empty() {
        page.heading(3, "Files that are not as they were recorded");
        page.list(&problems);
    }
}

fn kind_of(name: &str) -> Kind {
    let mut all = PARTS.iter().chain(&MORE_PARTS);
    all.find(|p| p.0 == name).map_or(Kind::Ratio, |p| p.1)
}

fn controller(sheet: &Sheet<'_>) -> String {
    let choice = sheet
        .runs()
        .find_map(|(_, _, found)| found.controller.clone());
    let Some(choice) = choice else {
        return "no controller named, so nothing is judged by a data sheet".to_owned();
    };
    if choice.candidates.len() < 2 {
        return choice.title;
    }
    format!(
        "{}; the widest limits of these apply",
        choice.candidates.join(", ")
    )
}

/// What no run tests, and what is not entered yet.
pub(super) fn not_tested(page: &mut Page, sheet: &Sheet<'_>) {
    page.heading(2, "What was not tested");
    for (_, run, found) in sheet.runs() {
        if !found.not_tested.is_empty() {
            page.heading(3, &run_words(run));
            page.list(&found.not_tested);
        }
    }
    let open = sheet.report.missing();
    page.heading(3, "Not entered in the record");
    if open.is_empty() {
        page.paragraph("Nothing of the lists before injection, before mains and of the soak is missing; that clears nothing by itself.");
    }
    let open: Vec<String> = open
        .iter()
        .map(|m| format!("{} ({})", m.what, m.why))
        .collect();
    page.list(&open);
    let checks = &sheet.report.job.mains;
    let check = |check: &Option<crate::data::job::MainsCheck>| {
        let check = check.as_ref();
        check.map_or_else(String::new, |c| joined(&[c.by.as_str(), c.date.as_str()]))
    };
    page.facts(
        "Checks before mains, as entered",
        &[
            ("Current sense", check(&checks.current_sense)),
            ("Feedback loop", check(&checks.feedback_loop)),
        ],
    );
}

/// Cautions of all runs, each once.
pub(super) fn cautions(page: &mut Page, sheet: &Sheet<'_>) {
    page.heading(2, "Cautions");
    let all: Vec<&Caution> = sheet.runs().flat_map(|(_, _, f)| &f.cautions).collect();
    let said = |banner: bool| {
        let those = all.iter().filter(move |c| c.banner == banner);
        once(those.map(|c| format!("{}: {}", c.title, c.text)))
    };
    said(true).iter().for_each(|text| page.banner(text));
    page.list(&said(false));
    page.paragraph("Local rules and licensed practice come before anything written here.");
}

/// Files, definitions, version.
pub(super) fn about(page: &mut Page, sheet: &Sheet<'_>) {
    page.heading(2, "About this page");
    page.paragraph("± is half the width of the interval, centred on the value, that holds 95 % of what the stated errors allow. A verdict is “in limits” where the value lies within the published limits with at least 97.5 % probability, “outside” with at most 2.5 %, else “cannot say”; “no limit” where nothing or only a typical value is published. “Provisional” rests on a limit from memory. No part is called bad on a computed number alone.");
    let files: Vec<[String; 2]> = sheet
        .report
        .job
        .captures
        .iter()
        .map(|c| [c.file.clone(), c.sha256.clone()])
        .collect();
    page.table("Captures of the record", ["file", "SHA-256"], &files);
    let notes = sheet.runs().flat_map(|(_, _, found)| notes(found));
    page.list(&once(notes));
    page.quiet(&format!(
        "Page of {}, firstpulse {}.",
        sheet.date, sheet.version
    ));
}

fn notes(found: &Inspection) -> Vec<String> {
    let own = found.notes.iter().map(|note| note.text.clone());
    let of_files = found.captures.iter().flat_map(|shot| {
        let file = harmless(&shot.capture.file, 60);
        let notes = shot.capture.notes.iter();
        notes.map(move |note| format!("{file}: {}", note.text))
    });
    own.chain(of_files).collect()
}
