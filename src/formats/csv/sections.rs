//! One table after the other: what follows the samples is another block of them, or a remark.

use super::assemble::{self, Part};
use super::columns::{self, Columns, Inherited};
use super::dates;
use super::dialect::{self, Dialect, shortened};
use super::head::{self, Head, HeadLine, Place};
use super::join;
use super::pass::{self, End, Rows};
use super::plan::{ColumnPlan, Plan, Slot};
use super::preamble::Label;
use super::rows;
use crate::data::{Capture, Note, Progress, Runner, Source};
use crate::formats::text::source::TextSource;
use crate::formats::{FormatError, ReadOptions};

/// Everything that one pass over a table needs besides its plan.
struct Reading<'a> {
    text: TextSource<'a>,
    options: &'a ReadOptions,
    runner: &'a dyn Runner,
    progress: &'a Progress,
}

/// A table that was understood and is not read yet.
#[derive(Debug, Clone)]
pub(super) struct Understood {
    /// The lines it was understood from.
    pub head: Head,
    /// How its rows are written.
    pub dialect: Dialect,
    /// Its columns.
    pub columns: Columns,
    /// What a later table takes over.
    pub inherited: Inherited,
}

/// Understands the first table of a file.
pub(super) fn first(source: &dyn Source, options: &ReadOptions) -> Result<Understood, FormatError> {
    let head = head::load(source, options)?;
    let dialect = dialect::find(&head, options)?;
    let (columns, inherited) = columns::find(&head, &dialect, None, options)?;
    Ok(Understood {
        head,
        dialect,
        columns,
        inherited,
    })
}

/// Reads all tables of a file.
pub(super) fn read(
    source: &dyn Source,
    options: &ReadOptions,
    runner: &dyn Runner,
    progress: &Progress,
) -> Result<Vec<Capture>, FormatError> {
    let mut understood = first(source, options)?;
    let reading = Reading {
        text: TextSource::new(source, understood.head.form),
        options,
        runner,
        progress,
    };
    let mut parts: Vec<Part> = Vec::new();
    let mut remarks = Vec::new();
    loop {
        if parts.len() == options.limits.sections {
            return Err(FormatError::TooManySections {
                file: source.name().to_owned(),
                limit: options.limits.sections,
            });
        }
        let (rows, end) = read_rows(&reading, &understood)?;
        parts.push(part(&understood, rows, options)?);
        match end {
            End::File => break,
            End::Cut(line) => {
                remarks.push(Note::at_line(
                    "the file ends within this line, which is left out".to_owned(),
                    line,
                ));
                break;
            }
            End::Foreign {
                offset,
                line,
                refusal,
            } => match next(&reading, &understood, Place { offset, line }, &refusal)? {
                Next::Table(found) => understood = *found,
                Next::Remarks(found) => {
                    remarks.extend(found);
                    break;
                }
            },
        }
    }
    join::captures(source.name(), parts, remarks, options)
}

fn part(understood: &Understood, rows: Rows, options: &ReadOptions) -> Result<Part, FormatError> {
    let header: Vec<String> = lines_before(understood)
        .map(|line| line.text.trim().to_owned())
        .filter(|text| !text.is_empty())
        .collect();
    assemble::part(rows, understood.columns.label.clone(), header, options)
}

fn lines_before(understood: &Understood) -> impl Iterator<Item = &HeadLine> {
    understood
        .head
        .lines
        .iter()
        .take(understood.dialect.table.first)
}

/// Reads the rows of a table. Where time falls back after a blank line, another table begins there.
fn read_rows(reading: &Reading<'_>, understood: &Understood) -> Result<(Rows, End), FormatError> {
    let mut plan = plan_of(understood, reading.text.len())?;
    let read = |plan: &Plan| {
        pass::read(
            &reading.text,
            plan,
            reading.options,
            reading.runner,
            reading.progress,
        )
    };
    let mut outcome = read(&plan);
    while let Some((columns, note)) = text_among_nothing(&outcome, understood, &plan) {
        plan.columns = columns;
        plan.notes.push(note);
        outcome = read(&plan);
    }
    match outcome {
        Ok(rows) => {
            let end = rows.end.clone();
            dates::check(&reading.text, understood, &rows, reading.options)?;
            Ok((rows, end))
        }
        Err(refusal @ FormatError::TimeNotRising { line, .. }) => {
            let Some(offset) = after_blank(reading, &plan, line)? else {
                return Err(refusal);
            };
            plan.end_offset = offset;
            let rows = read(&plan)?;
            let end = End::Foreign {
                offset,
                line,
                refusal,
            };
            Ok((rows, end))
        }
        Err(other) => Err(other),
    }
}

/// A text in a column of whose first cells none held anything: it is a column of remarks, and left out.
/// The columns without it, and what is said about it.
fn text_among_nothing(
    outcome: &Result<Rows, FormatError>,
    understood: &Understood,
    plan: &Plan,
) -> Option<(Vec<ColumnPlan>, Note)> {
    let Err(FormatError::NotANumber {
        line,
        column,
        found,
        ..
    }) = outcome
    else {
        return None;
    };
    let index = column.checked_sub(1)?;
    let mut columns = plan.columns.clone();
    let remark = columns.get_mut(index)?;
    if !understood.columns.empty.contains(&index) || !remark.slot.is_channel() {
        return None;
    }
    remark.slot = Slot::Skip;
    columns.iter().any(|c| c.slot.is_channel()).then(|| {
        let text = format!("column {column}: texts are left out, the first is `{found}`");
        (columns, Note::at_line(text, *line))
    })
}

