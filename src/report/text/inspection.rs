//! The main job on a terminal: the start-up order first, then the three lines, then the details.

use super::judged::{not_measured, table, trimmed};
use super::mark;
use super::page::Page;
use crate::data::text::{engineering, harmless, plus_minus};
use crate::data::{Caution, Inspection, StageState, Suspect, Unit};

/// Longest name of a file or channel shown.
const NAME: usize = 40;

/// A unit with its runs in order of time: the first in full, the others in a short paragraph.
pub fn case(unit: &str, runs: &[(&str, &Inspection)], ascii: bool) -> String {
    let mut page = Page::new(ascii);
    if let Some((title, run)) = runs.first() {
        full(&mut page, unit, title, run);
    }
    for (title, run) in runs.iter().skip(1) {
        page.heading(&format!("LATER: {title}"));
        stages_in_words(&mut page, run);
        three_lines(&mut page, run);
    }
    page.finish()
}

/// A folder of files, each inspected on its own.
pub fn batch(folder: &str, files: &[(String, Result<Inspection, String>)], ascii: bool) -> String {
    let mut page = Page::new(ascii);
    page.paragraph(&format!("{folder}: each file inspected on its own"));
    page.rule();
    for (file, outcome) in files {
        page.heading(file);
        match outcome {
            Ok(run) => {
                stages_in_words(&mut page, run);
                three_lines(&mut page, run);
                cautions(&mut page, &run.cautions);
            }
            Err(why) => page.hanging("  Failed", 14, why),
        }
    }
    let failed = files.iter().filter(|(_, outcome)| outcome.is_err()).count();
    page.heading(&format!(
        "{} inspected, {failed} failed",
        files.len() - failed
    ));
    page.finish()
}

fn full(page: &mut Page, unit: &str, title: &str, run: &Inspection) {
    head(page, unit, title, run);
    banners(page, run);
    start_up_order(page, run);
    page.gap();
    three_lines(page, run);
    table(page, run);
    not_measured(page, run);
    events(page, run);
    suspects(page, &run.suspects);
    not_tested(page, run);
    cautions(page, &run.cautions);
    reading_and_roles(page, run);
}

fn head(page: &mut Page, unit: &str, title: &str, run: &Inspection) {
    let name = if title.is_empty() {
        unit.to_owned()
    } else {
        format!("{unit}: {title}")
    };
    page.paragraph(&name);
    page.rule();
    match &run.controller {
        Some(choice) => {
            let open = if choice.candidates.len() > 1 {
                format!(
                    "; could be any of {}: the widest limits apply",
                    choice.candidates.join(", ")
                )
            } else {
                String::new()
            };
            page.hanging("Controller", 12, &format!("{}{open}", choice.title));
        }
        None => page.hanging(
            "Controller",
            12,
            "not named, so nothing is judged by a data sheet (--controller MARKING)",
        ),
    }
    let setup = match run.setup.value {
        Some(setup) => format!("{}: {} ({})", setup.id(), setup.meaning(), run.setup.reason),
        None => format!("can't tell: {}", run.setup.reason),
    };
    page.hanging("Set-up", 12, &setup);
    for (index, shot) in run.captures.iter().enumerate() {
        let label = if index == 0 { "Shots" } else { "" };
        let kind = shot.kind.value.map_or("unknown kind", |k| k.id());
        let pins: Vec<String> = shot
            .channels
            .iter()
            .map(|c| c.role.value.map_or("?".to_owned(), |r| r.title_with_pin()))
            .collect();
        let file = harmless(&shot.capture.file, NAME);
        page.hanging(
            label,
            12,
            &format!("{} {file}: {kind}, {}", index + 1, pins.join(" + ")),
        );
    }
}

fn banners(page: &mut Page, run: &Inspection) {
    if let Some(limit) = &run.do_not_exceed {
        page.heading(&format!(
            "DO NOT EXCEED {}, {}",
            trimmed(&engineering(limit.volts, Unit::Volt, 3)),
            trimmed(&engineering(limit.amps, Unit::Ampere, 3)),
        ));
        page.hanging(
            "",
            2,
            &format!("{}; {}", limit.volts_source, limit.amps_source),
        );
    }
    for caution in run.cautions.iter().filter(|c| c.banner) {
        page.gap();
        page.hanging(
            "  !",
            4,
            &format!("{}: {}", caution.title.to_uppercase(), caution.text),
        );
    }
}

