//! Which lines are rows of samples.

use super::head::{Head, HeadLine, ROWS_LOOKED_AT};
use crate::formats::text::cell::{self, CellKind, Separator};
use crate::formats::text::odd::Marks;

/// A line and the kinds of its cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Line {
    /// Index in the head.
    pub index: usize,
    /// Its number, from 1.
    pub number: u64,
    /// The kinds of its cells.
    pub cells: Vec<CellKind>,
}

/// A table in the head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Table {
    /// Index in the head of the first row of samples.
    pub first: usize,
    /// Cells in a row, an empty one after a trailing separator included.
    pub width: usize,
    /// Head lines that are rows of samples and are looked at, as indices.
    pub rows: Vec<usize>,
    /// Columns that hold texts in some of these rows.
    pub texts: Vec<usize>,
    /// Columns that hold properties beside the first rows, and nothing below.
    pub beside: Vec<usize>,
    /// Columns of numbers.
    pub numbers: usize,
    /// Cells that are written plainly, in the rows looked at.
    pub plain: usize,
}

impl Line {
    /// Numbers and gaps only, at least one number?
    pub fn is_row(&self) -> bool {
        self.cells.iter().all(|kind| *kind != CellKind::Text)
            && self.cells.iter().any(|kind| is_number(*kind))
    }

    /// Is it a row when the cells of `texts` may hold anything?
    fn is_row_but(&self, texts: &[usize]) -> bool {
        let mut rest = self.cells.iter().enumerate();
        rest.all(|(index, kind)| *kind != CellKind::Text || texts.contains(&index))
            && self
                .cells
                .iter()
                .enumerate()
                .any(|(index, kind)| is_number(*kind) && !texts.contains(&index))
    }
}

/// Is it a number of some kind?
pub(super) fn is_number(kind: CellKind) -> bool {
    matches!(kind, CellKind::Number | CellKind::Odd | CellKind::Clock)
}

/// The lines of the head that are neither blank nor comments.
pub(super) fn kinds(head: &Head, separator: Separator, marks: Marks) -> Vec<Line> {
    let lines = head.lines.iter().enumerate();
    lines
        .filter(|(_, line)| !line.is_blank() && !line.is_comment())
        .map(|(index, line)| Line {
            index,
            ..kind_of(line, separator, marks)
        })
        .collect()
}

/// The kinds of the cells of one line.
pub(super) fn kind_of(line: &HeadLine, separator: Separator, marks: Marks) -> Line {
    let kind = |text: &str| {
        let kind = cell::kind(text, marks);
        let plain = kind == CellKind::Number && marks.decimal == b',';
        // a decimal comma between commas needs quotation marks to be told apart
        let between = separator == Separator::Comma && !text.contains('"');
        if plain && (cell::bare(text).ends_with(',') || between) {
            CellKind::Text
        } else {
            kind
        }
    };
    Line {
        index: 0,
        number: line.number,
        cells: cell::split(&line.text, separator)
            .into_iter()
            .map(kind)
            .collect(),
    }
}

/// The first table of numbers alone, or the one from line `start` on: three rows of one width, or two
/// where there are no more. Rows before it that differ only in columns which are empty below belong
/// to it: properties stand beside their samples.
pub(super) fn strict(lines: &[Line], start: Option<u64>) -> Option<Table> {
    let at = match start {
        Some(number) => lines
            .iter()
            .position(|line| line.number >= number)
            .filter(|at| lines.get(*at).is_some_and(Line::is_row))?,
        None => first_run(lines, 3).or_else(|| first_run(lines, 2))?,
    };
    let width = lines.get(at)?.cells.len();
    let below: Vec<&Line> = run_from(lines, at, width, &[]);
    let empty: Vec<usize> = (0..width)
        .filter(|column| {
            below
                .iter()
                .all(|line| line.cells.get(*column) == Some(&CellKind::Empty))
        })
        .collect();
    let mut top = at;
    while start.is_none()
        && !empty.is_empty()
        && let Some(before) = top.checked_sub(1).and_then(|above| lines.get(above))
        && before.cells.len() == width
        && before.is_row_but(&empty)
    {
        top -= 1;
    }
    let beside = if top < at { empty } else { Vec::new() };
    table_from(lines, top, width, &[], beside)
}

