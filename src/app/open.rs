//! Files that the user names, as sources with positioned reads; read on a worker.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::state::{Asks, Problem};
use crate::data::{Progress, Source};
use crate::inspect::{self, Case, FileSource, FormatError, InspectError, ReadOptions, Shot};

/// What reading gave.
#[derive(Debug)]
pub enum Loaded {
    /// The built-in unit.
    Demo(Case),
    /// Shots of files, and what went wrong with others; one bad file does not stop the rest.
    Files(Vec<Arc<Shot>>, Vec<Problem>),
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
pub fn files(
    paths: &[PathBuf],
    options: &ReadOptions,
    progress: &Progress,
) -> Result<Loaded, InspectError> {
    let mut shots = Vec::new();
    let mut problems = Vec::new();
    for path in paths {
        progress.check()?;
        let source: Arc<dyn Source> = match FileSource::open(path) {
            Ok(source) => Arc::new(source),
            Err(error) => {
                problems.push(not_opened(path, &error));
                continue;
            }
        };
        match inspect::load(&source, options, progress) {
            Ok(found) if found.is_empty() => problems.push(Problem {
                what: format!("Nothing in {}", shown(path)),
                why: "The file holds no capture that could be read.".to_owned(),
                attempt: "Save it again as CSV, with a time column.".to_owned(),
                asks: None,
            }),
            Ok(found) => shots.extend(found),
            Err(InspectError::Cancelled(cancelled)) => return Err(cancelled.into()),
            Err(error) => problems.push(not_read(path, &error)),
        }
    }
    Ok(Loaded::Files(shots, problems))
}

fn shown(path: &Path) -> String {
    crate::data::text::harmless(&path.display().to_string(), 200)
}

fn not_read(path: &Path, error: &InspectError) -> Problem {
    let what = format!("Could not read {}", shown(path));
    let InspectError::Format(error) = error else {
        return Problem::new(what, error.to_string(), "Check what was told about it.");
    };
    match error {
        FormatError::Ask { question, .. } => Problem {
            asks: Some(Asks {
                path: path.to_owned(),
                answer: question.answers.first().map_or_else(String::new, |answer| {
                    format!("{}={}", answer.key, answer.value.as_deref().unwrap_or(""))
                }),
            }),
            ..Problem::new(
                what,
                question.text.as_str(),
                "Answer here, and it is read again.",
            )
        },
        FormatError::Empty { .. } => Problem::new(
            what,
            "The file is empty.",
            "Save the capture again, and wait until the stick has stopped blinking.",
        ),
        FormatError::Binary { .. } | FormatError::NotRecognised { .. } => Problem::new(
            what,
            error.to_string(),
            "Save the capture as CSV: a time column, and one column a channel.",
        ),
        other => Problem::new(
            what,
            other.to_string(),
            "Save it again from the instrument, or repair what is named here.",
        ),
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
    Problem {
        what: format!("Could not open {}", shown(path)),
        why,
        attempt: attempt.to_owned(),
        asks: None,
    }
}
