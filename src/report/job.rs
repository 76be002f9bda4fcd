//! A job with its inspected runs, as both renderings show it.

use crate::data::Inspection;
use crate::data::job::{Job, Run};
use crate::job::gates::{self, Missing};
use crate::job::{Inspected, Problem, ProblemKind};

/// A job with what its runs gave.
#[derive(Debug, Clone, Copy)]
pub struct JobReport<'a> {
    /// The record.
    pub job: &'a Job,
    /// Name to show where the record gives the unit none: that of its folder.
    pub folder: &'a str,
    /// Inspected runs, each by its number in the record, from 0.
    pub runs: &'a [(usize, Inspection)],
    /// Runs that could not be inspected, with the reason.
    pub failed: &'a [(usize, String)],
    /// Files that are not as they were.
    pub problems: &'a [Problem],
}

impl<'a> JobReport<'a> {
    /// All of a job; `folder` as [`JobReport::folder`].
    pub fn of(found: &'a Inspected, folder: &'a str) -> Self {
        Self {
            job: &found.loaded.job,
            folder,
            runs: &found.runs,
            failed: &found.failed,
            problems: &found.loaded.problems,
        }
    }

    /// Name of the unit.
    pub fn unit(&self) -> &str {
        if self.job.unit.name.trim().is_empty() {
            self.folder
        } else {
            &self.job.unit.name
        }
    }

    /// The run of this number.
    pub fn run(&self, number: usize) -> Option<&Run> {
        self.job.runs.get(number)
    }

    /// Exit code: that of the first run; 2 where a file is missing or unread or a run failed, and not 0
    /// where a file is not the one that was recorded.
    pub fn exit_code(&self) -> u8 {
        let gone = |p: &Problem| matches!(p.kind, ProblemKind::Missing | ProblemKind::Unread);
        if !self.failed.is_empty() || self.problems.iter().any(gone) {
            return 2;
        }
        let first = self.runs.first().map_or(2, |(_, run)| run.exit_code());
        let altered = self.problems.iter().any(|p| p.kind == ProblemKind::Altered);
        if altered && first == 0 { 3 } else { first }
    }

    /// What has to be entered before the next step, over all runs, each once; a soak is asked for from the
    /// first run after the repair.
    pub fn missing(&self) -> Vec<Missing> {
        gates::of_job(self.job)
    }
}

/// A run in words: `as found (before the repair), 2026-11-26`.
pub fn run_words(run: &Run) -> String {
    let when = run
        .when
        .map(|when| format!(" ({})", when.words()))
        .unwrap_or_default();
    let date = if run.date.is_empty() {
        String::new()
    } else {
        format!(", {}", run.date)
    };
    format!("{}{when}{date}", run.title)
}
