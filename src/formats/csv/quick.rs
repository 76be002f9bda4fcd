//! Many plain rows at a time: where their cells end is found first, then column after column is read.
//!
//! Takes only what needs no thought, numbers between separators with line ends where they belong, and
//! stops before the first row that is otherwise: that one is read with care, see `piece`.

use super::piece::Column;
use super::plan::Slot;
use crate::formats::text::cell_number::{self, Shape};
use crate::formats::text::number::Number;

/// Most rows taken at a time: their text stays in the nearest cache.
const MOST_ROWS: usize = 512;

/// Fewest rows worth the trouble.
const FEWEST_ROWS: usize = 16;

/// How plain rows are written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plain {
    /// Between cells.
    pub separator: u8,
    /// Before decimals.
    pub decimal: u8,
    /// Longest line, its line feed included.
    pub line_bytes: usize,
}

/// Takes plain rows, and knows when it is better not to try.
#[derive(Debug)]
pub(super) struct Quick {
    plain: Plain,
    /// Where each cell begins; the end of one is a byte before the next.
    starts: Vec<usize>,
    /// Rows to try next.
    rows: usize,
    /// Rows to leave to the careful way before the next try, and how many that were last.
    wait: usize,
    waited: usize,
}

/// Rows found plain so far as their separators go.
#[derive(Debug, Clone, Copy)]
struct Found {
    rows: usize,
    /// Marks in each row: one for each column, one more where a separator ends the row.
    marks: usize,
}

impl Quick {
    /// For rows written so.
    pub fn new(plain: Plain) -> Self {
        Self {
            plain,
            starts: Vec::new(),
            rows: FEWEST_ROWS,
            wait: 0,
            waited: 0,
        }
    }

    /// Takes rows from the place `at` of `text` on into `columns`. How many rows, and where the first
    /// row begins that was not taken.
    pub fn take(&mut self, text: &[u8], at: usize, columns: &mut [Column]) -> (usize, usize) {
        if self.wait > 0 {
            self.wait -= 1;
            return (0, at);
        }
        let found = self.cut(text, at, columns.len());
        let mut rows = found.rows;
        loop {
            match self.read(text, columns, found, rows) {
                None => break,
                // as if the rows behind had never been looked at
                Some(fewer) => rows = fewer,
            }
        }
        if rows == self.rows {
            self.rows = (2 * self.rows).min(MOST_ROWS);
            self.waited = 0;
        } else {
            self.rows = FEWEST_ROWS.max(rows);
            self.waited = if rows < FEWEST_ROWS {
                (2 * self.waited + 1).min(MOST_ROWS)
            } else {
                0
            };
            self.wait = self.waited;
        }
        let next = self.starts.get(rows * found.marks).copied();
        (rows, next.unwrap_or(at))
    }

    /// Finds the cells of rows that have as many as there are `columns`.
    fn cut(&mut self, text: &[u8], at: usize, columns: usize) -> Found {
        self.starts.clear();
        self.starts.push(at);
        let (separator, most) = (self.plain.separator, self.rows);
        let mut found = Found {
            rows: 0,
            marks: columns,
        };
        let mut inside = 0;
        let mut place = at;
        let mut line = at;
        for block in text.get(at..).unwrap_or(&[]).chunks_exact(64) {
            let Ok(bytes) = <&[u8; 64]>::try_from(block) else {
                break;
            };
            let mut marks = marks_in(bytes, separator, b'\n');
            while marks != 0 {
                let offset = marks.trailing_zeros();
                let next = place + offset as usize + 1;
                marks &= marks - 1;
                inside += 1;
                self.starts.push(next);
                if bytes.get(offset as usize) == Some(&b'\n') {
                    if found.rows == 0 && inside == columns + 1 {
                        found.marks = inside;
                    }
                    let closed = inside == columns || only_end(text, self.starts.as_slice());
                    if inside != found.marks || !closed || next - line > self.plain.line_bytes {
                        return found;
                    }
                    found.rows += 1;
                    if found.rows == most {
                        return found;
                    }
                    inside = 0;
                    line = next;
                } else if inside > columns {
                    return found;
                }
            }
            place += 64;
        }
        found
    }