/// Offset of a line of the table if the line before it is blank.
fn after_blank(reading: &Reading<'_>, plan: &Plan, line: u64) -> Result<Option<u64>, FormatError> {
    const BLOCK: usize = 64 * 1024;
    let mut left = line.saturating_sub(plan.first_line);
    let (mut at, mut start, mut before) = (plan.data_offset, plan.data_offset, 0);
    let mut bytes = vec![0; BLOCK];
    while left > 0 {
        reading.progress.check()?;
        let filled = reading
            .text
            .read_full_at(at, &mut bytes)
            .map_err(|error| FormatError::io(&plan.file, &error))?;
        if filled == 0 {
            return Ok(None);
        }
        for end in memchr::memchr_iter(b'\n', bytes.get(..filled).unwrap_or(&[])) {
            before = start;
            start = at + end as u64 + 1;
            left -= 1;
            if left == 0 {
                break;
            }
        }
        at += filled as u64;
    }
    let length = usize::try_from(start - before).unwrap_or(usize::MAX);
    let mut text = vec![0; length.min(4096)];
    let filled = reading
        .text
        .read_full_at(before, &mut text)
        .map_err(|error| FormatError::io(&plan.file, &error))?;
    let blank = text
        .get(..filled)
        .unwrap_or(&[])
        .iter()
        .all(|b| b.is_ascii_whitespace() || *b == plan.separator.byte());
    Ok((start > before && blank).then_some(start))
}

/// What follows a table.
enum Next {
    Table(Box<Understood>),
    Remarks(Vec<Note>),
}

/// Understands what begins at `place`: another table, or remarks to the end of the file.
fn next(
    reading: &Reading<'_>,
    before: &Understood,
    place: Place,
    refusal: &FormatError,
) -> Result<Next, FormatError> {
    let head = head::load_at(&reading.text, &before.head, place, reading.options)?;
    let limit = reading.options.limits.header_lines;
    let Some(dialect) =
        dialect::find_next(&head, &before.dialect).filter(|d| d.table.first <= limit)
    else {
        return remarks(&head, before, refusal);
    };
    let (columns, inherited) =
        columns::find(&head, &dialect, Some(&before.inherited), reading.options)?;
    let understood = Understood {
        head,
        dialect,
        columns,
        inherited,
    };
    if is_damaged_row(&understood) {
        return Err(refusal.clone());
    }
    Ok(Next::Table(Box::new(understood)))
}

/// A single line with numbers in it that is neither names nor a property: a row that went wrong.
fn is_damaged_row(found: &Understood) -> bool {
    let mut before = lines_before(found).filter(|line| !line.is_blank() && !line.is_comment());
    let (Some(line), None) = (before.next(), before.next()) else {
        return false;
    };
    let kinds = rows::kind_of(line, found.dialect.separator, found.dialect.marks);
    let own_names = found.columns.header.names_line == Some(line.number);
    !own_names
        && found.columns.label == Label::None
        && kinds.cells.iter().any(|kind| rows::is_number(*kind))
}

/// Lines of text after the samples, up to the end of the file; rows of numbers among them, or a row
/// that went wrong, are refused.
fn remarks(head: &Head, before: &Understood, refusal: &FormatError) -> Result<Next, FormatError> {
    const MOST: usize = 20;
    let width = before.dialect.table.width;
    let is_row = |line: &&HeadLine| {
        let kinds = rows::kind_of(line, before.dialect.separator, before.dialect.marks);
        let numbers = kinds
            .cells
            .iter()
            .filter(|kind| rows::is_number(**kind))
            .count();
        kinds.cells.len() == width && 2 * numbers >= width && width > 1
    };
    let lines: Vec<&HeadLine> = head.lines.iter().filter(|line| !line.is_blank()).collect();
    if !head.complete || lines.iter().any(is_row) {
        return Err(refusal.clone());
    }
    let mut notes: Vec<Note> = lines
        .iter()
        .take(MOST)
        .map(|line| {
            Note::at_line(
                format!("after the samples: {}", shortened(line.text.trim())),
                line.number,
            )
        })
        .collect();
    if lines.len() > MOST {
        notes.push(Note::new(format!(
            "{} more lines after the samples",
            lines.len() - MOST
        )));
    }
    Ok(Next::Remarks(notes))
}

/// Lines before the samples that are kept as notes.
const MOST_HEADER_NOTES: usize = 100;

/// The plan of a table that was understood.
pub(super) fn plan_of(understood: &Understood, end_offset: u64) -> Result<Plan, FormatError> {
    let Understood {
        head,
        dialect,
        columns,
        ..
    } = understood;
    let first = head
        .lines
        .get(dialect.table.first)
        .ok_or_else(|| FormatError::NoNumbers {
            file: head.file.clone(),
            lines: head.lines.len() as u64,
            hint: "",
        })?;
    let mut decisions = vec![head.encoding.clone()];
    decisions.extend(dialect.decisions.iter().cloned());
    decisions.extend(columns.decisions.iter().cloned());
    let mut notes = header_notes(understood, first);
    notes.extend(columns.notes.iter().cloned());
    let plan = Plan {
        file: head.file.clone(),
        form: head.form,
        separator: dialect.separator,
        marks: dialect.marks,
        data_offset: first.offset,
        first_line: first.number,
        end_offset,
        columns: columns.columns.clone(),
        axes: columns.axes.clone(),
        declared: columns.declared,
        decisions,
        notes,
    };
    debug_assert!(
        plan.columns
            .iter()
            .any(|c: &ColumnPlan| c.slot.is_channel())
    );
    Ok(plan)
}

/// Lines before the samples that are neither names nor units, kept as they are.
fn header_notes(understood: &Understood, first: &HeadLine) -> Vec<Note> {
    let used = understood.columns.header.lines();
    let left: Vec<&HeadLine> = lines_before(understood)
        .filter(|line| line.number < first.number)
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
