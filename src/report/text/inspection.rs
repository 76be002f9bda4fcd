//! The main job on a terminal: what it is, the start-up order, the three lines, what not to
//! exceed; then the details. What was said once is not said again further down.

use super::events::events;
use super::fits::fits;
use super::judged::{not_measured, table};
use super::mark;
use super::page::Page;
use super::shot_list::shot_list;
use super::steps::steps;
use crate::data::text::{engineering, harmless, trimmed};
use crate::data::{Caution, ControllerChoice, Inspection, StageState, Unit};

/// Longest name of a file or channel shown.
const NAME: usize = 40;

/// A unit with its runs in order of time: the first in full, the others in a short paragraph.
pub fn case(unit: &str, runs: &[(&str, &Inspection)], ascii: bool) -> String {
    let mut page = Page::new(ascii);
    if let Some((title, run)) = runs.first() {
        full(&mut page, unit, title, &[], run);
    }
    for (title, run) in runs.iter().skip(1) {
        page.heading(&format!("LATER: {title}"));
        stages_in_words(&mut page, run);
        three_lines(&mut page, run);
    }
    page.finish()
}

/// A folder of files, each inspected on its own; `skipped` are names of files that plainly are no
/// captures. Cautions of all files stand once, at the end.
pub fn batch(
    folder: &str,
    files: &[(String, Result<Inspection, String>)],
    skipped: &[String],
    ascii: bool,
) -> String {
    let mut page = Page::new(ascii);
    page.paragraph(&format!("{folder}: each file inspected on its own"));
    page.rule();
    left_out(&mut page, skipped);
    let mut all: Vec<&Caution> = Vec::new();
    let mut notes: Vec<String> = Vec::new();
    for (file, outcome) in files {
        page.heading(file);
        match outcome {
            Ok(run) => {
                stages_in_words(&mut page, run);
                three_lines(&mut page, run);
                for caution in run.cautions.iter().filter(|c| !c.banner) {
                    if !all.contains(&caution) {
                        all.push(caution);
                    }
                }
                banners(&mut page, run);
                for text in run.notes.iter().map(note_text) {
                    if !notes.contains(&text) {
                        notes.push(text);
                    }
                }
            }
            Err(why) => page.hanging("  Failed", 14, why),
        }
    }
    cautions(&mut page, &all);
    if !notes.is_empty() {
        page.heading("NOTES");
        notes.iter().for_each(|text| page.hanging("  -", 4, text));
    }
    let failed = files.iter().filter(|(_, outcome)| outcome.is_err()).count();
    page.heading(&format!(
        "{} inspected, {failed} failed",
        files.len() - failed
    ));
    page.finish()
}

