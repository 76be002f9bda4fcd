//! The job's folder: kept for the first time, saved as one works, opened. Everything that touches the
//! medium runs on a worker.

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use super::fields::{JobField, text};
use super::shelf::{Shelf, rename_in};
use super::{JobState, title};
use crate::app::commands::Effect;
use crate::app::state::{AppState, MiddleView, Problem};
use crate::data::Progress;
use crate::data::job::{CaptureFile, Job, Picture, date};
use crate::inspect::{Case, Group, InspectError, ReadOptions};
use crate::job::{self, Holder, JobError, Loaded, ProblemKind, Store};

/// A folder that the window holds.
#[derive(Clone)]
pub struct Held {
    store: Arc<Mutex<Store>>,
    /// The folder.
    pub folder: PathBuf,
    /// The record as it was saved last.
    pub saved: Box<Job>,
    /// The record that could not be saved last; it is tried again once it changed.
    pub failed: Option<Box<Job>>,
}

impl fmt::Debug for Held {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Held")
            .field("folder", &self.folder)
            .finish_non_exhaustive()
    }
}

/// A job that was opened.
pub struct Opening {
    held: Held,
    loaded: Loaded,
    taken_over: Option<String>,
}

/// What work on a job's folder gave.
pub enum JobDone {
    /// Kept or saved: the record with its files in the folder, and what these were called before.
    Saved(Held, BTreeMap<String, CaptureFile>),
    /// Not saved.
    NotSaved(JobError, Box<Job>),
    /// Opened.
    Opened(Box<Opening>),
    /// Not opened.
    NotOpened(PathBuf, String, bool),
    /// Pictures were copied, or not.
    Attached(Vec<Result<Picture, JobError>>),
}

impl JobDone {
    /// The folder that the window holds now.
    pub fn folder(&self) -> Option<&Path> {
        match self {
            JobDone::Saved(held, _) => Some(&held.folder),
            JobDone::Opened(opening) => Some(&opening.held.folder),
            _ => None,
        }
    }
}

/// Now, as a record writes it.
pub(super) fn now() -> String {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    date::from_unix_seconds(since.map_or(0, |since| since.as_secs()))
}

fn folder(state: &AppState) -> Option<PathBuf> {
    let typed = state.job.folder.trim().trim_matches('"');
    (!typed.is_empty()).then(|| PathBuf::from(typed))
}

/// Keeps the job in the folder that is typed.
pub(super) fn keep(state: &mut AppState) -> Option<Effect> {
    if state.demo {
        state.job.wrong = Some(
            "The built-in unit is no job of yours; begin with New unit, or open captures."
                .to_owned(),
        );
        return None;
    }
    let Some(folder) = folder(state) else {
        state.job.wrong = Some("Name a folder first, like jobs/gv24-0117.".to_owned());
        return None;
    };
    state.job.busy = true;
    state.job.wrong = None;
    Some(Effect::KeepJob(folder))
}

/// Opens the job of the folder that is typed, or of the one that seems to be open elsewhere.
pub(super) fn open(state: &mut AppState, take_over: bool) -> Option<Effect> {
    let taken = state.job.taken.take().filter(|_| take_over);
    let Some(folder) = taken.or_else(|| folder(state)) else {
        state.job.wrong = Some("Name the folder of a job first.".to_owned());
        return None;
    };
    if !super::may_leave(state) {
        return None;
    }
    state.job.busy = true;
    state.job.wrong = None;
    Some(Effect::OpenJob(folder, take_over))
}

/// Attaches the picture that is typed.
pub(super) fn attach(state: &mut AppState) -> Option<Effect> {
    let path = text(state, JobField::PicturePath)
        .trim()
        .trim_matches('"')
        .to_owned();
    if state.job.held.is_none() {
        state.job.wrong =
            Some("Keep the job in a folder first: pictures are copied there.".to_owned());
        return None;
    }
    let words = text(state, JobField::PictureTitle);
    (!path.is_empty()).then(|| Effect::AttachPictures(vec![path.into()], words))
}

