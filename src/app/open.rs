//! Files that the user names, as sources with positioned reads; read on a worker.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::sheet::{Looked, Origin, Refusal};
use super::state::{AppState, OnSheet, Problem};
use crate::data::text::harmless;
use crate::data::{Progress, Source};
use crate::inspect::{
    self, Case, FileSource, FormatError, InspectError, Layouts, ReadOptions, Remembered,
};

/// What reading gave.
#[derive(Debug)]
pub enum Loaded {
    /// The built-in unit.
    Demo(Case),
    /// Shots of files, and what went wrong with others; one bad file does not stop the rest.
    Files(Vec<Origin>, Vec<Problem>),
    /// A file read as its sheet says, or why it was not.
    Again(PathBuf, Result<Origin, Refusal>),
}

/// How files are read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct How {
    /// What was told about all files.
    pub told: ReadOptions,
    /// What was told about this one.
    pub own: BTreeMap<String, String>,
    /// Is a remembered layout left aside?
    pub plain: bool,
    /// The folder of remembered layouts.
    pub layouts: Option<PathBuf>,
}

impl How {
    /// As told about all files.
    pub fn of(state: &AppState) -> How {
        How {
            told: state.read.clone(),
            layouts: state.layouts.clone(),
            ..How::default()
        }
    }

    fn options(&self, layouts: Option<&Layouts>, source: &dyn Source) -> ReadOptions {
        let mut options = match layouts {
            Some(layouts) if !self.plain => layouts.applied(&self.told, source),
            _ => self.told.clone(),
        };
        options.layout.extend(self.own.clone());
        options
    }

    /// The remembered layouts, and a note on each that can't be used.
    fn layouts(&self) -> (Option<Layouts>, Vec<Problem>) {
        let Some(folder) = &self.layouts else {
            return (None, Vec::new());
        };
        let note = |why: String| {
            Problem::new(
                "A remembered layout is not used",
                why,
                "Repair or delete the file; the others are used.",
            )
        };
        match Layouts::open(folder) {
            Ok(layouts) => {
                let problems = layouts.problems().iter().map(|p| note(p.to_string()));
                let problems = problems.collect();
                (Some(layouts), problems)
            }
            Err(error) => (None, vec![note(error.to_string())]),
        }
    }
}

/// Are all of them pictures, by their endings?
pub fn are_pictures(files: &[PathBuf]) -> bool {
    let is = |file: &PathBuf| {
        let ending = file
            .extension()
            .map(|e| e.to_string_lossy().to_ascii_lowercase());
        matches!(ending.as_deref(), Some("png" | "jpg" | "jpeg"))
    };
    !files.is_empty() && files.iter().all(is)
}

/// Is the one path a folder with the record of a job?
pub fn is_job(paths: &[PathBuf]) -> bool {
    matches!(paths, [one] if one.is_dir() && crate::job::is_job(one))
}

/// Makes the built-in unit.
///
/// # Errors
/// As [`inspect::demo`].
pub fn demo(progress: &Progress) -> Result<Loaded, InspectError> {
    inspect::demo(progress).map(Loaded::Demo)
}

/// Reads files in their order.
///
/// # Errors
/// [`InspectError::Cancelled`]; everything else becomes a [`Problem`].
pub fn files(paths: &[PathBuf], how: &How, progress: &Progress) -> Result<Loaded, InspectError> {
    let mut origins = Vec::new();
    let (layouts, mut problems) = how.layouts();
    for path in paths {
        progress.check()?;
        let source = match source(path) {
            Ok(source) => source,
            Err(error) => {
                problems.push(not_opened(path, &error));
                continue;
            }
        };
        let options = how.options(layouts.as_ref(), source.as_ref());
        match inspect::load(&source, &options, progress) {
            Ok(found) if found.is_empty() => problems.push(nothing_in(path)),
            Ok(shots) => {
                if !options.remembered_as.is_empty() {
                    problems.push(as_remembered(path, &options.remembered_as));
                }
                origins.push(Origin {
                    path: path.clone(),
                    own: how.own.clone(),
                    plain: how.plain,
                    shots,
                });
            }
            Err(InspectError::Cancelled(cancelled)) => return Err(cancelled.into()),
            Err(error) => {
                let preview = inspect::preview(&source, &options);
                let lines = !preview.lines.is_empty() || preview.question.is_some();
                problems.push(not_read(path, &error, lines));
            }
        }
    }
    Ok(Loaded::Files(origins, problems))
}

/// Reads one file as its sheet says.
///
/// # Errors
/// [`InspectError::Cancelled`].
pub fn again(path: &Path, how: &How, progress: &Progress) -> Result<Loaded, InspectError> {
    let read = || {
        let source = source(path)?;
        let options = how.options(how.layouts().0.as_ref(), source.as_ref());
        inspect::load(&source, &options, progress)
    };
    let outcome = match read() {
        Ok(shots) if shots.is_empty() => Err(Refusal {
            why: "the file holds no capture".to_owned(),
            question: None,
        }),
        Ok(shots) => Ok(Origin {
            path: path.to_owned(),
            own: how.own.clone(),
            plain: how.plain,
            shots,
        }),
        Err(InspectError::Cancelled(cancelled)) => return Err(cancelled.into()),
        Err(error) => Err(refusal(&error)),
    };
    Ok(Loaded::Again(path.to_owned(), outcome))
}