/// Says how many files were not looked at, and of which kinds.
fn left_out(page: &mut Page, skipped: &[String]) {
    if skipped.is_empty() {
        return;
    }
    let mut kinds: Vec<String> = Vec::new();
    for name in skipped {
        let kind = match name.rsplit_once('.') {
            Some((front, ending)) if !front.is_empty() => format!(".{}", harmless(ending, 8)),
            _ => "hidden".to_owned(),
        };
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    let (count, are) = match skipped.len() {
        1 => ("1 file".to_owned(), "is no capture"),
        more => (format!("{more} files"), "are no captures"),
    };
    page.paragraph(&format!(
        "{count} left out that plainly {are} ({})",
        kinds.join(", ")
    ));
}

/// A run in full; `recorded` are further lines of its head, each with its label.
pub(super) fn full(
    page: &mut Page,
    unit: &str,
    title: &str,
    recorded: &[(&str, String)],
    run: &Inspection,
) {
    head(page, unit, title, recorded, run);
    start_up_order(page, run);
    page.gap();
    three_lines(page, run);
    banners(page, run);
    table(page, run);
    not_measured(page, run);
    events(page, run);
    steps(page, run);
    fits(page, run.fits.as_ref());
    suspects(page, run);
    shot_list(page, run);
    not_tested(page, run);
    // those with a banner stand near the top
    let further: Vec<&Caution> = run.cautions.iter().filter(|c| !c.banner).collect();
    cautions(page, &further);
    reading_and_roles(page, run);
}

fn head(page: &mut Page, unit: &str, title: &str, recorded: &[(&str, String)], run: &Inspection) {
    let name = if title.is_empty() {
        unit.to_owned()
    } else {
        format!("{unit}: {title}")
    };
    page.paragraph(&name);
    page.rule();
    for (label, text) in recorded {
        page.hanging(label, 12, text);
    }
    match &run.controller {
        Some(choice) => {
            page.hanging("Controller", 12, &controller(choice));
        }
        None => page.hanging(
            "Controller",
            12,
            "not named, so nothing is judged by a data sheet (--controller MARKING)",
        ),
    }
    let setup = match run.setup.value {
        Some(setup) => format!("{}: {} ({})", setup.id(), setup.meaning(), run.setup.reason),
        // the captures differ, and the reason says which is which
        None if run.captures.iter().any(|c| c.setup.value.is_some()) => run.setup.reason.clone(),
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

/// The controller; where the marking leaves several open, their ids, which `controllers` shows.
fn controller(choice: &ControllerChoice) -> String {
    const MOST: usize = 6;
    let all = &choice.candidates;
    if all.len() < 2 {
        return choice.title.clone();
    }
    let shown = all.iter().take(MOST).cloned().collect::<Vec<_>>();
    let more = match all.len().saturating_sub(MOST) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!(
        "{}: could be {}{more}; the widest limits apply",
        harmless(choice.marking.trim(), NAME),
        shown.join(", ")
    )
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
            &format!(
                "Voltage: {}. Current: {}.",
                limit.volts_source, limit.amps_source
            ),
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
        // what the three lines say below is not said here as well
        let because = finding.because.trim_end_matches('.');
        let text = match (run.lines.fails.contains(because), together.is_empty()) {
            (true, true) => continue,
            (true, false) => together.trim().trim_matches(['(', ')']).to_owned(),
            (false, _) => format!("{}{together}", finding.because),
        };
        page.hanging("", 4, &format!("{}: {text}", finding.stage.title()));
    }
}

pub(super) fn stages_in_words(page: &mut Page, run: &Inspection) {
    let words: Vec<String> = run
        .stages
        .iter()
        .map(|f| format!("{} {}", f.stage.title().to_lowercase(), f.state.title()))
        .collect();
    page.hanging("", 2, &words.join(", "));
}

pub(super) fn three_lines(page: &mut Page, run: &Inspection) {
    page.hanging("  Works", 16, &run.lines.works);
    page.hanging("  Does not", 16, &run.lines.fails);
    page.hanging("  Measure next", 16, &run.lines.next);
}

fn suspects(page: &mut Page, run: &Inspection) {
    if run.suspects.is_empty() {
        return;
    }
    page.heading("SUSPECTS");
    for (number, suspect) in run.suspects.iter().enumerate() {
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
            let same = run.lines.next.contains(&suspect.next_check);
            let text = if same {
                "as under Measure next"
            } else {
                &suspect.next_check
            };
            page.hanging("     check", 15, text);
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

fn cautions(page: &mut Page, cautions: &[&Caution]) {
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
        let channels = shot.capture.channels.iter().zip(&shot.channels);
        for (number, (channel, known)) in channels.enumerate() {
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
            if let Some(hertz) = known.bandwidth_hz {
                let told = engineering(hertz, Unit::Hertz, 3);
                page.hanging("", 6, &format!("bandwidth {}, as told", trimmed(&told)));
            }
            if let Some(offer) = &known.factor_offer {
                let shot = (run.captures.len() > 1).then(|| format!("{}:", index + 1));
                let option = format!(
                    "to use it: --probe {}{}={}",
                    shot.unwrap_or_default(),
                    number + 1,
                    offer.factor
                );
                page.hanging("", 6, &option);
            }
        }
        for note in &shot.capture.notes {
            page.hanging("", 4, &note_text(note));
        }
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
