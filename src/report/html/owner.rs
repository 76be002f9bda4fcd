//! The half page for the owner, in plain words.

use super::page::Page;
use super::{Sheet, once, or};
use crate::data::{Inspection, Stage, StageState};

/// What was wrong, what was done, what came of it, what was not tested, what to mind.
pub(super) fn owner(page: &mut Page, sheet: &Sheet<'_>) {
    page.open("owner");
    page.heading(2, "What was wrong");
    wrong(page, sheet);
    page.heading(2, "What was done");
    page.paragraph(&done(sheet));
    page.heading(2, "Result");
    result(page, sheet);
    page.heading(2, "What was not tested");
    untested(page, sheet);
    page.heading(2, "Please note");
    page.paragraph("A result is about the values that were measured, in the way stated below, on the day of the measurement. It is no permission to open the unit or to touch anything in it: parts inside can carry dangerous voltage, also after it is unplugged. Local rules, and a licensed person where they ask for one, come before anything written here.");
    page.close();
}

fn wrong(page: &mut Page, sheet: &Sheet<'_>) {
    let complaint = or(&sheet.report.job.complaint, "not entered");
    page.paragraph(&format!("The complaint: {complaint}."));
    let Some((_, run, found)) = sheet.runs().next() else {
        page.paragraph("No measurement of it could be used.");
        return;
    };
    let bad = stages(found, &[StageState::Dead, StageState::Marginal]);
    let name = or(&run.title, "first run");
    if bad.is_empty() {
        page.paragraph(&format!(
            "Measured ({name}): nothing wrong in what was tested."
        ));
    } else {
        page.paragraph(&format!("Measured ({name}): {}.", bad.join("; ")));
    }
    if let Some(first) = found.suspects.first().filter(|s| s.weight >= 0.1) {
        page.paragraph(&format!(
            "What was measured is consistent with: {} ({}).",
            first.title,
            first.rank_word()
        ));
    }
}

fn done(sheet: &Sheet<'_>) -> String {
    let replaced = &sheet.report.job.replaced;
    if replaced.is_empty() {
        return "No replaced part is entered in the record.".to_owned();
    }
    let one = |r: &crate::data::job::Replaced| {
        let why = if r.why.is_empty() {
            String::new()
        } else {
            format!(" ({})", r.why)
        };
        format!("{}{why}", r.part)
    };
    let all: Vec<String> = replaced.iter().map(one).collect();
    format!("Replaced: {}.", all.join("; "))
}

fn result(page: &mut Page, sheet: &Sheet<'_>) {
    let Some((_, run, found)) = sheet.after() else {
        page.paragraph(
            "No run after the repair is in the record, so nothing can be said about it.",
        );
        return;
    };
    let name = or(&run.title, "after the repair");
    let good = stages(found, &[StageState::Working]);
    let bad = stages(found, &[StageState::Dead, StageState::Marginal]);
    let say = |list: Vec<String>| list.join("; ");
    if !good.is_empty() {
        page.paragraph(&format!("Measured ({name}): {}.", say(good)));
    }
    if bad.is_empty() {
        page.paragraph("Nothing wrong was found in what was tested after the repair.");
    } else {
        page.paragraph(&format!("Still not as it should be: {}.", say(bad)));
    }
    let soaks = &sheet.report.job.soaks;
    let soaked = soaks.iter().map(|soak| {
        let word = match soak.passed {
            Some(true) => "ended as it should",
            Some(false) => "did not end as it should",
            None => "no result entered",
        };
        let load = or(&soak.load, "load not entered");
        format!("Run under load for {} min ({load}): {word}.", soak.minutes)
    });
    once(soaked).iter().for_each(|text| page.paragraph(text));
    if soaks.is_empty() {
        page.paragraph("No long run under load is entered.");
    }
}

fn untested(page: &mut Page, sheet: &Sheet<'_>) {
    let shown = |stage: Stage| {
        let of = |found: &Inspection| found.stage(stage).map(|f| f.state);
        let states = sheet.runs().filter_map(|(_, _, found)| of(found));
        states
            .into_iter()
            .any(|state| state != StageState::NotTested)
    };
    let never = Stage::ALL.into_iter().filter(|stage| !shown(*stage));
    let never: Vec<String> = never.map(|stage| plain(stage).to_owned()).collect();
    if !never.is_empty() {
        page.paragraph(&format!("In no measurement: {}.", never.join("; ")));
    }
    if let Some((_, _, found)) = sheet.after() {
        let again = stages(found, &[StageState::NotTested]);
        let again = again
            .into_iter()
            .filter(|text| !never.iter().any(|n| text.starts_with(n)));
        let again: Vec<String> = again.map(|t| t.replace(": not tested", "")).collect();
        if !again.is_empty() {
            page.paragraph(&format!(
                "Not again after the repair: {}.",
                again.join("; ")
            ));
        }
    }
    page.paragraph("The bench sheet lists the rest.");
}

/// The stages in one of these states, in plain words with the state.
fn stages(found: &Inspection, states: &[StageState]) -> Vec<String> {
    let those = found.stages.iter().filter(|f| states.contains(&f.state));
    let words = |state: StageState| match state {
        StageState::Working => "works",
        StageState::Marginal => "works with little margin",
        StageState::Dead => "does not work",
        StageState::NotTested => "not tested",
    };
    those
        .map(|f| format!("{}: {}", plain(f.stage), words(f.state)))
        .collect()
}

fn plain(stage: Stage) -> &'static str {
    match stage {
        Stage::Supply => "the feed that wakes the control chip",
        Stage::Reference => "the chip's reference voltage",
        Stage::Oscillator => "the clock of the switching",
        Stage::Drive => "the pulses to the power switch",
        Stage::CurrentSense => "the current limit",
        Stage::OwnSupply => "the unit's feed of its own control chip once it runs",
    }
}
