//! A stretch of rows, parsed on its own: what one core does at a time.

use super::head::is_comment;
use super::odd_cell::{self, Rule};
use super::plan::{Plan, Slot};
use super::quick::{Plain, Quick};
use super::time_fit::Seen;
use crate::data::Source;
use crate::formats::text::cell::{self, Separator};
use crate::formats::text::number::{self, Number};

/// Why parsing stopped at a line.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stop {
    /// The medium failed.
    Io(std::io::ErrorKind, String),
    /// The user stopped it.
    Cancelled,
    /// The line is longer than the limit.
    LineTooLong,
    /// So many cells in the line.
    Ragged(usize),
    /// The cell of this column index is no number.
    NotANumber(usize, String),
    /// The time, in this column index, is missing.
    TimeMissing(usize),
    /// The date in this column index is not the first one, and its order is open.
    DateOrder(usize, String),
}

/// A line at which parsing stopped.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stopped {
    /// Why.
    pub why: Stop,
    /// Offset of the line in the text of the file.
    pub offset: u64,
    /// Is it the last line, without a line end?
    pub cut: bool,
}

/// One column of a stretch.
#[derive(Debug, Clone)]
pub(super) struct Column {
    /// What becomes of it.
    pub slot: Slot,
    /// Values, when single precision is enough.
    pub single: Vec<f32>,
    /// Values or times in double precision.
    pub double: Vec<f64>,
    /// Rows whose cell has no number.
    pub missing: Vec<usize>,
    /// Rows whose cell says "beyond the range".
    pub over: Vec<usize>,
    /// Was there a value that single precision does not keep?
    pub wide: bool,
    /// How the times are printed.
    pub seen: Seen,
    /// How cells that are no plain numbers are taken.
    pub rule: Rule,
}

impl Column {
    fn new(slot: Slot) -> Self {
        Self {
            slot,
            rule: Rule::default(),
            single: Vec::new(),
            double: Vec::new(),
            missing: Vec::new(),
            over: Vec::new(),
            wide: false,
            seen: Seen::default(),
        }
    }

    /// Makes room for so many more rows.
    pub fn reserve(&mut self, rows: usize) {
        match self.slot {
            Slot::Single => self.single.reserve(rows),
            Slot::Double | Slot::Time => self.double.reserve(rows),
            Slot::Skip => {}
        }
    }

    /// What it takes to come back to this state with [`Column::back_to`].
    pub fn mark(&self) -> (usize, usize, bool, Seen) {
        (self.single.len(), self.double.len(), self.wide, self.seen)
    }

    /// Forgets what came after `mark`, while no cell was missing.
    pub fn back_to(&mut self, mark: &(usize, usize, bool, Seen)) {
        self.single.truncate(mark.0);
        self.double.truncate(mark.1);
        (self.wide, self.seen) = (mark.2, mark.3);
    }

    fn truncate(&mut self, rows: usize) {
        self.single.truncate(rows);
        self.double.truncate(rows);
        self.missing.retain(|row| *row < rows);
        self.over.retain(|row| *row < rows);
    }

    #[inline(always)]
    fn put(&mut self, number: &Number) {
        match self.slot {
            Slot::Single => {
                self.wide |= !number.fits_single();
                self.single.push(number.value as f32);
            }
            Slot::Double => self.double.push(number.value),
            Slot::Time => {
                self.seen.add(number);
                self.double.push(number.value);
            }
            Slot::Skip => {}
        }
    }

    /// Puts a cell that is not simply a number followed by a separator.
    #[cold]
    fn put_odd(&mut self, text: &[u8], row: usize, index: usize) -> Result<(), Stop> {
        if self.slot == Slot::Skip {
            return Ok(());
        }
        let gap = match odd_cell::take(text, index, &self.rule)? {
            odd_cell::Taken::Number(number) => {
                self.put(&number);
                return Ok(());
            }
            odd_cell::Taken::Gap(gap) => gap,
        };
        if self.slot == Slot::Time && !self.rule.may_end {
            return Err(Stop::TimeMissing(index));
        }
        if gap == odd_cell::Gap::BeyondRange {
            self.over.push(row);
        }
        self.missing.push(row);
        match self.slot {
            Slot::Single => self.single.push(f32::NAN),
            _ => self.double.push(f64::NAN),
        }
        Ok(())
    }
}

/// How rows are written.
#[derive(Debug, Clone, Copy)]
struct Form {
    separator: u8,
    runs: bool,
    decimal: u8,
}

/// A stretch of rows.
#[derive(Debug, Default)]
pub(super) struct Piece {
    text: Vec<u8>,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Lines taken, the one at which it stopped included.
    pub lines: u64,
    /// Rows taken.
    pub rows: usize,
    /// For each line without samples, the number of rows before it.
    pub skipped: Vec<usize>,
    /// How many of those are comments.
    pub comments: u64,
    /// Where and why it stopped early.
    pub stop: Option<Stopped>,
    /// Was the last row left out because the file ends within it?
    pub cut: bool,
    /// Offset of the text in the file.
    origin: u64,
    /// Does the text end without a line end?
    unfinished: bool,
}

