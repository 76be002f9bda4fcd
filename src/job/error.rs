//! Why a record can't be read, kept or changed.

use std::io;
use std::path::Path;

use crate::data::text::harmless;

/// Why a record can't be read, kept or changed. Each message names the file and says what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum JobError {
    /// The medium failed.
    #[error("{path}: cannot be {doing} ({reason}); check the medium, its room and the permission")]
    Io {
        /// Folder or file.
        path: String,
        /// `read`, `written` …
        doing: &'static str,
        /// What the system said.
        reason: String,
    },
    /// The record is damaged, or holds something that it can't.
    #[error("{path}, line {line}: {what}")]
    Wrong {
        /// The file.
        path: String,
        /// Line, from 1.
        line: usize,
        /// Key with all its tables, `runs[2].shots[1].file`; empty where it is about the file's form.
        key: String,
        /// What is wrong and what to do, with the key.
        what: String,
    },
    /// Written by a later version.
    #[error("{path}: schema {found} is of a later version; it is left as it is. Use that version")]
    Newer {
        /// The file.
        path: String,
        /// Its schema.
        found: i64,
    },
    /// A record is there already.
    #[error(
        "{path}: there is a record in it already, which is not replaced; choose another folder"
    )]
    Exists {
        /// The folder.
        path: String,
    },
    /// Another process has the job open, or may have.
    #[error("{path}: the job is open in {holder}; {advice}")]
    InUse {
        /// The folder.
        path: String,
        /// Process, machine and time.
        holder: String,
        /// What to do.
        advice: &'static str,
        /// Whether it may be taken over on request.
        may_take_over: bool,
    },
    /// Somebody else wrote the record since it was read.
    #[error(
        "{path}: was changed by somebody else since it was read; open it again, or save into another folder"
    )]
    ChangedOutside {
        /// The file.
        path: String,
    },
    /// A file that a record must not reach.
    #[error("{path}: {why}")]
    Refused {
        /// The path.
        path: String,
        /// Why, and what to do.
        why: String,
    },
    /// The values can't be kept.
    #[error("the record can't be written: {what}")]
    Unwritable {
        /// The key and what is wrong with its value.
        what: String,
    },
}

impl JobError {
    pub(super) fn io(path: &Path, doing: &'static str, error: &io::Error) -> Self {
        JobError::Io {
            path: shown(path),
            doing,
            reason: error.to_string(),
        }
    }

    pub(super) fn refused(path: &Path, why: impl Into<String>) -> Self {
        JobError::Refused {
            path: shown(path),
            why: why.into(),
        }
    }
}

/// A path made fit for screen and terminal.
pub(super) fn shown(path: &Path) -> String {
    harmless(&path.to_string_lossy(), 400)
}
