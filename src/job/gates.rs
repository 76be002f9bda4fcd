//! What has to stand in the record before the next step: measured bulk voltage before injection, the
//! change-over list before mains, the checks that a bench-fed run leaves out, the soak before the end.
//!
//! Each function gives what is missing, with its reason; an empty list means that nothing of this list
//! is missing, and no more than that. Local rules and licensed practice come before it. Sources:
//! common practice of the trade; the cautions of room `verdict` name the standards.

use crate::data::inspection::NOT_CLEARED_FOR_MAINS;
use crate::data::job::{ChangeOver, Job, Run, When};
use crate::data::setup::BULK_DISCHARGED_V;
use crate::data::{Inspection, Setup};

/// Something that has to be done and entered first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// What is missing, as a sentence.
    pub what: String,
    /// Why it is asked for.
    pub why: String,
}

fn missing(what: impl Into<String>, why: &str) -> Missing {
    Missing {
        what: what.into(),
        why: why.to_owned(),
    }
}

/// Before a bench supply is connected: a measured bulk voltage near zero. A run on mains or a cold one
/// asks for nothing; a run whose set-up is not told is asked.
pub fn before_injection(run: &Run) -> Vec<Missing> {
    let setups = run.setups();
    if !setups.is_empty() && !setups.iter().any(|setup| setup.bench_fed()) {
        return Vec::new();
    }
    let why = "a charged bulk capacitor kills, and it keeps its charge where the unit is dead";
    match run.readings.get("bulk") {
        Some(volts) if volts.abs() < BULK_DISCHARGED_V => Vec::new(),
        Some(volts) => vec![missing(
            format!(
                "The bulk capacitor was read at {volts:.0} V: discharge it through a resistor and measure it again, below {BULK_DISCHARGED_V:.0} V."
            ),
            why,
        )],
        None => vec![missing(
            format!("The bulk voltage is not entered: measure it, below {BULK_DISCHARGED_V:.0} V."),
            why,
        )],
    }
}

/// The lines of the change-over list that are not ticked for a run on mains. Where the job had no
/// bench-fed run before it, the list is asked for all the same: leads may come from elsewhere.
pub fn change_over(run: &Run) -> Vec<Missing> {
    let open = |line: &&ChangeOver| !run.change_over.contains(line);
    let lines = ChangeOver::ALL.iter().filter(open);
    lines
        .map(|line| missing(format!("{}: not ticked.", line.title()), line.why()))
        .collect()
}

/// The checks without which the unit is not cleared for mains. Both entered clears nothing by itself.
pub fn not_cleared_for_mains(job: &Job) -> Vec<Missing> {
    let entered = |check: &Option<crate::data::job::MainsCheck>| {
        check
            .as_ref()
            .is_some_and(|check| !check.by.trim().is_empty())
    };
    let mut all = Vec::new();
    if !entered(&job.mains.current_sense) {
        all.push(missing(
            "Not cleared for mains: the current-sense check is not entered (a voltage into CS through 1 kΩ or more has to stop the pulses).",
            "without it the first pulse on mains may destroy the switch; a bench-fed run does not test it",
        ));
    }
    if !entered(&job.mains.feedback_loop) {
        all.push(missing(
            "Not cleared for mains: the feedback-loop check is not entered.",
            "without feedback the output rises until something bursts; a bench-fed run does not test it",
        ));
    }
    all
}

/// Takes the caution away that asks for the checks before mains, once both are entered in the record.
pub fn settle(job: &Job, inspection: &mut Inspection) {
    if not_cleared_for_mains(job).is_empty() {
        let cautions = &mut inspection.cautions;
        cautions.retain(|caution| caution.title != NOT_CLEARED_FOR_MAINS);
    }
}

/// Before the job is closed: a soak that ended as it should.
pub fn soak(job: &Job) -> Vec<Missing> {
    let why = "faults that come with heat show only under load and after a while";
    if job
        .soaks
        .iter()
        .any(|soak| soak.passed == Some(true) && soak.minutes > 0.0)
    {
        return Vec::new();
    }
    let what = match job.soaks.last().map(|soak| soak.passed) {
        None => "No soak is entered.",
        Some(None) => "The soak has no result yet.",
        Some(Some(false)) => "The last soak did not end as it should.",
        Some(Some(true)) => "The soak that was entered has no duration.",
    };
    vec![missing(what, why)]
}

/// All that is missing in a run and its job, in the order in which it is asked for: by the set-ups that
/// the run tells.
pub fn of_run(job: &Job, run: &Run) -> Vec<Missing> {
    let mut setups = run.setups();
    // before a set-up, not only after it
    setups.extend(run.next_setup);
    let mut all = Vec::new();
    if setups.iter().any(|setup| setup.bench_fed()) {
        all.extend(before_injection(run));
    }
    if setups.contains(&Setup::Mains) {
        all.extend(change_over(run));
    }
    if !setups.is_empty() && setups.iter().all(|setup| *setup == Setup::Cold) {
        return all;
    }
    all.extend(not_cleared_for_mains(job));
    all
}

/// What has to be entered before the next step, over all runs, each once; a soak is asked for from the
/// first run after the repair.
pub fn of_job(job: &Job) -> Vec<Missing> {
    let mut all: Vec<Missing> = Vec::new();
    for one in job.runs.iter().flat_map(|run| of_run(job, run)) {
        if !all.contains(&one) {
            all.push(one);
        }
    }
    if job.runs.iter().any(|run| run.when == Some(When::After)) {
        all.extend(soak(job));
    }
    all
}

#[cfg(test)]
mod tests;