impl Piece {
    fn clear(&mut self, plan: &Plan) {
        if self.columns.len() != plan.columns.len() {
            self.columns = plan.columns.iter().map(|c| Column::new(c.slot)).collect();
        }
        for (column, planned) in self.columns.iter_mut().zip(&plan.columns) {
            column.slot = planned.slot;
            column.truncate(0);
            column.wide = false;
            column.seen = Seen::default();
            column.rule = Rule::of(plan, planned);
        }
        self.skipped.clear();
        (self.lines, self.rows, self.stop) = (0, 0, None);
        (self.comments, self.cut, self.unfinished) = (0, false, false);
    }

    /// Parses the lines that begin in `range`.
    pub fn fill(
        &mut self,
        source: &dyn Source,
        plan: &Plan,
        range: std::ops::Range<u64>,
        line_bytes: usize,
    ) {
        self.clear(plan);
        let mut text = std::mem::take(&mut self.text);
        self.origin = range.start.max(plan.data_offset + 1) - 1;
        match load(
            source,
            self.origin,
            plan.data_offset,
            range,
            line_bytes,
            &mut text,
        ) {
            Ok(loaded) => {
                self.unfinished = loaded.unfinished;
                self.parse(&text, loaded.lines, plan, line_bytes);
            }
            Err((lines, stop)) => {
                // the whole lines before it come first: they count, and may be refused themselves
                let end = lines.end;
                self.parse(&text, lines, plan, line_bytes);
                if self.stop.is_none() {
                    self.lines += 1;
                    self.stop_at(stop, end);
                }
            }
        }
        self.text = text;
    }

    fn stop_at(&mut self, why: Stop, at: usize) {
        self.stop = Some(Stopped {
            why,
            offset: self.origin + at as u64,
            cut: false,
        });
    }

    /// Parses `lines` of `text`: whole lines, each with its line feed.
    fn parse(
        &mut self,
        text: &[u8],
        lines: std::ops::Range<usize>,
        plan: &Plan,
        line_bytes: usize,
    ) {
        let form = Form {
            separator: plan.separator.byte(),
            runs: plan.separator == Separator::Space,
            decimal: plan.marks.decimal,
        };
        let end = lines.end.min(text.len());
        let text = text.get(..end).unwrap_or(text);
        let mut quick = (!form.runs).then(|| {
            Quick::new(Plain {
                separator: form.separator,
                decimal: form.decimal,
                line_bytes,
            })
        });
        let mut rest = text.get(lines.start.min(end)..end).unwrap_or(&[]);
        while !rest.is_empty() {
            if let Some(quick) = &mut quick {
                let at = text.len() - rest.len();
                let (rows, next) = quick.take(text, at, &mut self.columns);
                if rows > 0 {
                    self.rows += rows;
                    self.lines += rows as u64;
                    rest = text.get(next..).unwrap_or(&[]);
                    if rest.is_empty() && self.unfinished {
                        self.check_last(text, &form);
                    }
                    continue;
                }
            }
            self.lines += 1;
            if let Some(after) = blank(rest) {
                self.skipped.push(self.rows);
                rest = after;
                continue;
            }
            match row(&mut self.columns, self.rows, rest, &form) {
                Ok(after) if rest.len() - after.len() > line_bytes => {
                    return self.stop_at(Stop::LineTooLong, end - rest.len());
                }
                Ok(after) => {
                    self.rows += 1;
                    if plan.axes.len() > 1
                        && let Err(why) = self.check_gaps()
                    {
                        self.rows -= 1;
                        self.columns.iter_mut().for_each(|c| c.truncate(self.rows));
                        return self.stop_at(why, end - rest.len());
                    }
                    if after.is_empty() && self.unfinished {
                        self.check_last(text, &form);
                    }
                    rest = after;
                }
                Err(stop) => {
                    for column in &mut self.columns {
                        column.truncate(self.rows);
                    }
                    let (line, after) = line_of(rest);
                    let nothing = |b: &u8| *b == form.separator || b.is_ascii_whitespace();
                    let comment = is_comment(line);
                    if comment || (matches!(stop, Stop::TimeMissing(_)) && line.iter().all(nothing))
                    {
                        self.comments += u64::from(comment);
                        self.skipped.push(self.rows);
                        rest = after;
                        continue;
                    }
                    self.stop_at(stop, end - rest.len());
                    if let Some(stopped) = &mut self.stop {
                        stopped.cut = after.is_empty() && self.unfinished;
                    }
                    return;
                }
            }
        }
    }

