//! The record of the job in the window: every edit becomes one of a record that can be taken back, and
//! is kept in the job's folder as one works.
//!
//! What is told about runs lives in the groups of the case; the rest of the record lives in the
//! history. [`note`] makes one record of both after each command, `back` makes the groups of a record
//! that was taken back. Start reading there, then `files.rs` (folders) and `fields.rs` (the sheet).

pub mod fields;
pub mod files;
pub mod lists;
pub mod page;
pub mod recent;
mod shelf;

use std::collections::BTreeSet;

use super::commands::Effect;
use super::state::{AppState, MiddleView};
use crate::data::Options;
use crate::data::job::{Job, Run, When};
use crate::inspect::Group;
use crate::job::History;

pub use files::{Held, Opening};
pub use shelf::Shelf;

/// Most edits that can be taken back.
const MOST_EDITS: usize = 200;

/// The record in the window.
#[derive(Debug, Clone)]
pub struct JobState {
    /// The record, with what it was before each edit.
    pub history: History,
    /// Every shot that was opened, so that a run can get back one that was removed.
    pub shelf: Shelf,
    /// Runs with files that are missing or can't be read: their record stays as it was.
    pub frozen: BTreeSet<usize>,
    /// The folder that it is kept in.
    pub held: Option<Held>,
    /// Jobs that were open last, as the list was when the window opened.
    pub recent: Vec<std::path::PathBuf>,
    /// The folder as typed.
    pub folder: String,
    /// What was done last, as a sentence.
    pub said: Option<String>,
    /// What went wrong last, as a sentence.
    pub wrong: Option<String>,
    /// A folder that is open elsewhere and may be taken over on request.
    pub taken: Option<std::path::PathBuf>,
    /// Was leaving it asked for, though it is kept nowhere?
    pub leaving: bool,
    /// Is a folder being opened or a first save under way?
    pub busy: bool,
    /// Fields of the sheet that are not entered yet.
    pub drafts: fields::Drafts,
    /// The report.
    pub page: page::PageForm,
}

impl Default for JobState {
    fn default() -> Self {
        Self::with(Job::default())
    }
}

impl JobState {
    /// A record that nothing was done to yet.
    pub fn with(job: Job) -> Self {
        Self {
            history: History::new(job, MOST_EDITS),
            shelf: Shelf::default(),
            frozen: BTreeSet::new(),
            held: None,
            recent: Vec::new(),
            folder: String::new(),
            said: None,
            wrong: None,
            taken: None,
            leaving: false,
            busy: false,
            drafts: fields::Drafts::default(),
            page: page::PageForm::default(),
        }
    }

    /// The record as it is.
    pub fn job(&self) -> &Job {
        self.history.job()
    }
}

/// A wish about the record.
#[derive(Debug, Clone, PartialEq)]
pub enum JobCommand {
    /// Take the last edit back.
    Undo,
    /// Do again what was taken back.
    Redo,
    /// The folder field changed.
    EditFolder(String),
    /// Keep the job in the folder of the field.
    Keep,
    /// Open the job of the folder in the field.
    Open,
    /// Open the job of this folder, though another process seems to have it.
    TakeOver,
    /// A field of the sheet changed.
    EditField(fields::JobField, String),
    /// A field of the sheet was left.
    EnterField(fields::JobField),
    /// A cell of the new row of a list changed.
    EditCell(lists::JobList, usize, String),
    /// Add the new row to a list.
    Add(lists::JobList),
    /// Take a row out of a list.
    Remove(lists::JobList, usize),
    /// A box was ticked or not.
    Tick(fields::JobTick, bool),
    /// Begin a further run.
    AddRun,
    /// Attach the picture that the field names.
    Attach,
    /// Something about the report.
    Page(page::PageCommand),
}

/// Applies a wish.
pub fn apply(state: &mut AppState, command: JobCommand) -> Option<Effect> {
    match command {
        JobCommand::Undo => {
            return state.job.history.undo().then(|| back(state)).flatten();
        }
        JobCommand::Redo => {
            return state.job.history.redo().then(|| back(state)).flatten();
        }
        JobCommand::EditFolder(text) => state.job.folder = text,
        JobCommand::Keep => return files::keep(state),
        JobCommand::Open => return files::open(state, false),
        JobCommand::TakeOver => return files::open(state, true),
        JobCommand::EditField(field, text) => fields::edit(state, field, text),
        JobCommand::EnterField(field) => {
            let before = state.job.job().mains.clone();
            fields::enter(state, field);
            // the caution that a unit is not cleared for mains hangs on these
            return (state.job.job().mains != before).then_some(Effect::ExamineAll);
        }
        JobCommand::EditCell(list, cell, text) => lists::edit(state, list, cell, text),
        JobCommand::Add(list) => lists::add(state, list),
        JobCommand::Remove(list, row) => lists::remove(state, list, row),
        JobCommand::Tick(tick, on) => fields::tick(state, tick, on),
        JobCommand::AddRun => add_run(state),
        JobCommand::Attach => return files::attach(state),
        JobCommand::Page(command) => return page::apply(state, command),
    }
    None
}

