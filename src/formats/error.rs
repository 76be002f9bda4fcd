//! Why a file could not be read.

use crate::data::{Answer, Cancelled, Question};

/// Why a file could not be read: each says where, what, and what to try. Lines count from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FormatError {
    /// Nothing in it.
    #[error("{file}: the file is empty; save the capture again")]
    Empty {
        /// File name.
        file: String,
    },
    /// The medium failed.
    #[error("{file}: cannot be read ({reason}); check the path, the permission and the medium")]
    Io {
        /// File name.
        file: String,
        /// What kind of failure.
        kind: std::io::ErrorKind,
        /// What the system said.
        reason: String,
    },
    /// The user stopped it.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// It can be understood in more than one way: the user must say.
    #[error("{file}: {} Say so with --layout {}", .question.text, options(.question))]
    Ask {
        /// File name.
        file: String,
        /// What has to be answered, and what answers it.
        question: Question,
    },
    /// No reader knows it.
    #[error("{file}: {}", listed(.reasons))]
    NotRecognised {
        /// File name.
        file: String,
        /// Name of each reader, and why it refused.
        reasons: Vec<(&'static str, String)>,
    },
    /// An import decision with a key that does not exist.
    #[error("{file}: there is no layout key `{key}`; the keys are {}", .known.join(", "))]
    UnknownKey {
        /// File name.
        file: String,
        /// The key as given.
        key: String,
        /// The keys that exist.
        known: Vec<&'static str>,
    },
    /// An import decision with a value that does not fit its key.
    #[error("{file}: `{key}={value}` cannot be used; {key} takes {expected}")]
    BadValue {
        /// File name.
        file: String,
        /// The key.
        key: String,
        /// The value as given.
        value: String,
        /// What the key takes.
        expected: String,
    },
    /// Not text.
    #[error("{file}: byte {byte} shows that this is no text; save the capture as CSV")]
    Binary {
        /// File name.
        file: String,
        /// Offset of the first byte that is no text.
        byte: u64,
    },
    /// No table of numbers in it.
    #[error(
        "{file}: no two rows of numbers in lines 1 to {lines}; {hint}if there are, name the \
         first with --layout first-row=LINE and the separator with --layout separator=…"
    )]
    NoNumbers {
        /// File name.
        file: String,
        /// How many lines were looked at.
        lines: u64,
        /// What the lines hold instead, as the start of a sentence, or nothing.
        hint: &'static str,
    },
    /// A row of another width.
    #[error(
        "{file}, line {line}: {found} cells where the table has {expected}; repair the line, or \
         name the first row of samples with --layout first-row=LINE"
    )]
    Ragged {
        /// File name.
        file: String,
        /// Line.
        line: u64,
        /// Cells of the table.
        expected: usize,
        /// Cells in the line.
        found: usize,
    },
    /// A cell that is no number and no known word for a missing one.
    #[error(
        "{file}, line {line}, column {column}: `{found}` is no number; repair the line, or check \
         --layout decimal, separator and first-row"
    )]
    NotANumber {
        /// File name.
        file: String,
        /// Line.
        line: u64,
        /// Column, from 1.
        column: usize,
        /// The cell's text, cut short.
        found: String,
    },
    /// A row without its time.
    #[error("{file}, line {line}: the time is missing (column {column}); repair the line")]
    TimeMissing {
        /// File name.
        file: String,
        /// Line.
        line: u64,
        /// Column, from 1.
        column: usize,
    },
    /// Time stands still or runs backwards.
    #[error(
        "{file}, line {line}: time goes from {before} to {found}, but has to rise; if the column \
         is no time, say --layout time=none and --layout interval=SECONDS"
    )]
    TimeNotRising {
        /// File name.
        file: String,
        /// Line of the later time.
        line: u64,
        /// Time before, in the file's unit.
        before: f64,
        /// Time in this line, in the file's unit.
        found: f64,
    },
    /// A spectrum, not a record in time.
    #[error(
        "{file}, line {line}: column `{name}` is a frequency axis; save the waveform, not its \
         spectrum"
    )]
    FrequencyAxis {
        /// File name.
        file: String,
        /// Line of the names.
        line: u64,
        /// The column's name.
        name: String,
    },
    /// A table, but no record in time: texts that differ from row to row, and nothing that is time.
    #[error(
        "{file}, line {line}: column {column} holds texts that differ, and no column holds time: this \
         table is no record; if it is one, name its time column with --layout time=NUMBER"
    )]
    NoRecord {
        /// File name.
        file: String,
        /// Line of the first row.
        line: u64,
        /// Column of the texts, from 1.
        column: usize,
    },
    /// Dates beside clock times pass other days than the clock.
    #[error(
        "{file}: the dates in column {column} pass {dates} days, the clock times {clock}; save date and \
         time in one column, or the time in seconds"
    )]
    DatesDisagree {
        /// File name.
        file: String,
        /// Column of the dates, from 1.
        column: usize,
        /// Days between the first and the last date.
        dates: i64,
        /// Midnights that the clock times pass.
        clock: i64,
    },
    /// More tables in one file than the limit allows.
    #[error("{file}: more than {limit} blocks of samples in one file; save fewer in a file")]
    TooManySections {
        /// File name.
        file: String,
        /// The limit.
        limit: usize,
    },
    /// A time axis or a table with nothing to measure.
    #[error("{file}: {what}; save the capture with {wanted}")]
    TooLittle {
        /// File name.
        file: String,
        /// What there is.
        what: String,
        /// What is needed.
        wanted: &'static str,
    },
    /// More columns than the limit allows.
    #[error(
        "{file}, line {line}: {found} columns, more than the {limit} that are read; save fewer channels"
    )]
    TooManyColumns {
        /// File name.
        file: String,
        /// Line.
        line: u64,
        /// Columns found.
        found: usize,
        /// The limit.
        limit: usize,
    },
    /// More lines before the samples than the limit allows.
    #[error(
        "{file}: no row of samples in the first {limit} lines; name it with --layout \
         first-row=LINE, or cut the lines before it"
    )]
    HeaderTooLong {
        /// File name.
        file: String,
        /// The limit.
        limit: usize,
    },
    /// A line longer than the limit allows.
    #[error(
        "{file}, line {line}: longer than {limit} bytes; save the capture as CSV, one line a sample"
    )]
    LineTooLong {
        /// File name.
        file: String,
        /// Line.
        line: u64,
        /// The limit, in bytes.
        limit: usize,
    },
}