    /// Where each channel has its own time: a missing time goes with missing samples alone.
    #[cold]
    fn check_gaps(&self) -> Result<(), Stop> {
        let last = self.rows.saturating_sub(1);
        let is_missing = |column: &Column| column.missing.last() == Some(&last);
        for (index, time) in self.columns.iter().enumerate() {
            if time.slot != Slot::Time || !is_missing(time) {
                continue;
            }
            let mut channels = self.columns.iter().filter(|c| {
                matches!(c.slot, Slot::Single | Slot::Double) && c.rule.axis == time.rule.axis
            });
            if !channels.all(is_missing) {
                return Err(Stop::TimeMissing(index));
            }
        }
        Ok(())
    }

    /// The last row of a file that ends without a line end: left out where its last number has fewer
    /// decimals than those of all rows before it, for then the file was cut there.
    #[cold]
    fn check_last(&mut self, text: &[u8], form: &Form) {
        const LOOKED_AT: usize = 8;
        let decimals = |line: &[u8]| {
            let line = line.trim_ascii_end();
            let cell = line.rsplit(|b| *b == form.separator).next().unwrap_or(&[]);
            let fraction = cell.iter().rposition(|b| *b == form.decimal)?;
            let digits = cell.get(fraction + 1..)?;
            digits
                .iter()
                .all(u8::is_ascii_digit)
                .then_some(digits.len())
        };
        let mut lines = text.trim_ascii_end().rsplit(|b| *b == b'\n');
        let last = lines.next().map_or(None, decimals);
        let before: Vec<Option<usize>> = lines.take(LOOKED_AT).map(decimals).collect();
        let usual = before.first().copied().flatten();
        let same = before.len() == LOOKED_AT && before.iter().all(|d| *d == usual);
        if same && usual.is_some() && last < usual && self.rows > 0 {
            self.rows -= 1;
            self.cut = true;
            self.columns.iter_mut().for_each(|c| c.truncate(self.rows));
        }
    }
}

/// What follows a line with nothing on it; `None` when there is something.
#[inline(always)]
fn blank(rest: &[u8]) -> Option<&[u8]> {
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
fn line_of(rest: &[u8]) -> (&[u8], &[u8]) {
    match memchr::memchr(b'\n', rest) {
        Some(end) => (
            rest.get(..end).unwrap_or(&[]),
            rest.get(end + 1..).unwrap_or(&[]),
        ),
        None => (rest, &[]),
    }
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
fn row<'a>(
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

/// Bytes read beyond a stretch to find the end of its last line.
const BEYOND: usize = 256;

/// Lines that were read.
#[derive(Debug, Default)]
struct Loaded {
    /// Where they are in the text.
    lines: std::ops::Range<usize>,
    /// Was a line feed put at the end of a file that has none?
    unfinished: bool,
}

/// Reads the lines that begin in `range` into `text`, which begins at `origin`; where they are in it.
/// A line feed is put at the end of a file that has none. Where it stops, the lines that are whole
/// come with the reason.
fn load(
    source: &dyn Source,
    origin: u64,
    data_offset: u64,
    range: std::ops::Range<u64>,
    line_bytes: usize,
    text: &mut Vec<u8>,
) -> Result<Loaded, (std::ops::Range<usize>, Stop)> {
    // the byte before tells whether a line begins at the start
    let inside = usize::try_from(range.end - origin).unwrap_or(usize::MAX);
    let failed = |error: std::io::Error| (0..0, Stop::Io(error.kind(), error.to_string()));
    text.resize(inside + BEYOND, 0);
    let filled = source.read_full_at(origin, text).map_err(failed)?;
    let mut complete = filled < text.len();
    text.truncate(filled);
    let start = if range.start <= data_offset {
        usize::try_from(data_offset - origin).unwrap_or(0)
    } else {
        match memchr::memchr(b'\n', text) {
            Some(at) if at + 1 < inside => at + 1,
            // no line begins here
            Some(_) => return Ok(Loaded::default()),
            None if complete => return Ok(Loaded::default()),
            None if inside + BEYOND > line_bytes => return Err((0..0, Stop::LineTooLong)),
            None => return Ok(Loaded::default()),
        }
    };
    let mut searched = inside.saturating_sub(1).min(text.len());
    loop {
        let found = text.get(searched..).and_then(|t| memchr::memchr(b'\n', t));
        if let Some(at) = found {
            return Ok(Loaded {
                lines: start..searched + at + 1,
                unfinished: false,
            });
        }
        if complete {
            let unfinished = !text.ends_with(b"\n") && start < text.len();
            if unfinished {
                text.push(b'\n');
            }
            return Ok(Loaded {
                lines: start.min(text.len())..text.len(),
                unfinished,
            });
        }
        if text.len() > inside + line_bytes {
            let whole = memchr::memrchr(b'\n', text).map_or(start, |at| at + 1);
            return Err((start..whole.max(start), Stop::LineTooLong));
        }
        searched = text.len();
        let more = 4 * BEYOND;
        text.resize(searched + more, 0);
        let Some(room) = text.get_mut(searched..) else {
            return Ok(Loaded::default());
        };
        let filled = source
            .read_full_at(origin + searched as u64, room)
            .map_err(failed)?;
        complete = filled < more;
        text.truncate(searched + filled);
    }
}