    /// Reads so many of the rows found into the columns. `None` when all went well; else the columns
    /// are as before, and only so many rows can be taken.
    fn read(
        &self,
        text: &[u8],
        columns: &mut [Column],
        found: Found,
        rows: usize,
    ) -> Option<usize> {
        let last = columns.len().saturating_sub(1);
        let before: Vec<_> = columns.iter().map(Column::mark).collect();
        let bare_ends = found.marks == columns.len();
        for (index, column) in columns.iter_mut().enumerate() {
            let cells = Cells {
                text,
                starts: self.starts.get(index..).unwrap_or(&[]),
                stride: found.marks,
                rows,
                ended: index == last && bare_ends,
                decimal: self.plain.decimal,
            };
            let taken = read_column(&cells, column);
            if taken < rows {
                for (column, mark) in columns.iter_mut().zip(&before) {
                    column.back_to(mark);
                }
                return Some(taken);
            }
        }
        None
    }
}

/// Is there nothing but a line end in the last cell?
fn only_end(text: &[u8], starts: &[usize]) -> bool {
    let [.., start, next] = starts else {
        return false;
    };
    matches!(text.get(*start..*next), Some(b"\n" | b"\r\n"))
}

/// The cells of one column.
struct Cells<'a> {
    text: &'a [u8],
    /// Where the first begins, then where all that follow it in the rows do.
    starts: &'a [usize],
    /// From the start of one to the start of that in the next row.
    stride: usize,
    rows: usize,
    /// Do line ends follow them?
    ended: bool,
    decimal: u8,
}

impl Cells<'_> {
    /// Gives the numbers one by one until a cell is none; how many they were.
    #[inline(always)]
    fn each(&self, mut take: impl FnMut(&Number)) -> usize {
        let mut at = 0;
        let mut shape = None::<Shape>;
        for row in 0..self.rows {
            let (Some(start), Some(next)) = (self.starts.get(at), self.starts.get(at + 1)) else {
                return row;
            };
            let mut end = next - 1;
            if self.ended && self.text.get(end.wrapping_sub(1)) == Some(&b'\r') {
                end -= 1;
            }
            if let Some(shape) = shape
                && let Some(number) = shape.read(self.text, *start, end)
            {
                take(&number);
            } else {
                let Some(number) = cell_number::in_cell(self.text, *start, end, self.decimal)
                else {
                    return row;
                };
                shape = Shape::of(&number, self.decimal);
                take(&number);
            }
            at += self.stride;
        }
        self.rows
    }
}

/// Reads cells into a column until one is not plain; how many were.
fn read_column(cells: &Cells, column: &mut Column) -> usize {
    column.reserve(cells.rows);
    match column.slot {
        Slot::Single => {
            let (single, mut wide) = (&mut column.single, column.wide);
            let taken = cells.each(|number| {
                wide = wide || !number.fits_single();
                single.push(number.value as f32);
            });
            column.wide = wide;
            taken
        }
        Slot::Double => {
            let double = &mut column.double;
            cells.each(|number| double.push(number.value))
        }
        Slot::Time => {
            let (double, mut seen) = (&mut column.double, column.seen);
            let taken = cells.each(|number| {
                seen.add(number);
                double.push(number.value);
            });
            column.seen = seen;
            taken
        }
        Slot::Skip => cells.each(|_| {}),
    }
}

/// The places of either mark in 64 bytes, a bit for each, the first lowest.
#[inline(always)]
fn marks_in(bytes: &[u8; 64], one: u8, other: u8) -> u64 {
    const ONES: u64 = 0x0101_0101_0101_0101;
    const LOW: u64 = 0x7F * ONES;
    let (one, other) = (u64::from(one) * ONES, u64::from(other) * ONES);
    let unequal = |apart: u64| ((apart & LOW) + LOW) | apart;
    let mut marks = 0;
    for (index, word) in bytes.as_chunks::<8>().0.iter().enumerate() {
        let word = u64::from_le_bytes(*word);
        let neither = unequal(word ^ one) & unequal(word ^ other);
        // the top bits of the eight bytes, side by side
        let found = ((!neither >> 7) & ONES).wrapping_mul(0x0102_0408_1020_4080) >> 56;
        marks |= found << (8 * index);
    }
    marks
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn every_mark_is_found(bytes in prop::collection::vec(prop::sample::select(b"0,.;\n\r-\x80\xAC\x2D\x2B".to_vec()), 64)) {
            let block = <&[u8; 64]>::try_from(bytes.as_slice()).expect("64 bytes");
            for mark in [b',', b';', b'\x80'] {
                let expected = bytes.iter().enumerate()
                    .fold(0_u64, |bits, (i, b)| bits | u64::from(*b == mark || *b == b'\n') << i);
                prop_assert_eq!(marks_in(block, mark, b'\n'), expected);
            }
        }
    }
}