/// Looks at the first lines of a file.
///
/// # Errors
/// [`InspectError::Format`] when it can't be opened.
pub fn look(path: &Path, how: &How) -> Result<Looked, InspectError> {
    let source = source(path)?;
    let layouts = how.layouts().0;
    let options = how.options(layouts.as_ref(), source.as_ref());
    let preview = inspect::preview(&source, &options);
    let remembered = layouts.and_then(|all| all.find(&preview.signature).cloned());
    Ok(Looked {
        remembered,
        preview,
    })
}

/// Keeps a layout in the folder, in place of one for the same form. Returns what came of it.
pub fn remember(folder: &Path, layout: Remembered) -> String {
    let name = harmless(&layout.name, 60);
    let saved = Layouts::open(folder).and_then(|mut all| all.save(layout, true));
    match saved {
        Ok(_) => format!("Remembered as “{name}”: the next file of this form is read so."),
        Err(error) => format!("Not remembered: {error}."),
    }
}

/// Deletes the layout for files of a form. Returns what came of it.
pub fn forget(folder: &Path, signature: &str) -> String {
    let forgotten = Layouts::open(folder).and_then(|mut all| all.forget(signature));
    match forgotten {
        Ok(()) => "Forgotten: files of this form are read plainly again.".to_owned(),
        Err(error) => format!("Not forgotten: {error}."),
    }
}

fn source(path: &Path) -> Result<Arc<dyn Source>, FormatError> {
    Ok(Arc::new(FileSource::open(path)?))
}

fn shown(path: &Path) -> String {
    harmless(&path.display().to_string(), 200)
}

fn nothing_in(path: &Path) -> Problem {
    Problem::new(
        format!("Nothing in {}", shown(path)),
        "The file holds no capture that could be read.",
        "Save it again as CSV, with a time column.",
    )
}

fn as_remembered(path: &Path, name: &str) -> Problem {
    let file = path.file_name().unwrap_or(path.as_os_str());
    Problem {
        sheet: Some(OnSheet {
            path: path.to_owned(),
            refused: None,
        }),
        ..Problem::new(
            format!("Read as remembered: {}", harmless(name, 60)),
            format!(
                "{} has the form of files that were read so before.",
                harmless(&file.to_string_lossy(), 80)
            ),
            "Look at how it was read if something is odd.",
        )
    }
}

fn not_read(path: &Path, outer: &InspectError, lines: bool) -> Problem {
    let what = format!("Could not read {}", shown(path));
    let InspectError::Format(error) = outer else {
        return Problem::new(what, outer.to_string(), "Check what was told about it.");
    };
    let problem = match error {
        FormatError::Ask { question, .. } => {
            Problem::new(what, question.text.as_str(), "It is read once you say it.")
        }
        FormatError::Empty { .. } => Problem::new(
            what,
            "The file is empty.",
            "Save the capture again, and wait until the stick has stopped blinking.",
        ),
        FormatError::Binary { .. } | FormatError::NotRecognised { .. } => Problem::new(
            what,
            without_name(&error.to_string(), path),
            "Save the capture as CSV: a time column, and one column a channel.",
        ),
        other => Problem::new(
            what,
            without_name(&other.to_string(), path),
            "Save it again from the instrument, or say how it is to be read.",
        ),
    };
    let sheet = lines.then(|| OnSheet {
        path: path.to_owned(),
        refused: Some(refusal(outer)),
    });
    Problem { sheet, ..problem }
}

/// A reason that does not repeat the name of the file, which stands before it.
fn without_name(why: &str, path: &Path) -> String {
    let name = path.file_name().map(|name| name.to_string_lossy());
    let rest = name.and_then(|name| why.strip_prefix(&*name)?.strip_prefix(": "));
    rest.unwrap_or(why).to_owned()
}

fn refusal(error: &InspectError) -> Refusal {
    let question = match error {
        InspectError::Format(FormatError::Ask { question, .. }) => Some(question.clone()),
        _ => None,
    };
    Refusal {
        why: error.to_string(),
        question,
    }
}

fn not_opened(path: &Path, error: &FormatError) -> Problem {
    let (kind, why) = match error {
        FormatError::Io { kind, reason, .. } => (*kind, reason.clone()),
        other => (io::ErrorKind::Other, other.to_string()),
    };
    let attempt = match kind {
        io::ErrorKind::NotFound => "Check the path, and whether the stick is still plugged in.",
        io::ErrorKind::PermissionDenied => "Copy the file to a folder of your own and open that.",
        io::ErrorKind::IsADirectory => "Open the files in it one by one, or several at once.",
        _ => "Copy the file to this computer and open the copy.",
    };
    Problem::new(format!("Could not open {}", shown(path)), why, attempt)
}
