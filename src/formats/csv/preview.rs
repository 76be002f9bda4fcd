//! The first lines of a table with what each cell was taken for.

use super::columns::{self, Columns};
use super::dialect::{self, Dialect};
use super::head::{self, Head, HeadLine};
use super::plan::{self, ColumnPlan, Slot};
use crate::data::{ImportPreview, PreviewCell, PreviewColumn, PreviewLine, Source, TakenFor};
use crate::formats::text::cell::{self, CellKind};
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
    let dialect = dialect::find(&head, options)?;
    preview.decisions.extend(dialect.decisions.iter().cloned());
    preview.lines = split(&head, &dialect, None);
    let columns = columns::find(&head, &dialect, options)?;
    preview.decisions.extend(columns.decisions.iter().cloned());
    preview.lines = split(&head, &dialect, Some(&columns));
    preview.columns = shown_columns(&columns.columns);
    let plan = plan::make(source, options)?;
    preview.notes = plan.notes;
    Ok(())
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
    let first = dialect.first.saturating_sub(LINES_BEFORE);
    head.lines
        .iter()
        .enumerate()
        .skip(first)
        .take(dialect.first - first + ROWS)
        .map(|(index, line)| PreviewLine {
            number: line.number,
            cells: cell::split(&line.text, dialect.separator)
                .into_iter()
                .enumerate()
                .map(|(column, text)| PreviewCell {
                    text: text.trim().to_owned(),
                    taken_for: if index < dialect.first {
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
    let role = columns.and_then(|found| found.header_lines.iter().position(|n| *n == line.number));
    match role {
        _ if text.trim().is_empty() => TakenFor::Nothing,
        Some(0) => TakenFor::Name,
        Some(_) => TakenFor::Unit,
        None if text.trim_start().starts_with(['#', '%', '!']) => TakenFor::Comment,
        None if column == 0 => TakenFor::Key,
        None => TakenFor::Value,
    }
}

fn sample(column: usize, text: &str, dialect: &Dialect, columns: Option<&Columns>) -> TakenFor {
    let Some(found) = columns else {
        return TakenFor::Nothing;
    };
    match cell::kind(text, dialect.decimal) {
        CellKind::Empty | CellKind::Missing => TakenFor::Missing,
        CellKind::Overload => TakenFor::BeyondRange,
        _ => taken_for(&found.columns, column),
    }
}

/// What column `index` was taken for.
fn taken_for(columns: &[ColumnPlan], index: usize) -> TakenFor {
    match columns.get(index).map(|column| column.slot) {
        Some(Slot::Time) => TakenFor::Time,
        Some(Slot::Single | Slot::Double) => {
            let before = columns.iter().take(index);
            TakenFor::Channel(1 + before.filter(|column| column.slot.is_channel()).count())
        }
        Some(Slot::Skip) => TakenFor::LeftOut,
        None => TakenFor::Nothing,
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