fn first_run(lines: &[Line], count: usize) -> Option<usize> {
    (0..lines.len()).find(|at| {
        let run = lines.get(*at..at + count).unwrap_or(&[]);
        let width = run.first().map(|line| line.cells.len());
        !run.is_empty()
            && run
                .iter()
                .all(|line| line.is_row() && Some(line.cells.len()) == width)
    })
}

/// Rows from `at` on of this width whose cells are numbers, but for those of `texts`.
fn run_from<'a>(lines: &'a [Line], at: usize, width: usize, texts: &[usize]) -> Vec<&'a Line> {
    let rest = lines.get(at..).unwrap_or(&[]);
    rest.iter()
        .take_while(|line| line.cells.len() == width && line.is_row_but(texts))
        .take(ROWS_LOOKED_AT)
        .collect()
}

fn table_from(
    lines: &[Line],
    at: usize,
    width: usize,
    texts: &[usize],
    beside: Vec<usize>,
) -> Option<Table> {
    let free: Vec<usize> = texts.iter().chain(&beside).copied().collect();
    let rows = run_from(lines, at, width, &free);
    let number = |column: &usize| {
        !free.contains(column)
            && rows
                .iter()
                .any(|line| line.cells.get(*column).is_some_and(|kind| is_number(*kind)))
    };
    Some(Table {
        first: lines.get(at)?.index,
        width,
        numbers: (0..width).filter(number).count(),
        plain: rows
            .iter()
            .flat_map(|line| &line.cells)
            .filter(|kind| **kind == CellKind::Number)
            .count(),
        rows: rows.iter().map(|line| line.index).collect(),
        texts: texts.to_vec(),
        beside,
    })
}

/// The table with the most columns of numbers where some columns hold texts: the longest of those,
/// the first of equally long ones. Three rows, or two at the end of the file.
pub(super) fn lenient(lines: &[Line], start: Option<u64>) -> Option<Table> {
    let at = |number| lines.iter().position(|line| line.number >= number);
    let starts = match start {
        Some(number) => at(number)?..at(number)? + 1,
        None => 0..lines.len(),
    };
    let mut best: Option<((usize, usize), Table)> = None;
    for at in starts {
        let Some(table) = lenient_from(lines, at) else {
            continue;
        };
        let score = (table.numbers, table.rows.len());
        let enough = score.1 >= 3 || start.is_some() || (score.1 == 2 && at + 2 == lines.len());
        if enough && best.as_ref().is_none_or(|(most, _)| score > *most) {
            best = Some((score, table));
        }
    }
    best.map(|(_, table)| table)
}

fn lenient_from(lines: &[Line], at: usize) -> Option<Table> {
    let width = lines.get(at)?.cells.len();
    let rest = lines.get(at..)?;
    let same: Vec<&Line> = rest
        .iter()
        .take_while(|line| line.cells.len() == width)
        .take(ROWS_LOOKED_AT)
        .collect();
    let has_text = |column: &usize| {
        same.iter()
            .any(|line| line.cells.get(*column) == Some(&CellKind::Text))
    };
    let texts: Vec<usize> = (0..width).filter(has_text).collect();
    let ends_empty = |column: &usize| {
        let last = same.len().saturating_sub(1).max(1);
        same.get(last)
            .is_some_and(|line| line.cells.get(*column) == Some(&CellKind::Empty))
    };
    let (beside, texts): (Vec<usize>, Vec<usize>) = texts.into_iter().partition(ends_empty);
    // a row of names above would make texts of all columns
    table_from(lines, at, width, &texts, beside)
        .filter(|table| table.width >= 2 && table.numbers >= 1 && table.rows.len() == same.len())
}
