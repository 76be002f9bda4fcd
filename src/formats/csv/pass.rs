//! Reads the rows of one table: stretches in parallel, joined in order; again where a first pass shows
//! that a column needs double precision or that time is not even.

use std::sync::{Mutex, PoisonError};

use super::piece::{Piece, Stop, Stopped, Tail};
use super::plan::{AxisPlan, Plan, Slot};
use super::sink::Sink;
use super::time_fit::NotRising;
use super::{cut, foreign};
use crate::data::{Answer, Cancelled, Progress, Runner, Source};
use crate::formats::{FormatError, ReadOptions};

/// Stretches in flight for each core: a few, so that no core waits for another.
const PIECES_A_CORE: usize = 4;
/// Bytes of the first stretch: small, because many short tables may follow one another.
const FIRST_BYTES: u64 = 4 * 1024;

/// Where the rows of a table end.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum End {
    /// With the file.
    File,
    /// With the last line, which is not whole.
    Cut(u64),
    /// Before a line that is none of its rows.
    Foreign {
        /// Its offset.
        offset: u64,
        /// Its number.
        line: u64,
        /// What stands against it as a row.
        refusal: FormatError,
    },
}

/// The rows of a table as they were read.
#[derive(Debug)]
pub(super) struct Rows {
    /// The plan that fitted in the end.
    pub plan: Plan,
    /// The columns.
    pub sinks: Vec<Sink>,
    /// Rows.
    pub count: usize,
    /// Lines without samples among them.
    pub blank_lines: u64,
    /// Comments among those.
    pub comments: u64,
    /// Where they end.
    pub end: End,
}

/// Reads the table that `plan` describes, as far as it goes.
pub(super) fn read(
    source: &dyn Source,
    plan: &Plan,
    options: &ReadOptions,
    runner: &dyn Runner,
    progress: &Progress,
) -> Result<Rows, FormatError> {
    let mut plan = plan.clone();
    loop {
        let mut pass = Pass::new(source, &plan, options);
        let end = pass.run(runner, progress)?;
        match again(&plan, &pass.sinks, end.is_some()) {
            Some(better) => plan = better,
            None => {
                let (count, blank_lines, comments) = (pass.rows, pass.blank_lines, pass.comments);
                let end = end.unwrap_or(End::File);
                return Ok(Rows {
                    sinks: pass.sinks,
                    count,
                    blank_lines,
                    comments,
                    end,
                    plan,
                });
            }
        }
    }
}

/// The plan for another pass, if this one did not fit. Time is judged by a pass over the `whole` table
/// only: of those at most two follow, for the next can only find time uneven once printing is known.
/// The others end early, in the first eighth, each with one more column in double precision.
fn again(plan: &Plan, sinks: &[Sink], whole: bool) -> Option<Plan> {
    let mut better = plan.clone();
    for (column, sink) in better.columns.iter_mut().zip(sinks) {
        if sink.wide {
            column.slot = Slot::Double;
        }
        if let Some(AxisPlan::Column { printed, even, .. }) = better.axes.get_mut(column.axis)
            && column.slot == Slot::Time
            && *even
            && whole
        {
            let seen = sink.seen.printed().unwrap_or(*printed);
            if seen != *printed {
                *printed = seen;
            } else if sink.fit().count() > 1 && sink.fit().line().is_none() {
                *even = false;
            }
        }
    }
    (better != *plan).then_some(better)
}

struct Pass<'a> {
    source: &'a dyn Source,
    plan: &'a Plan,
    line_bytes: usize,
    block_bytes: u64,
    sinks: Vec<Sink>,
    lines: u64,
    rows: usize,
    blank_lines: u64,
    comments: u64,
    /// Lines without samples at the end of the stretches counted so far.
    tail: Tail,
}

impl<'a> Pass<'a> {
    fn new(source: &'a dyn Source, plan: &'a Plan, options: &ReadOptions) -> Self {
        Self {
            source,
            plan,
            line_bytes: options.limits.line_bytes,
            block_bytes: options.limits.block_bytes.max(1) as u64,
            sinks: Sink::all(plan),
            lines: 0,
            rows: 0,
            blank_lines: 0,
            comments: 0,
            tail: Tail::default(),
        }
    }

