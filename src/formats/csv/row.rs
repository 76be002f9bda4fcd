//! One row, cell after cell.

use super::piece::{Column, Stop};
use crate::formats::text::cell::{self, Separator};
use crate::formats::text::number;

/// How rows are written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form {
    /// Between cells.
    pub separator: u8,
    /// Do runs of blanks part them?
    pub runs: bool,
    /// Before decimals.
    pub decimal: u8,
}

#[inline(always)]
fn unpadded<'a>(mut rest: &'a [u8], form: &Form) -> &'a [u8] {
    while let [b' ' | b'\t', tail @ ..] = rest {
        if rest.first() == Some(&b'\t') && !form.runs {
            break;
        }
        rest = tail;
    }
    rest
}

/// Parses the row at the start of `rest`; what follows it.
#[inline(always)]
pub(super) fn row<'a>(
    columns: &mut [Column],
    row: usize,
    line: &'a [u8],
    form: &Form,
) -> Result<&'a [u8], Stop> {
    let mut rest = line;
    let last = columns.len().saturating_sub(1);
    for (index, column) in columns.iter_mut().enumerate() {
        let start = unpadded(rest, form);
        if let Some((number, end)) = number::scan(start, form.decimal)
            && number.value.is_finite()
        {
            let after = unpadded(end, form);
            let next = if index < last {
                match after {
                    [mark, tail @ ..] if *mark == form.separator && !form.runs => Some(tail),
                    [mark, ..] if form.runs && after.len() < end.len() && *mark > b' ' => {
                        Some(after)
                    }
                    _ => None,
                }
            } else {
                line_end(after, form)
            };
            if let Some(next) = next {
                column.put(&number);
                if index == last {
                    return Ok(next);
                }
                rest = next;
                continue;
            }
        }
        rest = odd_cell(column, row, index, last, start, form).map_err(|stop| match stop {
            Stop::Ragged(_) => Stop::Ragged(cells_in(line, form)),
            other => other,
        })?;
    }
    Ok(rest)
}

/// What follows a line end, an empty cell after a trailing separator allowed.
#[inline(always)]
fn line_end<'a>(after: &'a [u8], form: &Form) -> Option<&'a [u8]> {
    match after {
        [b'\n', tail @ ..] | [b'\r', b'\n', tail @ ..] => Some(tail),
        [mark, b'\n', tail @ ..] | [mark, b'\r', b'\n', tail @ ..] if *mark == form.separator => {
            Some(tail)
        }
        _ => None,
    }
}

/// Takes a cell the slow way; what follows it, or follows the line when it is the last.
#[cold]
fn odd_cell<'a>(
    column: &mut Column,
    row: usize,
    index: usize,
    last: usize,
    start: &'a [u8],
    form: &Form,
) -> Result<&'a [u8], Stop> {
    let (text, after) = cell_of(start, form);
    let ended = matches!(after, [] | [b'\n', ..]);
    if (ended && index < last) || (form.runs && text.is_empty()) {
        return Err(Stop::Ragged(0));
    }
    if index < last {
        column.put_odd(text, row, index)?;
        return Ok(if form.runs {
            after
        } else {
            after.get(1..).unwrap_or(&[])
        });
    }
    let (left, next) = line_of(after);
    let empty = |b: &u8| *b == form.separator || b.is_ascii_whitespace();
    if !left.iter().all(empty) {
        return Err(Stop::Ragged(0));
    }
    column.put_odd(text, row, index)?;
    Ok(next)
}

/// The cell at the start of `rest`, and what follows from its separator or line end on.
fn cell_of<'a>(rest: &'a [u8], form: &Form) -> (&'a [u8], &'a [u8]) {
    let mut quoted = false;
    let ends = |byte: &u8| {
        if *byte == b'"' {
            quoted = !quoted;
        }
        let between = *byte == form.separator || (form.runs && matches!(*byte, b'\t' | b'\r'));
        *byte == b'\n' || (between && !quoted)
    };
    let end = rest.iter().position(ends).unwrap_or(rest.len());
    rest.split_at(end)
}

fn cells_in(line: &[u8], form: &Form) -> usize {
    let (line, _) = line_of(line);
    let text = String::from_utf8_lossy(line);
    let separator = Separator::ALL
        .into_iter()
        .find(|s| s.byte() == form.separator)
        .unwrap_or(Separator::Comma);
    cell::split(text.trim_end_matches('\r'), separator).len()
}

/// What follows a line with nothing on it; `None` when there is something.
#[inline(always)]
pub(super) fn blank(rest: &[u8]) -> Option<&[u8]> {
    if let [b'\n' | b'\r' | b' ' | b'\t', ..] = rest {
        let (line, after) = line_of(rest);
        return line
            .iter()
            .all(|b| b.is_ascii_whitespace())
            .then_some(after);
    }
    None
}

/// The first line without its line feed, and what follows.
pub(super) fn line_of(rest: &[u8]) -> (&[u8], &[u8]) {
    match memchr::memchr(b'\n', rest) {
        Some(end) => (
            rest.get(..end).unwrap_or(&[]),
            rest.get(end + 1..).unwrap_or(&[]),
        ),
        None => (rest, &[]),
    }
}