fn start_up_order(page: &mut Page, run: &Inspection) {
    page.heading("START-UP ORDER");
    for finding in &run.stages {
        let shape = mark(finding.state, page.is_ascii());
        let label = format!(
            "  {shape} {:14} {:11}",
            finding.stage.title(),
            finding.state.title()
        );
        page.hanging(&label, 32, &finding.figures.join(", "));
    }
    for finding in run.stages.iter().filter(|f| f.state != StageState::Working) {
        let elsewhere: Vec<&str> = finding
            .not_seen_together
            .iter()
            .map(|s| s.title())
            .collect();
        let together = if elsewhere.is_empty() {
            String::new()
        } else {
            format!(" (not seen together with: {})", elsewhere.join(", "))
        };
        page.hanging(
            "",
            4,
            &format!("{}: {}{together}", finding.stage.title(), finding.because),
        );
    }
}

fn stages_in_words(page: &mut Page, run: &Inspection) {
    let words: Vec<String> = run
        .stages
        .iter()
        .map(|f| format!("{} {}", f.stage.title().to_lowercase(), f.state.title()))
        .collect();
    page.hanging("", 2, &words.join(", "));
}

fn three_lines(page: &mut Page, run: &Inspection) {
    page.hanging("  Works", 16, &run.lines.works);
    page.hanging("  Does not", 16, &run.lines.fails);
    page.hanging("  Measure next", 16, &run.lines.next);
}

fn events(page: &mut Page, run: &Inspection) {
    if run.events.is_empty() {
        return;
    }
    page.heading("STARTS AND STOPS");
    for event in &run.events {
        let vcc = match event.vcc {
            Some((vcc, u95)) => format!("VCC {}", plus_minus(vcc, u95, Unit::Volt)),
            None => "VCC not recorded".to_owned(),
        };
        let at = plus_minus(event.at_s, event.within_s, Unit::Second);
        let shot = format!("shot {}", event.capture + 1);
        let witness = format!("seen on {}", event.witness.title());
        page.row(
            2,
            &[
                (&shot, 8),
                (event.kind.id(), 5),
                (&at, 20),
                (&vcc, 20),
                (&witness, 16),
            ],
        );
    }
}

fn suspects(page: &mut Page, suspects: &[Suspect]) {
    if suspects.is_empty() {
        return;
    }
    page.heading("SUSPECTS");
    for (number, suspect) in suspects.iter().enumerate() {
        let title = format!(
            "{} ({}): {}",
            suspect.rank_word(),
            suspect.cause,
            suspect.title
        );
        page.hanging(&format!("  {}", number + 1), 5, &title);
        for reason in &suspect.reasons_for {
            page.hanging("     for", 15, &reason.text);
        }
        for reason in &suspect.reasons_against {
            page.hanging("     against", 15, &reason.text);
        }
        if !suspect.next_check.is_empty() {
            page.hanging("     check", 15, &suspect.next_check);
        }
    }
}

fn not_tested(page: &mut Page, run: &Inspection) {
    if run.not_tested.is_empty() {
        return;
    }
    page.heading("NOT TESTED HERE");
    for text in &run.not_tested {
        page.hanging("  -", 4, text);
    }
}

fn cautions(page: &mut Page, cautions: &[Caution]) {
    page.heading("CAUTIONS");
    for caution in cautions {
        page.hanging("  !", 4, &format!("{}: {}", caution.title, caution.text));
    }
    page.hanging(
        "  !",
        4,
        "Local rules and licensed practice come before anything written here.",
    );
}

fn reading_and_roles(page: &mut Page, run: &Inspection) {
    page.heading("HOW IT WAS UNDERSTOOD");
    for (index, shot) in run.captures.iter().enumerate() {
        page.hanging(
            "",
            2,
            &format!(
                "shot {}, {}: {}",
                index + 1,
                shot.capture.file,
                shot.kind.reason
            ),
        );
        for (channel, known) in shot.capture.channels.iter().zip(&shot.channels) {
            let role = known
                .role
                .value
                .map_or("no role".to_owned(), |r| r.title_with_pin());
            let place = known
                .place
                .as_ref()
                .map_or(String::new(), |p| format!(" at {p}"));
            let text = format!(
                "{}: {role}{place}: {}",
                harmless(&channel.name, NAME),
                known.role.reason
            );
            page.hanging("", 4, &text);
        }
        for note in &shot.capture.notes {
            page.hanging("", 4, &note_text(note));
        }
    }
    if run
        .captures
        .iter()
        .flat_map(|c| &c.channels)
        .any(|c| c.accuracy_assumed)
    {
        page.hanging("", 2, "Channel accuracy was assumed: the usual figure of a bench scope (--accuracy CH=1%+20mV).");
    }
    for note in &run.notes {
        page.hanging("", 2, &note_text(note));
    }
}

pub(super) fn note_text(note: &crate::data::Note) -> String {
    match note.line {
        Some(line) => format!("line {line}: {}", note.text),
        None => note.text.clone(),
    }
}