    /// One round after the other: while stretches are parsed, those before are joined. Ends early,
    /// with `None`, when a column turns out to need double precision.
    fn run(
        &mut self,
        runner: &dyn Runner,
        progress: &Progress,
    ) -> Result<Option<End>, FormatError> {
        let whole = self.plan.end_offset.min(self.source.len());
        let cut = cut::last_line(self.source, self.plan);
        let end = cut.unwrap_or(whole);
        let mut at = self.plan.data_offset;
        progress.expect(end.saturating_sub(at));
        let width = runner.width().max(1) * PIECES_A_CORE;
        let mut fresh: Vec<Piece> = (0..width).map(|_| Piece::default()).collect();
        let mut done: Vec<Piece> = Vec::new();
        let mut block = self.block_bytes.min(FIRST_BYTES);
        let mut count = 1;
        while at < end || !done.is_empty() {
            let (bases, stopped) = self.count(&mut done)?;
            let mut ranges = Vec::new();
            while at < end && ranges.len() < count && stopped.is_none() {
                let next = (at + block).min(end);
                ranges.push(at..next);
                at = next;
            }
            (block, count) = (self.block_bytes, width);
            let parsed = self.round(runner, progress, fresh, &ranges, &done, &bases);
            let all: u64 = done.iter().map(|piece| piece.lines).sum();
            self.check_times(&done, &bases, self.lines - all)?;
            if stopped.is_some() {
                return Ok(stopped);
            }
            let early = at - self.plan.data_offset < (end - self.plan.data_offset) / 8;
            if early && self.sinks.iter().any(|sink| sink.wide) {
                return Ok(None);
            }
            let spare = done;
            (done, fresh) = keep(parsed, ranges.len(), spare, width);
        }
        Ok(Some(match cut {
            Some(_) => End::Cut(self.plan.first_line + self.lines),
            None => End::File,
        }))
    }

    /// Parses `ranges` into `fresh` and joins `done`, all spread over the runner.
    fn round(
        &mut self,
        runner: &dyn Runner,
        progress: &Progress,
        fresh: Vec<Piece>,
        ranges: &[std::ops::Range<u64>],
        done: &[Piece],
        bases: &[usize],
    ) -> Vec<Piece> {
        let slots: Vec<Mutex<Piece>> = fresh.into_iter().map(Mutex::new).collect();
        let sinks: Vec<Mutex<Sink>> = self.sinks.drain(..).map(Mutex::new).collect();
        let joins = if done.is_empty() { 0 } else { sinks.len() };
        let (source, plan, line_bytes) = (self.source, self.plan, self.line_bytes);
        runner.run(joins + ranges.len(), &|work| {
            if work < joins {
                let Some(sink) = sinks.get(work) else { return };
                let mut sink = sink.lock().unwrap_or_else(PoisonError::into_inner);
                for (piece, base) in done.iter().zip(bases) {
                    if let Some(column) = piece.columns.get(work) {
                        sink.append(column, *base);
                    }
                }
                return;
            }
            let (Some(range), Some(slot)) = (ranges.get(work - joins), slots.get(work - joins))
            else {
                return;
            };
            let mut piece = slot.lock().unwrap_or_else(PoisonError::into_inner);
            let cancelled = || {
                Some(Stopped {
                    why: Stop::Cancelled,
                    offset: range.start,
                    cut: false,
                })
            };
            piece.stop = cancelled();
            if progress.check().is_ok() {
                piece.fill(source, plan, range.clone(), line_bytes);
                if progress.advance(range.end - range.start).is_err() {
                    piece.stop = cancelled();
                }
            }
        });
        self.sinks = opened(sinks);
        opened(slots)
    }

    /// Counts the rows of finished stretches; the number of the first row of each, and where the table
    /// ends if it ends in one of them: the stretches behind it are dropped.
    fn count(&mut self, done: &mut Vec<Piece>) -> Result<(Vec<usize>, Option<End>), FormatError> {
        let mut bases = Vec::new();
        let mut end = None;
        for index in 0..done.len() {
            let Some(piece) = done.get(index) else { break };
            bases.push(self.rows);
            let line = self.line_of_piece(done, index) + piece.lines;
            if let Some(stopped) = &piece.stop {
                end = self.end_at(stopped, line);
                if end.is_none() {
                    if stopped.why != Stop::Cancelled {
                        let before = done.get(..=index).unwrap_or(done);
                        self.join_times(before, &bases);
                        self.check_times(before, &bases, self.lines)?;
                    }
                    return Err(self.refusal(&stopped.why, line));
                }
            }
            self.rows += piece.rows;
            if end.is_some() {
                done.truncate(index + 1);
                break;
            }
        }
        self.tail = self.tail_of(done);
        for piece in done.iter() {
            self.blank_lines += piece.skipped.len() as u64;
            self.comments += piece.comments;
        }
        if let Some(End::Foreign { offset, line, .. }) = &mut end
            && self.tail.lines > 0
        {
            // comments and blank lines before a foreign line belong to what begins there
            (*offset, *line) = (self.tail.offset, self.tail.line);
            self.blank_lines -= self.tail.lines;
            self.comments -= self.tail.comments;
        }
        self.lines += done.iter().map(|piece| piece.lines).sum::<u64>();
        Ok((bases, end))
    }

    /// Lines without samples at the end of what is counted, their line counted in the file.
    fn tail_of(&self, done: &[Piece]) -> Tail {
        let mut tail = self.tail;
        for (index, piece) in done.iter().enumerate() {
            let own = Tail {
                line: self.line_of_piece(done, index) + piece.tail.line,
                ..piece.tail
            };
            if piece.rows > 0 || tail.lines == 0 {
                tail = own;
            } else {
                tail.lines += own.lines;
                tail.comments += own.comments;
            }
        }
        tail
    }

