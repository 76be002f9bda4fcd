//! A stretch of rows, parsed on its own: what one core does at a time.

use super::head::is_comment;
use super::lines::load;
use super::odd_cell::{self, Rule};
use super::plan::{Plan, Slot};
use super::quick::{Plain, Quick};
use super::row::{Form, blank, line_of, row};
use super::time_fit::Seen;
use crate::data::Source;
use crate::formats::text::cell::Separator;
use crate::formats::text::number::Number;

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

/// Lines without samples after the last row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Tail {
    /// Offset of the first.
    pub offset: u64,
    /// Number of the first within the stretch, from 1.
    pub line: u64,
    /// How many.
    pub lines: u64,
    /// Comments among them.
    pub comments: u64,
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
    pub(super) fn put(&mut self, number: &Number) {
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
    pub(super) fn put_odd(&mut self, text: &[u8], row: usize, index: usize) -> Result<(), Stop> {
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
    /// Lines without samples at its end.
    pub tail: Tail,
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
        (self.comments, self.unfinished) = (0, false);
        self.tail = Tail::default();
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

    /// Leaves out the line at `at`, which holds no samples.
    fn skip(&mut self, at: usize, comment: bool) {
        self.skipped.push(self.rows);
        self.comments += u64::from(comment);
        if self.tail.lines == 0 {
            self.tail.offset = self.origin + at as u64;
            self.tail.line = self.lines;
        }
        self.tail.lines += 1;
        self.tail.comments += u64::from(comment);
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
                    self.tail = Tail::default();
                    rest = text.get(next..).unwrap_or(&[]);
                    continue;
                }
            }
            self.lines += 1;
            if let Some(after) = blank(rest) {
                self.skip(end - rest.len(), false);
                rest = after;
                continue;
            }
            match row(&mut self.columns, self.rows, rest, &form) {
                Ok(after) if rest.len() - after.len() > line_bytes => {
                    return self.stop_at(Stop::LineTooLong, end - rest.len());
                }
                Ok(after) => {
                    self.rows += 1;
                    self.tail = Tail::default();
                    if plan.axes.len() > 1
                        && let Err(why) = self.check_gaps()
                    {
                        self.rows -= 1;
                        self.columns.iter_mut().for_each(|c| c.truncate(self.rows));
                        return self.stop_at(why, end - rest.len());
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
                        self.skip(end - rest.len(), comment);
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
}
