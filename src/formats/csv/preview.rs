//! The first lines of a table with what each cell was taken for.

use super::columns::{self, Columns};
use super::dialect::{self, Dialect};
use super::head::{self, Head, HeadLine};
use super::keys;
use super::plan::{ColumnPlan, Slot};
use super::sections::{self, Understood};
use crate::data::{ImportPreview, PreviewCell, PreviewColumn, PreviewLine, Source, TakenFor};
use crate::formats::text::cell::{self, CellKind};
use crate::formats::text::unit;
use crate::formats::{FormatError, ReadOptions};

/// Rows of samples that are shown.
const ROWS: usize = 24;
/// Lines before the samples that are shown: the last ones.
const LINES_BEFORE: usize = 40;

/// Fills `preview` as far as the file can be understood.
pub(super) fn fill(
    source: &dyn Source,
    options: &ReadOptions,
    preview: &mut ImportPreview,
) -> Result<(), FormatError> {
    let head = head::load(source, options)?;
    preview.decisions.push(head.encoding.clone());
    preview.lines = uncut(&head);
    let dialect = dialect::find(&head, options).inspect_err(|error| {
        // while the question is open, the cells are shown as its first answer would part them
        if let Some(tried) = first_answer(error, options)
            && let Ok(dialect) = dialect::find(&head, &tried)
        {
            preview.lines = split(&head, &dialect, None);
        }
    })?;
    preview.decisions.extend(dialect.decisions.iter().cloned());
    preview.lines = split(&head, &dialect, None);
    let (columns, inherited) = columns::find(&head, &dialect, None, options)?;
    preview.decisions.extend(columns.decisions.iter().cloned());
    preview.lines = split(&head, &dialect, Some(&columns));
    preview.columns = shown_columns(&columns.columns);
    let understood = Understood {
        head,
        dialect,
        columns,
        inherited,
    };
    preview.notes = sections::plan_of(&understood, source.len())?.notes;
    Ok(())
}

/// The options with the first answer of a question taken.
fn first_answer(error: &FormatError, options: &ReadOptions) -> Option<ReadOptions> {
    let FormatError::Ask { question, .. } = error else {
        return None;
    };
    let answer = question.answers.first()?;
    Some(options.clone().with(&answer.key, answer.value.as_deref()?))
}

/// Lines as they are, where nothing is known about them.
fn uncut(head: &Head) -> Vec<PreviewLine> {
    let whole = |line: &HeadLine| PreviewLine {
        number: line.number,
        cells: vec![PreviewCell {
            text: line.text.clone(),
            taken_for: TakenFor::Nothing,
        }],
    };
    head.lines.iter().take(ROWS).map(whole).collect()
}

fn split(head: &Head, dialect: &Dialect, columns: Option<&Columns>) -> Vec<PreviewLine> {
    let start = dialect.table.first;
    let first = start.saturating_sub(LINES_BEFORE);
    head.lines
        .iter()
        .enumerate()
        .skip(first)
        .take(start - first + ROWS)
        .map(|(index, line)| PreviewLine {
            number: line.number,
            cells: cell::split(&line.text, dialect.separator)
                .into_iter()
                .enumerate()
                .map(|(column, text)| PreviewCell {
                    text: text.trim().to_owned(),
                    taken_for: if index < start || line.is_comment() {
                        before(line, column, text, columns)
                    } else {
                        sample(column, text, dialect, columns)
                    },
                })
                .collect(),
        })
        .collect()
}

fn before(line: &HeadLine, column: usize, text: &str, columns: Option<&Columns>) -> TakenFor {
    let header = columns.map(|found| &found.header);
    let is = |of: Option<u64>| of == Some(line.number);
    if text.trim().is_empty() {
        TakenFor::Nothing
    } else if is(header.and_then(|h| h.names_line)) {
        TakenFor::Name
    } else if is(header.and_then(|h| h.units_line)) {
        TakenFor::Unit
    } else {
        let name = text.split([':', '=']).next().unwrap_or("");
        let known = keys::find(name).or_else(|| keys::find(unit::split_name(name).name));
        match (column, known) {
            (0, Some(_)) => TakenFor::Key,
            _ if line.is_comment() => TakenFor::Comment,
            (0, None) => TakenFor::Nothing,
            _ => TakenFor::Value,
        }
    }
}

fn sample(column: usize, text: &str, dialect: &Dialect, columns: Option<&Columns>) -> TakenFor {
    let Some(found) = columns else {
        return TakenFor::Nothing;
    };
    let taken = taken_for(&found.columns, column);
    match cell::kind(text, dialect.marks) {
        _ if taken == TakenFor::LeftOut || taken == TakenFor::Nothing => taken,
        CellKind::Empty | CellKind::Missing => TakenFor::Missing,
        CellKind::Overload => TakenFor::BeyondRange,
        _ => taken,
    }
}

/// What column `index` was taken for.
fn taken_for(columns: &[ColumnPlan], index: usize) -> TakenFor {
    let Some(column) = columns.get(index) else {
        return TakenFor::Nothing;
    };
    match column.slot {
        Slot::Time => TakenFor::Time,
        Slot::Single | Slot::Double => {
            let before = columns.iter().take(index);
            TakenFor::Channel(1 + before.filter(|column| column.slot.is_channel()).count())
        }
        Slot::Skip if column.counts => TakenFor::Count,
        Slot::Skip => TakenFor::LeftOut,
    }
}

fn shown_columns(columns: &[ColumnPlan]) -> Vec<PreviewColumn> {
    let shown = |(index, column): (usize, &ColumnPlan)| PreviewColumn {
        number: index + 1,
        name: column.name.clone(),
        unit: columns::shown_unit(column.unit, column.factor),
        taken_for: taken_for(columns, index),
    };
    columns.iter().enumerate().map(shown).collect()
}