    /// Does the table end at a line that could not be taken, rather than being damaged there?
    fn end_at(&self, stopped: &Stopped, line: u64) -> Option<End> {
        if self.rows == 0 && stopped.offset == self.plan.data_offset {
            return None;
        }
        match &stopped.why {
            Stop::Ragged(_) | Stop::NotANumber(..)
                if stopped.cut
                    && foreign::is_start_of_row(self.source, self.plan, stopped.offset) =>
            {
                Some(End::Cut(line))
            }
            Stop::Ragged(_) | Stop::NotANumber(..) => {
                foreign::is_foreign(self.source, self.plan, stopped.offset).then(|| End::Foreign {
                    offset: stopped.offset,
                    line,
                    refusal: self.refusal(&stopped.why, line),
                })
            }
            _ => None,
        }
    }

    fn join_times(&mut self, done: &[Piece], bases: &[usize]) {
        for (index, column) in self.plan.columns.iter().enumerate() {
            if column.slot != Slot::Time {
                continue;
            }
            let Some(sink) = self.sinks.get_mut(index) else {
                continue;
            };
            for (piece, base) in done.iter().zip(bases) {
                if let Some(column) = piece.columns.get(index) {
                    sink.append(column, *base);
                }
            }
        }
    }

    /// Number of the line before the first of stretch `index`, while `done` is not yet counted.
    fn line_of_piece(&self, done: &[Piece], index: usize) -> u64 {
        let before: u64 = done.iter().take(index).map(|piece| piece.lines).sum();
        self.plan.first_line - 1 + self.lines + before
    }

    /// Refuses a time that does not rise in `done`, before which `lines` lines of the table stand.
    fn check_times(&self, done: &[Piece], bases: &[usize], lines: u64) -> Result<(), FormatError> {
        let Some((row, stop)) = self.sinks.iter().find_map(|sink| sink.not_rising) else {
            return Ok(());
        };
        Err(not_rising(
            &self.plan.file,
            self.line_of_row(done, bases, row, lines),
            stop,
        ))
    }

    /// The line of a row of `done`, before which `lines` lines of the table stand.
    fn line_of_row(&self, done: &[Piece], bases: &[usize], row: usize, lines: u64) -> u64 {
        let mut line = self.plan.first_line + lines;
        for (piece, base) in done.iter().zip(bases) {
            if row < base + piece.rows {
                let inside = row - base;
                let skipped = piece.skipped.iter().filter(|at| **at <= inside).count();
                return line + inside as u64 + skipped as u64;
            }
            line += piece.lines;
        }
        line
    }

    fn refusal(&self, stop: &Stop, line: u64) -> FormatError {
        let file = self.plan.file.clone();
        match stop {
            Stop::Io(kind, reason) => FormatError::Io {
                file,
                kind: *kind,
                reason: reason.clone(),
            },
            Stop::Cancelled => FormatError::Cancelled(Cancelled),
            Stop::LineTooLong => FormatError::LineTooLong {
                file,
                line,
                limit: self.line_bytes,
            },
            Stop::Ragged(found) => FormatError::Ragged {
                file,
                line,
                expected: self.plan.columns.len(),
                found: *found,
            },
            Stop::NotANumber(index, found) => FormatError::NotANumber {
                file,
                line,
                column: index + 1,
                found: found.clone(),
            },
            Stop::TimeMissing(index) => FormatError::TimeMissing {
                file,
                line,
                column: index + 1,
            },
            Stop::DateOrder(index, found) => FormatError::ask(
                &file,
                format!(
                    "the date changes to `{found}` in line {line} (column {}), and day and month could be either; which order is it?",
                    index + 1
                ),
                vec![Answer::of("date", "dmy"), Answer::of("date", "mdy")],
            ),
        }
    }
}

fn opened<T>(locked: Vec<Mutex<T>>) -> Vec<T> {
    let open = |m: Mutex<T>| m.into_inner().unwrap_or_else(PoisonError::into_inner);
    locked.into_iter().map(open).collect()
}

/// The stretches that were filled, and as many others to fill next.
fn keep(
    mut parsed: Vec<Piece>,
    used: usize,
    spare: Vec<Piece>,
    width: usize,
) -> (Vec<Piece>, Vec<Piece>) {
    let mut fresh = parsed.split_off(used.min(parsed.len()));
    fresh.extend(spare);
    fresh.truncate(width);
    while fresh.len() < width {
        fresh.push(Piece::default());
    }
    (parsed, fresh)
}

fn not_rising(file: &str, line: u64, stop: NotRising) -> FormatError {
    FormatError::TimeNotRising {
        file: file.to_owned(),
        line,
        before: stop.before,
        found: stop.found,
    }
}
