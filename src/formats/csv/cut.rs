//! A file that ends within its last number.

use super::plan::Plan;
use crate::data::Source;

/// Rows before the last that it is set against.
const ROWS: usize = 8;
/// Bytes in which they have to be.
const TAIL: u64 = 16 * 1024;

/// Offset of the last line, where it has no line end and its last number has fewer decimals than those
/// of all rows looked at before it, which have the same: then the file was cut there.
pub(super) fn last_line(source: &dyn Source, plan: &Plan) -> Option<u64> {
    let length = source.len();
    if plan.end_offset < length || length <= plan.data_offset {
        return None;
    }
    let start = length.saturating_sub(TAIL).max(plan.data_offset);
    let mut bytes = vec![0; usize::try_from(length - start).ok()?];
    let filled = source.read_full_at(start, &mut bytes).ok()?;
    bytes.truncate(filled);
    if bytes.ends_with(b"\n") {
        return None;
    }
    let mut lines = bytes.rsplit(|b| *b == b'\n');
    let last = lines.next()?;
    let usual = lines.next().and_then(|line| decimals(line, plan))?;
    let mut same = 1;
    for line in lines.take(ROWS - 1) {
        if decimals(line, plan) != Some(usual) {
            return None;
        }
        same += 1;
    }
    (same == ROWS && decimals(last, plan)? < usual)
        .then(|| start + (bytes.len() - last.len()) as u64)
}

/// Decimals of the last number of a row, where it is written plainly.
fn decimals(line: &[u8], plan: &Plan) -> Option<usize> {
    let line = line.trim_ascii_end();
    let cell = line.rsplit(|b| *b == plan.separator.byte()).next()?;
    let point = cell.iter().rposition(|b| *b == plan.marks.decimal)?;
    let digits = cell.get(point + 1..)?;
    digits
        .iter()
        .all(u8::is_ascii_digit)
        .then_some(digits.len())
}
