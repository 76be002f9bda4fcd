//! The plan of a table: everything that is decided before the rows are read.

use super::columns;
use super::dialect;
use super::head::{self, Head, HeadLine};
use super::time_fit::Printed;
use crate::data::{Decision, Note, Source, Unit};
use crate::formats::probe::{HEAD_BYTES, Sniff};
use crate::formats::text::cell::Separator;
use crate::formats::{FormatError, ReadOptions};

/// What becomes of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slot {
    /// It is the time axis.
    Time,
    /// It is left out.
    Skip,
    /// A channel that single precision keeps, as far as is known.
    Single,
    /// A channel that needs double precision.
    Double,
}

impl Slot {
    /// Is it a channel?
    pub fn is_channel(self) -> bool {
        matches!(self, Slot::Single | Slot::Double)
    }
}

/// One column of the table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ColumnPlan {
    /// Name as in the file, its unit taken out.
    pub name: String,
    /// Unit in SI.
    pub unit: Unit,
    /// What one of the file's units is in SI.
    pub factor: f64,
    /// What becomes of it.
    pub slot: Slot,
}

/// Where time comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum TimePlan {
    /// From the column of this index.
    Column {
        /// Index of the column.
        index: usize,
        /// How its numbers are printed.
        printed: Printed,
        /// Try an even axis first, or keep every time.
        even: bool,
    },
    /// From the user: seconds between samples.
    Interval(f64),
}

/// Everything that is decided before the rows are read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    /// Name of the file.
    pub file: String,
    /// What stands between cells.
    pub separator: Separator,
    /// `.` or `,`
    pub decimal: u8,
    /// Offset of the first row.
    pub data_offset: u64,
    /// Line of the first row.
    pub first_line: u64,
    /// The columns.
    pub columns: Vec<ColumnPlan>,
    /// Where time comes from.
    pub time: TimePlan,
    /// The decisions taken.
    pub decisions: Vec<Decision>,
    /// What the user should know.
    pub notes: Vec<Note>,
}

/// Lines before the samples that are kept as notes.
const MOST_HEADER_NOTES: usize = 100;

/// Judges the first bytes of a file, as the user told to understand it.
pub(super) fn sniff(bytes: &[u8], name: &str, options: &ReadOptions) -> Sniff {
    let complete = bytes.len() < HEAD_BYTES;
    let found = head::from_bytes(name, bytes, complete, options)
        .and_then(|head| dialect::find(&head, options));
    match found {
        Ok(table) => Sniff::Score(
            50,
            format!(
                "rows of {} numbers from line {} on",
                table.width,
                table.first + 1
            ),
        ),
        Err(error @ FormatError::NoNumbers { .. }) if complete => refusal(name, &error),
        Err(error @ (FormatError::Binary { .. } | FormatError::Encoding { .. })) => {
            refusal(name, &error)
        }
        Err(error) => Sniff::Score(5, format!("text, but {}", without_name(name, &error))),
    }
}

fn refusal(name: &str, error: &FormatError) -> Sniff {
    Sniff::Refusal(without_name(name, error))
}

fn without_name(name: &str, error: &FormatError) -> String {
    let text = error.to_string();
    let rest = text.strip_prefix(name).unwrap_or(&text);
    rest.trim_start_matches([':', ',', ' ']).to_owned()
}

/// Makes the plan of a table.
pub(super) fn make(source: &dyn Source, options: &ReadOptions) -> Result<Plan, FormatError> {
    let head = head::load(source, options)?;
    let dialect = dialect::find(&head, options)?;
    let found = columns::find(&head, &dialect, options)?;
    let first = head
        .lines
        .get(dialect.first)
        .ok_or_else(|| FormatError::NoNumbers {
            file: head.file.clone(),
            lines: head.lines.len() as u64,
            hint: "",
        })?;
    let mut decisions = vec![head.encoding.clone()];
    decisions.extend(dialect.decisions.iter().cloned());
    decisions.extend(found.decisions);
    let mut notes = header_notes(&head, first, &found.header_lines);
    notes.extend(found.notes);
    Ok(Plan {
        file: head.file.clone(),
        separator: dialect.separator,
        decimal: dialect.decimal,
        data_offset: first.offset,
        first_line: first.number,
        columns: found.columns,
        time: found.time,
        decisions,
        notes,
    })
}

/// Lines before the samples that are neither names nor units, kept as they are.
fn header_notes(head: &Head, first: &HeadLine, used: &[u64]) -> Vec<Note> {
    let left: Vec<&HeadLine> = head
        .lines
        .iter()
        .take_while(|line| line.number < first.number)
        .filter(|line| !line.is_blank() && !used.contains(&line.number))
        .collect();
    let mut notes: Vec<Note> = left
        .iter()
        .take(MOST_HEADER_NOTES)
        .map(|line| {
            Note::at_line(
                format!("before the samples: {}", line.text.trim()),
                line.number,
            )
        })
        .collect();
    if left.len() > MOST_HEADER_NOTES {
        let more = left.len() - MOST_HEADER_NOTES;
        notes.push(Note::new(format!("{more} more lines before the samples")));
    }
    notes
}
