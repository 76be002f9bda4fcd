//! The report of the job, written from the window: a page, a table or an object, by the file's ending.
//!
//! It is made on a worker from the record and the captures as the window holds them.

use std::path::{Path, PathBuf, absolute};

use super::files::now;
use crate::app::commands::Effect;
use crate::app::state::AppState;
use crate::data::job::Job;
use crate::data::text::error_chain;
use crate::inspect::{Case, InspectError, Library};
use crate::job::{self, Inspected, Loaded, OutError};
use crate::report::{Format, written};

/// The file, and what came of it.
#[derive(Debug, Clone, Default)]
pub struct PageForm {
    /// The file as typed; empty stands for one in the job's folder.
    pub path: String,
    /// A file that is there; asking once more replaces it.
    pub there: Option<PathBuf>,
    /// The file that was written last.
    pub done: Option<PathBuf>,
    /// What came of it, as a sentence.
    pub said: Option<String>,
}

/// A wish about the report.
#[derive(Debug, Clone, PartialEq)]
pub enum PageCommand {
    /// The file's field changed.
    EditPath(String),
    /// Write it.
    Write,
    /// Show the file that was written.
    Show,
}

/// What a worker needs to write it.
#[derive(Debug, Clone)]
pub struct Wanted {
    path: PathBuf,
    replace: bool,
    job: Job,
    case: Case,
    demo: bool,
    folder: Option<PathBuf>,
}

/// Applies a wish.
pub(super) fn apply(state: &mut AppState, command: PageCommand) -> Option<Effect> {
    let form = &mut state.job.page;
    match command {
        PageCommand::EditPath(text) => {
            form.path = text;
            form.there = None;
            None
        }
        PageCommand::Show => {
            let file = form.done.clone()?;
            form.said = Some(format!("The desktop was asked to show {}.", file.display()));
            Some(Effect::ShowFile(file))
        }
        PageCommand::Write => {
            if target(state).is_some() {
                return Some(Effect::WritePage);
            }
            state.job.page.said = Some(
                "Name a file first, like report.html (a page to print), measured.csv (the values as a table) or job.json.".to_owned(),
            );
            None
        }
    }
}

/// The file that is meant: the one typed, or one of today's in the job's folder.
pub fn target(state: &AppState) -> Option<PathBuf> {
    let typed = state.job.page.path.trim().trim_matches('"');
    if typed.is_empty() {
        let held = state.job.held.as_ref()?;
        return Some(held.folder.join(format!("report-{}.html", today())));
    }
    Some(absolute(typed).unwrap_or_else(|_| PathBuf::from(typed)))
}

fn today() -> String {
    now().chars().take(10).collect()
}

/// What the worker needs; nothing where no file is named.
pub fn wanted(state: &AppState) -> Option<Wanted> {
    let path = target(state)?;
    Some(Wanted {
        replace: state.job.page.there.as_ref() == Some(&path),
        path,
        job: state.job.job().clone(),
        case: state.case.clone(),
        demo: state.demo,
        folder: state.job.held.as_ref().map(|held| held.folder.clone()),
    })
}

/// Writes it; gives the file, or why there is none and whether asking once more replaces it.
///
/// # Errors
/// [`InspectError`] where the built-in record can't be read.
pub fn write(wanted: Wanted, library: &Library) -> Result<Written, InspectError> {
    let Wanted {
        path,
        replace,
        job,
        case,
        demo,
        folder,
    } = wanted;
    let refused = |error: OutError| Written {
        there: matches!(error, OutError::There(_)),
        path: path.clone(),
        error: Some(error_chain(&error)),
    };
    let ending = path.extension().map(|e| e.to_string_lossy().into_owned());
    let format = ending
        .as_deref()
        .map_or(Some(Format::Page), Format::by_ending);
    let Some(format) = format else {
        return Ok(Written {
            there: false,
            error: Some(format!(
                "{}: the ending says what is written: .html, .csv or .json",
                path.display()
            )),
            path,
        });
    };
    let loaded = if demo {
        of_demo(case)?
    } else {
        of_record(job, case, folder.as_deref())
    };
    let inputs = inputs(folder.as_deref(), &loaded.job);
    if let Err(error) = job::may_write(&path, replace, &inputs) {
        return Ok(refused(error));
    }
    let found = Inspected::of(loaded, &Clone::clone, library);
    let photos = folder
        .as_deref()
        .map_or_else(Vec::new, |folder| job::photos(folder, &found.loaded.job));
    let text = written(
        &found,
        &name(demo, folder.as_deref()),
        &photos,
        &today(),
        format,
    );
    match job::write_whole(&path, text.as_bytes(), replace, &inputs) {
        Ok(()) => Ok(Written {
            path,
            there: false,
            error: None,
        }),
        Err(error) => Ok(refused(error)),
    }
}

/// What came of writing.
#[derive(Debug, Clone)]
pub struct Written {
    /// The file.
    pub path: PathBuf,
    /// Is it there already, and may be replaced?
    pub there: bool,
    /// Why it was not written.
    pub error: Option<String>,
}

fn name(demo: bool, folder: Option<&Path>) -> String {
    let name = folder.and_then(Path::file_name);
    match name {
        _ if demo => "built-in example".to_owned(),
        Some(name) => name.to_string_lossy().into_owned(),
        None => "unit without a name".to_owned(),
    }
}

/// The built-in record with what was changed about its runs since.
fn of_demo(case: Case) -> Result<Loaded, InspectError> {
    let mut job = job::built_in_record()?;
    job.runs
        .resize_with(case.groups.len().max(job.runs.len()), Default::default);
    for (number, group) in case.groups.iter().enumerate() {
        job.runs[number].title.clone_from(&group.title);
        job.tell(number, &group.options);
    }
    Ok(of_record(job, case, None))
}

/// A record with the runs that have something to inspect.
fn of_record(job: Job, mut case: Case, folder: Option<&Path>) -> Loaded {
    let filled: Vec<bool> = case.groups.iter().map(job::has_something).collect();
    let runs = (0..filled.len()).filter(|number| filled[*number]).collect();
    let mut filled = filled.iter();
    case.groups.retain(|_| filled.next() == Some(&true));
    let problems = folder.map_or_else(Vec::new, |folder| job::problems(folder, &job));
    Loaded {
        job,
        case,
        runs,
        problems,
    }
}

fn inputs(folder: Option<&Path>, job: &Job) -> Vec<PathBuf> {
    match folder {
        Some(folder) => job::files_of(folder, job),
        None => job
            .captures
            .iter()
            .map(|c| PathBuf::from(&c.file))
            .collect(),
    }
}

/// Takes what came of writing.
pub fn take(state: &mut AppState, came: Written) {
    let form = &mut state.job.page;
    form.there = came.there.then(|| came.path.clone());
    form.said = Some(match &came.error {
        None => format!("Written to {}.", came.path.display()),
        Some(why) if came.there => format!("{why}. Ask once more to replace it."),
        Some(why) => format!("Not written: {why}."),
    });
    if came.error.is_none() {
        form.done = Some(came.path);
    }
}
