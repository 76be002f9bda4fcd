//! Single fields and boxes of the job's sheet: what stands in them, and what becomes of it.

use std::collections::BTreeMap;

use super::lists::JobList;
use crate::app::state::AppState;
use crate::app::told::Draft;
use crate::data::job::{ChangeOver, Heat, Job, MainsCheck, Run, When, date};
use crate::data::typed::Input;

/// A field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobField {
    /// What the unit is.
    UnitName,
    /// Who made it.
    Maker,
    /// Serial number.
    Serial,
    /// What its owner says is wrong.
    Complaint,
    /// What feeds it.
    Input,
    /// When the job was opened.
    Opened,
    /// Whatever else should be known.
    Notes,
    /// Estimate.
    Estimate,
    /// Hours of work.
    Hours,
    /// Cost.
    Cost,
    /// Currency of both.
    Currency,
    /// By what the current sense was checked.
    CurrentSense,
    /// By what the feedback loop was checked.
    FeedbackLoop,
    /// Title of a run.
    RunTitle(usize),
    /// Minutes that the unit ran before a run.
    RunMinutes(usize),
    /// What was sprayed in a run.
    RunSprayed(usize),
    /// What else holds for a run.
    RunNote(usize),
    /// Path of a picture to attach; no part of the record.
    PicturePath,
    /// What that picture shows; no part of the record.
    PictureTitle,
}

/// A box, or one of a few words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JobTick {
    /// A line of the change-over list of a run.
    ChangeOver(usize, ChangeOver),
    /// Before or after the repair.
    When(usize, When),
    /// Cold or warm.
    Heat(usize, Heat),
}

/// Fields that are not entered yet, and cells of new rows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drafts {
    fields: BTreeMap<JobField, Draft>,
    pub(super) cells: BTreeMap<(JobList, usize), String>,
    pub(super) wrong: BTreeMap<JobList, String>,
}

impl Drafts {
    /// Forgets all of them.
    pub fn clear(&mut self) {
        *self = Self::default();
    }

    /// Forgets what was typed of a picture, now that it is attached.
    pub fn clear_picture(&mut self) {
        self.fields.remove(&JobField::PicturePath);
        self.fields.remove(&JobField::PictureTitle);
    }

    /// Why a field could not be entered.
    pub fn wrong_of(&self, field: JobField) -> Option<&str> {
        self.fields.get(&field)?.wrong.as_deref()
    }

    /// A cell of the new row of a list.
    pub fn cell(&self, list: JobList, cell: usize) -> &str {
        self.cells.get(&(list, cell)).map_or("", String::as_str)
    }

    /// Why the new row of a list could not be added.
    pub fn wrong_row(&self, list: JobList) -> Option<&str> {
        self.wrong.get(&list).map(String::as_str)
    }
}

/// What stands in a field: its draft, else what the record has.
pub fn text(state: &AppState, field: JobField) -> String {
    match state.job.drafts.fields.get(&field) {
        Some(draft) => draft.text.clone(),
        None => held(state, field),
    }
}

fn held(state: &AppState, field: JobField) -> String {
    let job = state.job.job();
    let run = |index: usize| job.runs.get(index).cloned().unwrap_or_default();
    let number = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
    let by = |check: &Option<MainsCheck>| check.as_ref().map_or(String::new(), |c| c.by.clone());
    match field {
        JobField::UnitName => job.unit.name.clone(),
        JobField::Maker => job.unit.maker.clone(),
        JobField::Serial => job.unit.serial.clone(),
        JobField::Complaint => job.complaint.clone(),
        JobField::Input => job
            .input
            .map_or_else(String::new, |input| input.to_string()),
        JobField::Opened => job.opened.clone(),
        JobField::Notes => job.notes.clone(),
        JobField::Estimate => number(job.work.estimate),
        JobField::Hours => number(job.work.hours),
        JobField::Cost => number(job.work.cost),
        JobField::Currency => job.work.currency.clone(),
        JobField::CurrentSense => by(&job.mains.current_sense),
        JobField::FeedbackLoop => by(&job.mains.feedback_loop),
        JobField::RunTitle(index) => {
            let group = state.case.groups.get(index);
            group.map_or_else(String::new, |group| group.title.clone())
        }
        JobField::RunMinutes(index) => number(run(index).condition.minutes),
        JobField::RunSprayed(index) => run(index).condition.sprayed,
        JobField::RunNote(index) => run(index).condition.note,
        JobField::PicturePath | JobField::PictureTitle => String::new(),
    }
}

