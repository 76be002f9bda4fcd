//! Files that the user names, as sources with positioned reads; read on a worker.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::state::Problem;
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
            }),
            Ok(found) => shots.extend(found),
            Err(InspectError::Cancelled(cancelled)) => return Err(cancelled.into()),
            Err(error) => problems.push(Problem {
                what: format!("Could not read {}", shown(path)),
                why: error.to_string(),
                attempt: "Try saving it again from the instrument, or as CSV.".to_owned(),
            }),
        }
    }
    Ok(Loaded::Files(shots, problems))
}

fn shown(path: &Path) -> String {
    crate::data::text::harmless(&path.display().to_string(), 200)
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
    }
}