/// May the bench be cleared? The first time that something would be lost the answer is no, with the
/// reason on the sheet.
pub fn may_leave(state: &mut AppState) -> bool {
    let job = &mut state.job;
    let kept = job.held.is_some() || job.history.undo_name().is_none() || state.demo;
    if kept || job.leaving {
        return true;
    }
    job.leaving = true;
    job.wrong = Some(
        "This job is kept nowhere: what was entered would be lost. Keep it in a folder here, or do the same again to leave it.".to_owned(),
    );
    state.view = MiddleView::Job;
    false
}

fn add_run(state: &mut AppState) {
    let mut options = state.options.clone();
    if let Some(group) = state.group() {
        shared(&group.options, &mut options);
    }
    let number = state.case.groups.len() + 1;
    state.add_group(Group {
        title: format!("run {number}"),
        shots: Vec::new(),
        options,
    });
}

/// What holds for the whole job goes from the options of one run to those of another.
fn shared(from: &Options, to: &mut Options) {
    to.controller.clone_from(&from.controller);
    to.marking_not_trusted = from.marking_not_trusted;
    to.parts.clone_from(&from.parts);
    to.marks.clone_from(&from.marks);
    to.meter = from.meter;
    to.scope_channels = from.scope_channels;
}

/// After a command: what it changed becomes an edit of the record, under `name`; what holds for the job
/// is told to its other runs. Gives the work that follows.
pub fn note(state: &mut AppState, name: &str) -> Option<Effect> {
    if state.demo {
        return None;
    }
    let spread = spread(state);
    let job = composed(state);
    if *state.job.history.job() != job {
        state.job.history.edit(name, |held| *held = job);
        state.job.said = None;
        state.job.leaving = false;
    }
    spread.then_some(Effect::ExamineAll)
}

/// Tells all runs what the shown one says of the job; `true` where that changed one.
fn spread(state: &mut AppState) -> bool {
    let Some(told) = state.group().map(|group| group.options.clone()) else {
        return false;
    };
    let mut changed = false;
    for group in &mut state.case.groups {
        let before = group.options.clone();
        shared(&told, &mut group.options);
        changed |= group.options != before;
    }
    changed
}

/// The record that the window holds now.
fn composed(state: &AppState) -> Job {
    let mut job = state.job.job().clone();
    job.runs.resize_with(state.case.groups.len(), Run::default);
    for (index, group) in state.case.groups.iter().enumerate() {
        if state.job.frozen.contains(&index) {
            continue;
        }
        let run = &mut job.runs[index];
        run.title.clone_from(&group.title);
        if run.when.is_none() && group.title == super::state::AFTER {
            run.when = Some(When::After);
        } else if run.when.is_none() && group.title == super::state::AS_FOUND {
            run.when = Some(When::Before);
        }
        run.shots = state.job.shelf.shots_of(group);
        job.tell(index, &group.options);
    }
    if let Some(group) = state.group() {
        // what holds for the job is what the shown run says, whichever was told last
        let index = state.group;
        if !state.job.frozen.contains(&index) {
            job.tell(index, &group.options);
        }
    }
    state.job.shelf.files_of(&mut job);
    job
}

/// Makes the groups of the record as it is now, after an edit was taken back or done again.
fn back(state: &mut AppState) -> Option<Effect> {
    if state.demo {
        // its runs are those of the built-in unit, not of this record
        state.job.drafts.clear();
        return None;
    }
    let job = state.job.job().clone();
    let count = job.runs.len().max(1);
    state.case.groups.truncate(count);
    for index in 0..count {
        let options = job.options(index).unwrap_or_else(|| state.options.clone());
        let run = job.runs.get(index);
        let title = run.map_or(super::state::AS_FOUND, |run| run.title.as_str());
        let shots = match (run, state.case.groups.get(index)) {
            (_, Some(group)) if state.job.frozen.contains(&index) => group.shots.clone(),
            (Some(run), _) => state.job.shelf.shots(run),
            (None, _) => Vec::new(),
        };
        let group = Group {
            title: title.to_owned(),
            shots,
            options,
        };
        match state.case.groups.get_mut(index) {
            Some(place) => *place = group,
            None => state.case.groups.push(group),
        }
    }
    state.case.title = title(&job);
    state.inspections = vec![None; count];
    state.refusals = vec![None; count];
    state.drafts.clear();
    state.job.drafts.clear();
    let (group, shot) = (state.group, state.shot);
    state.select_group(group);
    let shots = state.group().map_or(0, |group| group.shots.len());
    state.select_shot(shot.min(shots.saturating_sub(1)));
    Some(Effect::ExamineAll)
}

/// The title of a job.
pub fn title(job: &Job) -> String {
    match job.unit.name.trim() {
        "" => "Your captures".to_owned(),
        name => name.to_owned(),
    }
}