/// Keeps what was typed as a draft.
pub fn edit(state: &mut AppState, field: JobField, text: String) {
    let draft = Draft { text, wrong: None };
    state.job.drafts.fields.insert(field, draft);
}

/// Makes an edit of a draft; one that means nothing stays, with the reason.
pub fn enter(state: &mut AppState, field: JobField) {
    if matches!(field, JobField::PicturePath | JobField::PictureTitle) {
        return;
    }
    let Some(draft) = state.job.drafts.fields.get(&field) else {
        return;
    };
    let text = draft.text.trim().to_owned();
    if let JobField::RunTitle(index) = field {
        if let Some(group) = state
            .case
            .groups
            .get_mut(index)
            .filter(|_| !text.is_empty())
        {
            group.title = text;
        }
        state.job.drafts.fields.remove(&field);
        return;
    }
    let mut job = state.job.job().clone();
    match set(&mut job, field, &text) {
        Ok(()) => {
            state.job.drafts.fields.remove(&field);
            state.job.history.edit(name(field), |held| *held = job);
            if !state.demo {
                state.case.title = super::title(state.job.job());
            }
        }
        Err(why) => {
            if let Some(draft) = state.job.drafts.fields.get_mut(&field) {
                draft.wrong = Some(why);
            }
        }
    }
}

fn set(job: &mut Job, field: JobField, text: &str) -> Result<(), String> {
    let plain = || text.to_owned();
    match field {
        JobField::UnitName => job.unit.name = plain(),
        JobField::Maker => job.unit.maker = plain(),
        JobField::Serial => job.unit.serial = plain(),
        JobField::Complaint => job.complaint = plain(),
        JobField::Notes => job.notes = plain(),
        JobField::Currency => job.work.currency = plain(),
        JobField::Input => {
            job.input = (!text.is_empty()).then(|| Input::read(text)).transpose()?;
        }
        JobField::Opened => {
            if !text.is_empty() && !date::is_date(text) {
                return Err("a date was expected, like 2026-11-26".to_owned());
            }
            job.opened = plain();
        }
        JobField::Estimate => job.work.estimate = number(text)?,
        JobField::Hours => job.work.hours = number(text)?,
        JobField::Cost => job.work.cost = number(text)?,
        JobField::CurrentSense => job.mains.current_sense = check(text),
        JobField::FeedbackLoop => job.mains.feedback_loop = check(text),
        JobField::RunMinutes(index) => run(job, index).condition.minutes = number(text)?,
        JobField::RunSprayed(index) => run(job, index).condition.sprayed = plain(),
        JobField::RunNote(index) => run(job, index).condition.note = plain(),
        JobField::RunTitle(_) | JobField::PicturePath | JobField::PictureTitle => {}
    }
    Ok(())
}

fn run(job: &mut Job, index: usize) -> &mut Run {
    if job.runs.len() <= index {
        job.runs.resize_with(index + 1, Run::default);
    }
    &mut job.runs[index]
}

fn check(text: &str) -> Option<MainsCheck> {
    (!text.is_empty()).then(|| MainsCheck {
        by: text.to_owned(),
        date: String::new(),
    })
}

/// A number that is not below zero; nothing where nothing is typed.
pub(super) fn number(text: &str) -> Result<Option<f64>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let value = text.replace(',', ".").parse::<f64>().ok();
    let good = value.filter(|value| value.is_finite() && *value >= 0.0);
    good.map(Some)
        .ok_or_else(|| "a number was expected, not below zero, like 1.5".to_owned())
}

/// What an edit of a field is called where it can be taken back.
fn name(field: JobField) -> &'static str {
    match field {
        JobField::UnitName | JobField::Maker | JobField::Serial => "the unit",
        JobField::Complaint => "the complaint",
        JobField::Input => "the input",
        JobField::Opened => "the date",
        JobField::Notes => "the notes",
        JobField::Estimate | JobField::Hours | JobField::Cost | JobField::Currency => "the work",
        JobField::CurrentSense | JobField::FeedbackLoop => "a check before mains",
        _ => "a run",
    }
}

/// Ticks a box or takes the tick away.
pub fn tick(state: &mut AppState, tick: JobTick, on: bool) {
    state.job.history.edit("a box", |job| match tick {
        JobTick::ChangeOver(index, line) => {
            let lines = &mut run(job, index).change_over;
            if on {
                lines.insert(line);
            } else {
                lines.remove(&line);
            }
        }
        JobTick::When(index, when) => run(job, index).when = on.then_some(when),
        JobTick::Heat(index, heat) => run(job, index).condition.heat = on.then_some(heat),
    });
}