/// The answers of a question as options of the command line.
fn options(question: &Question) -> String {
    let each: Vec<String> = question.answers.iter().map(Answer::to_string).collect();
    each.join(" or ")
}

impl FormatError {
    /// A question that the user has to answer.
    pub fn ask(file: &str, text: impl Into<String>, answers: Vec<Answer>) -> Self {
        FormatError::Ask {
            file: file.to_owned(),
            question: Question {
                text: text.into(),
                answers,
            },
        }
    }

    /// The failure of a medium as a refusal.
    pub fn io(file: &str, error: &std::io::Error) -> Self {
        FormatError::Io {
            file: file.to_owned(),
            kind: error.kind(),
            reason: error.to_string(),
        }
    }

    /// The word for the kind of refusal, used in tests and in JSON.
    pub fn id(&self) -> &'static str {
        match self {
            FormatError::Empty { .. } => "empty",
            FormatError::Io { .. } => "io",
            FormatError::Cancelled(_) => "cancelled",
            FormatError::Ask { .. } => "ask",
            FormatError::NotRecognised { .. } => "not-recognised",
            FormatError::UnknownKey { .. } => "unknown-key",
            FormatError::BadValue { .. } => "bad-value",
            FormatError::Binary { .. } => "binary",
            FormatError::NoNumbers { .. } => "no-numbers",
            FormatError::Ragged { .. } => "ragged",
            FormatError::NotANumber { .. } => "not-a-number",
            FormatError::TimeMissing { .. } => "time-missing",
            FormatError::TimeNotRising { .. } => "time-not-rising",
            FormatError::FrequencyAxis { .. } => "frequency-axis",
            FormatError::NoRecord { .. } => "no-record",
            FormatError::DatesDisagree { .. } => "dates-disagree",
            FormatError::TooManySections { .. } => "too-many-sections",
            FormatError::TooLittle { .. } => "too-little",
            FormatError::TooManyColumns { .. } => "too-many-columns",
            FormatError::HeaderTooLong { .. } => "header-too-long",
            FormatError::LineTooLong { .. } => "line-too-long",
        }
    }
}

fn listed(reasons: &[(&'static str, String)]) -> String {
    if let [(_, only)] = reasons {
        return only.clone();
    }
    let each: Vec<String> = reasons
        .iter()
        .map(|(reader, reason)| format!("{reader}: {reason}"))
        .collect();
    format!("no reader fits: {}", each.join("; "))
}