/// The record, where it is kept and changed since it was saved.
pub fn unsaved(state: &AppState) -> Option<(Held, Job)> {
    let held = state.job.held.as_ref()?;
    let job = state.job.job();
    let tried = held.failed.as_deref() == Some(job);
    (*held.saved != *job && !tried && !state.job.busy).then(|| (held.clone(), job.clone()))
}

/// Keeps a job in a new folder.
pub fn kept(folder: &Path, job: Job) -> JobDone {
    let now = now();
    match Store::create(folder, &now) {
        Ok(store) => {
            let mut job = job;
            if job.opened.is_empty() {
                job.opened.clone_from(&now);
            }
            let held = Held {
                store: Arc::new(Mutex::new(store)),
                folder: folder.to_owned(),
                saved: Box::default(),
                failed: None,
            };
            saved(held, job)
        }
        Err(error) => JobDone::NotSaved(error, Box::new(job)),
    }
}

/// Copies what lies outside the folder into it, and saves the record.
pub fn saved(mut held: Held, mut job: Job) -> JobDone {
    let before = job.clone();
    let mut names = BTreeMap::new();
    let mut store = held.store.lock().unwrap_or_else(PoisonError::into_inner);
    for (path, layout) in Shelf::outside(&job) {
        match store.add_capture(&path, &layout) {
            Ok(capture) => {
                names.insert(path.to_string_lossy().into_owned(), capture);
            }
            Err(error) => return JobDone::NotSaved(error, Box::new(before)),
        }
    }
    rename_in(&mut job, &names);
    job.changed = now();
    if let Err(error) = store.save(&job) {
        return JobDone::NotSaved(error, Box::new(before));
    }
    drop(store);
    held.saved = Box::new(job);
    held.failed = None;
    JobDone::Saved(held, names)
}

/// Opens the job of a folder with its captures.
///
/// # Errors
/// [`InspectError::Cancelled`].
pub fn opened(
    folder: &Path,
    take_over: bool,
    told: &ReadOptions,
    progress: &Progress,
) -> Result<JobDone, InspectError> {
    let opened = match Store::open(folder, &now(), take_over) {
        Ok(opened) => opened,
        Err(error) => {
            let may = matches!(
                error,
                JobError::InUse {
                    may_take_over: true,
                    ..
                }
            );
            return Ok(JobDone::NotOpened(
                folder.to_owned(),
                error.to_string(),
                may,
            ));
        }
    };
    let loaded = match job::load(folder, &|_| told.clone(), progress) {
        Ok(loaded) => loaded,
        Err(InspectError::Cancelled(cancelled)) => return Err(cancelled.into()),
        Err(error) => {
            return Ok(JobDone::NotOpened(
                folder.to_owned(),
                error.to_string(),
                false,
            ));
        }
    };
    let held = Held {
        store: Arc::new(Mutex::new(opened.store)),
        folder: folder.to_owned(),
        saved: Box::new(opened.job),
        failed: None,
    };
    Ok(JobDone::Opened(Box::new(Opening {
        held,
        loaded,
        taken_over: opened.taken_over.map(|holder| words(&holder)),
    })))
}

fn words(holder: &Holder) -> String {
    format!("process {} since {}", holder.process, holder.since)
}

/// Copies pictures into the folder.
pub fn attached(held: &Held, paths: &[PathBuf], words: &str) -> JobDone {
    let store = held.store.lock().unwrap_or_else(PoisonError::into_inner);
    let each = paths.iter().map(|path| store.add_picture(path, words));
    JobDone::Attached(each.collect())
}

