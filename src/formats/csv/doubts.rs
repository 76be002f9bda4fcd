//! Commas that can be read in two ways: asked, not chosen.

use super::dialect::{Dialect, shortened};
use super::head::{Head, HeadLine};
use crate::data::Answer;
use crate::formats::FormatError;
use crate::formats::text::cell::{self, CellKind, Separator};

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

/// Is the comma between digits a separator, or could it be a decimal mark just as well: in pairs of
/// whole numbers, or where there are fewer names than cells and one column has nothing but digits?
pub(super) fn comma_role(head: &Head, dialect: &Dialect) -> Result<(), FormatError> {
    let table = &dialect.table;
    if dialect.separator != Separator::Comma || !table.beside.is_empty() {
        return Ok(());
    }
    let mut before = head.lines.iter().take(table.first).rev();
    let above = before
        .find(|line| !line.is_blank())
        .map(|line| cell::split(&line.text, Separator::Comma));
    let names = above.as_deref().map_or(0, |cells| names_in(cells, dialect));
    let example = head.lines.get(table.first);
    let text = example.map_or("", |line| line.text.as_str());
    let width = filled(&cell::split(text, Separator::Comma));
    let fewer = names >= 1
        && names < width
        && width <= 2 * names
        && (1..width).any(|column| dialect.rows(head).all(|line| is_decimals(line, column)));
    let paired = table.width.is_multiple_of(2)
        && above.is_none_or(|cells| cells.len() != table.width)
        && dialect.rows(head).all(in_pairs);
    if !paired && !fewer {
        return Ok(());
    }
    Err(FormatError::ask(
        &head.file,
        format!(
            "in `{}` (line {}) the comma can separate columns or be a decimal comma; which?",
            shortened(text),
            example.map_or(1, |line| line.number)
        ),
        vec![
            Answer::of("separator", "comma"),
            Answer::of("decimal", "comma"),
        ],
    ))
}

/// Cells of a line of names or units up to the last; 0 where one is a number.
fn names_in(cells: &[&str], dialect: &Dialect) -> usize {
    let name = |cell: &&str| {
        let kind = cell::kind(cell, dialect.marks);
        matches!(kind, CellKind::Text | CellKind::Empty)
    };
    let count = filled(cells);
    if cells.iter().take(count).all(name) {
        count
    } else {
        0
    }
}

/// Can a cell of the line be the decimals of the cell before it?
fn is_decimals(line: &HeadLine, column: usize) -> bool {
    let cells = cell::split(&line.text, Separator::Comma);
    let part = cells.get(column).map_or("", |text| text.trim_end());
    let whole = column.checked_sub(1).and_then(|before| cells.get(before));
    let whole = whole.map_or("", |text| text.trim());
    digits(part) && whole.ends_with(|c: char| c.is_ascii_digit()) && !whole.contains(['e', 'E'])
}

/// Is every second cell the decimals of the one before it, a unit behind it aside?
fn in_pairs(line: &HeadLine) -> bool {
    let cells = cell::split(&line.text, Separator::Comma);
    cells.chunks(2).all(|pair| match pair {
        [whole, part] => {
            let decimals = part.trim_end_matches(|c: char| !c.is_ascii_digit());
            digits(whole.trim().trim_start_matches(['+', '-'])) && digits(decimals)
        }
        _ => false,
    })
}

/// Cells up to the last one that holds something.
fn filled(cells: &[&str]) -> usize {
    let last = cells.iter().rposition(|cell| !cell.trim().is_empty());
    last.map_or(0, |at| at + 1)
}

/// Does every comma stand before just three digits, as between thousands?
pub(super) fn grouping(head: &Head, dialect: &Dialect) -> Result<(), FormatError> {
    if dialect.marks.decimal != b',' {
        return Ok(());
    }
    let mut example = None;
    for line in dialect.rows(head) {
        for text in cell::split(&line.text, dialect.separator) {
            let text = cell::bare(text).trim_start_matches(['+', '-']);
            let Some((whole, part)) = text.split_once(',') else {
                continue;
            };
            let decimals = part.bytes().take_while(u8::is_ascii_digit).count();
            let exponent = part.contains(['e', 'E']);
            if decimals != 3 || exponent || whole.len() > 3 || whole.starts_with('0') {
                return Ok(());
            }
            example = example.or(Some((shortened(text), line.number)));
        }
    }
    let Some((text, line)) = example else {
        return Ok(());
    };
    Err(FormatError::ask(
        &head.file,
        format!(
            "`{text}` (line {line}) can hold a decimal comma or a mark between thousands; which?"
        ),
        vec![
            Answer::of("decimal", "comma"),
            Answer::of("thousands", "comma"),
        ],
    ))
}
