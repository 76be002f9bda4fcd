//! Reads the rows: stretches in parallel, joined in order; again where a first pass shows that a
//! column needs double precision or that time is not even.

use std::sync::{Arc, Mutex, PoisonError};

use super::piece::{Piece, Stop};
use super::plan::{Plan, Slot, TimePlan};
use super::sink::Sink;
use super::time_fit::{NotRising, rounded};
use crate::data::{
    Cancelled, Capture, Channel, Note, Progress, Runner, SampleKind, Samples, Source, TimeAxis,
};
use crate::formats::{FormatError, ReadOptions};

/// Stretches in flight for each core: a few, so that no core waits for another.
const PIECES_A_CORE: usize = 4;

/// Reads the table that `plan` describes.
pub(super) fn read(
    source: &dyn Source,
    plan: &Plan,
    options: &ReadOptions,
    runner: &dyn Runner,
    progress: &Progress,
) -> Result<Capture, FormatError> {
    let mut plan = plan.clone();
    loop {
        let mut pass = Pass::new(source, &plan, options);
        let whole = pass.run(runner, progress)?;
        match again(&plan, &pass.sinks, whole) {
            Some(better) => plan = better,
            None => return finish(plan.clone(), pass),
        }
    }
}

/// The plan for another pass, if this one did not fit. Time is judged by a pass over the `whole` file
/// only: of those at most two follow, for the next can only find time uneven once printing is known.
/// The others end early, in the first eighth, each with one more column in double precision.
fn again(plan: &Plan, sinks: &[Sink], whole: bool) -> Option<Plan> {
    let mut better = plan.clone();
    for (column, sink) in better.columns.iter_mut().zip(sinks) {
        if sink.wide {
            column.slot = Slot::Double;
        }
        if let TimePlan::Column { printed, even, .. } = &mut better.time
            && column.slot == Slot::Time
            && *even
            && whole
        {
            let seen = sink.seen.printed().unwrap_or(*printed);
            if seen != *printed {
                *printed = seen;
            } else if sink.fit().line().is_none() {
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
        }
    }

    /// One round after the other: while stretches are parsed, those before are joined. Ends early,
    /// with false, when a column turns out to need double precision.
    fn run(&mut self, runner: &dyn Runner, progress: &Progress) -> Result<bool, FormatError> {
        let end = self.source.len();
        let mut at = self.plan.data_offset;
        progress.expect(end.saturating_sub(at));
        let width = runner.width().max(1) * PIECES_A_CORE;
        let mut fresh: Vec<Piece> = (0..width).map(|_| Piece::default()).collect();
        let mut done: Vec<Piece> = Vec::new();
        while at < end || !done.is_empty() {
            let bases = self.count(&done)?;
            let mut ranges = Vec::new();
            while at < end && ranges.len() < width {
                let next = (at + self.block_bytes).min(end);
                ranges.push(at..next);
                at = next;
            }
            let parsed = self.round(runner, progress, fresh, &ranges, &done, &bases);
            self.check_times(&done, &bases)?;
            let early = at - self.plan.data_offset < (end - self.plan.data_offset) / 8;
            if early && self.sinks.iter().any(|sink| sink.wide) {
                return Ok(false);
            }
            let spare = done;
            (done, fresh) = keep(parsed, ranges.len(), spare, width);
        }
        Ok(true)
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
            piece.stop = Some(Stop::Cancelled);
            if progress.check().is_ok() {
                piece.fill(source, plan, range.clone(), line_bytes);
                if progress.advance(range.end - range.start).is_err() {
                    piece.stop = Some(Stop::Cancelled);
                }
            }
        });
        self.sinks = opened(sinks);
        opened(slots)
    }

    /// Counts the rows of finished stretches; the number of the first row of each. Stops at the
    /// first line that could not be taken, after the times before it were looked at.
    fn count(&mut self, done: &[Piece]) -> Result<Vec<usize>, FormatError> {
        let mut bases = Vec::new();
        for (index, piece) in done.iter().enumerate() {
            bases.push(self.rows);
            if let Some(stop) = &piece.stop {
                let before = done.get(..=index).unwrap_or(done);
                if *stop != Stop::Cancelled {
                    self.join_times(before, &bases);
                    self.check_times(before, &bases)?;
                }
                return Err(self.refusal(stop, self.line_of_piece(done, index) + piece.lines));
            }
            self.rows += piece.rows;
        }
        for piece in done {
            self.blank_lines += piece.skipped.len() as u64;
        }
        self.lines += done.iter().map(|piece| piece.lines).sum::<u64>();
        Ok(bases)
    }

    fn join_times(&mut self, done: &[Piece], bases: &[usize]) {
        let TimePlan::Column { index, .. } = self.plan.time else {
            return;
        };
        if let Some(sink) = self.sinks.get_mut(index) {
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

    fn check_times(&self, done: &[Piece], bases: &[usize]) -> Result<(), FormatError> {
        let Some((row, stop)) = self.sinks.iter().find_map(|sink| sink.not_rising) else {
            return Ok(());
        };
        Err(not_rising(
            &self.plan.file,
            self.line_of_row(done, bases, row),
            stop,
        ))
    }

    /// The line of a row of `done`, counted or not yet counted.
    fn line_of_row(&self, done: &[Piece], bases: &[usize], row: usize) -> u64 {
        let counted = bases
            .last()
            .zip(done.last())
            .is_some_and(|(base, piece)| self.rows >= base + piece.rows && piece.stop.is_none());
        let all: u64 = done.iter().map(|piece| piece.lines).sum();
        let mut line = self.plan.first_line + self.lines - if counted { all } else { 0 };
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

/// Makes a capture of a finished pass.
fn finish(plan: Plan, pass: Pass<'_>) -> Result<Capture, FormatError> {
    let (rows, blank_lines, sinks) = (pass.rows, pass.blank_lines, pass.sinks);
    if rows < 2 {
        return Err(FormatError::TooLittle {
            file: plan.file,
            what: "fewer than two rows of samples".to_owned(),
            wanted: "two rows or more",
        });
    }
    let mut notes = plan.notes;
    if blank_lines > 0 {
        notes.push(Note::new(format!(
            "{blank_lines} lines without samples left out"
        )));
    }
    let mut axis = None;
    let mut channels = Vec::new();
    for (index, (column, sink)) in plan.columns.into_iter().zip(sinks).enumerate() {
        match column.slot {
            Slot::Time => axis = Some(time_axis(sink, column.factor, &mut notes)),
            Slot::Skip => {}
            Slot::Single | Slot::Double => {
                let (store, missing, clipped) = sink.into_store();
                if !missing.is_empty() {
                    notes.push(Note::new(format!(
                        "column {}: {} samples missing",
                        index + 1,
                        missing.count()
                    )));
                }
                channels.push((
                    column.name,
                    column.unit,
                    Samples::new(store, column.factor, 0.0),
                    missing,
                    clipped,
                ));
            }
        }
    }
    let axis = match (axis, plan.time) {
        (Some(axis), _) => axis,
        (None, TimePlan::Interval(step_s)) => TimeAxis::Uniform {
            start_s: 0.0,
            step_s,
            count: rows,
        },
        (None, TimePlan::Column { .. }) => TimeAxis::Explicit(Vec::new()),
    };
    let time = Arc::new(axis);
    let channel = |(name, unit, samples, missing, clipped)| Channel {
        name,
        unit,
        kind: SampleKind::Instant,
        samples,
        time: Arc::clone(&time),
        missing,
        clipped,
        full_scale: None,
    };
    Ok(Capture {
        file: plan.file,
        format: "csv",
        channels: channels.into_iter().map(channel).collect(),
        decisions: plan.decisions,
        notes,
    })
}

fn time_axis(sink: Sink, factor: f64, notes: &mut Vec<Note>) -> TimeAxis {
    let count = sink.fit().count();
    let line = sink.fit().line();
    let kept = sink.into_double();
    if kept.is_empty()
        && let Some((start, step)) = line
    {
        return TimeAxis::Uniform {
            start_s: rounded(start * factor, 15),
            step_s: rounded(step * factor, 15),
            count,
        };
    }
    notes.push(Note::new(
        "the steps of time are not even: each sample keeps its own time",
    ));
    TimeAxis::Explicit(kept.into_iter().map(|time| time * factor).collect())
}