/// Takes what work on a folder gave; `Effect` is the work that follows.
pub fn take(state: &mut AppState, done: JobDone) -> Option<Effect> {
    state.job.busy = false;
    match done {
        JobDone::Saved(held, names) => {
            state.job.shelf.rename(&names);
            let (changed, opened) = (held.saved.changed.clone(), held.saved.opened.clone());
            state.job.history.rewrite(|job| rename_in(job, &names));
            state.job.history.amend(|job| {
                job.changed = changed;
                job.opened = opened;
            });
            // a save like those before has nothing to say, and leaves what was said of other work
            let before = state.job.held.as_ref();
            if before.is_none_or(|before| before.failed.is_some()) {
                state.job.said = Some(format!("Kept in {}.", held.folder.display()));
                state.job.wrong = None;
            }
            state.job.held = Some(held);
        }
        JobDone::NotSaved(error, job) => {
            state.job.wrong = Some(format!("Not kept: {error}."));
            if let Some(held) = &mut state.job.held {
                held.failed = Some(job);
            }
        }
        JobDone::NotOpened(folder, why, may_take_over) => {
            state.job.wrong = Some(format!("Not opened: {why}."));
            state.job.taken = may_take_over.then_some(folder);
            state.view = MiddleView::Job;
        }
        JobDone::Opened(opening) => return Some(take_opened(state, *opening)),
        JobDone::Attached(each) => take_pictures(state, each),
    }
    None
}

/// Those that were copied are one edit; why others were not is said.
fn take_pictures(state: &mut AppState, each: Vec<Result<Picture, JobError>>) {
    let (mut copied, mut wrong) = (Vec::new(), Vec::new());
    for one in each {
        match one {
            Ok(picture) => copied.push(picture),
            Err(error) => wrong.push(format!("Not attached: {error}.")),
        }
    }
    if !wrong.is_empty() {
        state.job.wrong = Some(wrong.join(" "));
    }
    if copied.is_empty() {
        return;
    }
    state.job.drafts.clear_picture();
    state.view = MiddleView::Job;
    state.job.said = Some(match copied.as_slice() {
        [one] => format!("Attached as {}.", one.file),
        several => format!("{} pictures attached.", several.len()),
    });
    let add = |job: &mut Job| job.pictures.extend(copied);
    state.job.history.edit("a picture", add);
}

fn take_opened(state: &mut AppState, opening: Opening) -> Effect {
    let Opening {
        held,
        loaded,
        taken_over,
    } = opening;
    let Loaded {
        job,
        case,
        runs,
        problems,
    } = loaded;
    let mut new = JobState::with(job.clone());
    new.recent = std::mem::take(&mut state.job.recent);
    new.folder = held.folder.display().to_string();
    new.shelf.know(&job.captures);
    let missing: Vec<&str> = problems
        .iter()
        .filter(|p| p.kind != ProblemKind::Altered && p.kind != ProblemKind::NoHash)
        .map(|problem| problem.file.as_str())
        .collect();
    let mut groups = Vec::new();
    for (number, run) in job.runs.iter().enumerate() {
        let files = run.shots.iter();
        let mut files = files.flat_map(|shot| std::iter::once(&shot.file).chain(&shot.with));
        if files.any(|file| missing.contains(&file.as_str())) {
            new.frozen.insert(number);
        }
        let place = runs.iter().position(|known| *known == number);
        let group = place.and_then(|place| case.groups.get(place).cloned());
        let group = group.unwrap_or_else(|| Group {
            title: run.title.clone(),
            shots: Vec::new(),
            options: job.options(number).unwrap_or_default(),
        });
        if !new.frozen.contains(&number) {
            new.shelf.take_run(run, &group.shots);
        }
        groups.push(group);
    }
    if groups.is_empty() {
        let fresh = AppState::empty(state.read.clone(), state.options.clone());
        groups = fresh.case.groups;
    }
    new.held = Some(held);
    new.said =
        taken_over.map(|holder| format!("Its lock was left behind by {holder} and taken over."));
    let case = Case {
        title: title(&job),
        groups,
    };
    state.take_case(case, false);
    state.job = new;
    state.view = MiddleView::Job;
    let notes = problems.into_iter().map(|problem| {
        let attempt = match problem.kind {
            ProblemKind::Altered => "What is shown is the file as it is now. Put the old one back, or note in the job why it changed.",
            _ => "The record keeps it named. Put the file back into the job's folder and open the job again; until then this run is not changed in the record.",
        };
        Problem::new("A file of the job is not as it was kept", problem.text, attempt)
    });
    state.problems.extend(notes);
    Effect::ExamineAll
}
