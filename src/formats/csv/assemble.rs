//! Columns that were read become channels with their time axes.

use std::sync::Arc;

use super::clip;
use super::pass::Rows;
use super::plan::{AxisPlan, ColumnPlan, Extreme, Slot};
use super::preamble::Label;
use super::sink::Sink;
use super::time_fit::rounded;
use crate::data::{Channel, Decision, Mask, Note, SampleKind, Samples, Store, TimeAxis};
use crate::formats::FormatError;

/// The channels of one table.
#[derive(Debug)]
pub(super) struct Part {
    /// What the lines above call it.
    pub label: Label,
    /// Line of its first row.
    pub first_line: u64,
    /// Its rows.
    pub rows: usize,
    /// Samples that the file announces, with the line.
    pub declared: Option<(u64, u64)>,
    /// Its channels.
    pub channels: Vec<Channel>,
    /// How it was understood.
    pub decisions: Vec<Decision>,
    /// What the user should know.
    pub notes: Vec<Note>,
}

/// Samples and masks of a channel.
struct Values {
    store: Store,
    missing: Mask,
    over: Mask,
}

/// Makes channels of the rows of a table.
pub(super) fn part(rows: Rows, label: Label) -> Result<Part, FormatError> {
    let plan = rows.plan;
    if rows.count < 2 {
        return Err(FormatError::TooLittle {
            file: plan.file,
            what: "fewer than two rows of samples".to_owned(),
            wanted: "two rows or more",
        });
    }
    let mut notes = plan.notes;
    count_notes(&mut notes, rows.blank_lines, rows.comments);
    let mut axes: Vec<Axis> = plan
        .axes
        .iter()
        .map(|axis| Axis::evenly(axis, rows.count))
        .collect();
    let mut values: Vec<Option<Values>> = Vec::new();
    for (column, sink) in plan.columns.iter().zip(rows.sinks) {
        match column.slot {
            Slot::Time => {
                if let Some(axis) = axes.get_mut(column.axis) {
                    axis.take(sink, column, &mut notes);
                }
                values.push(None);
            }
            Slot::Skip => values.push(None),
            Slot::Single | Slot::Double => {
                let (store, missing, over) = sink.into_store();
                values.push(Some(Values {
                    store,
                    missing,
                    over,
                }));
            }
        }
    }
    let axes: Vec<Finished> = axes.into_iter().map(Axis::finish).collect();
    let mut channels = Vec::new();
    for (index, column) in plan.columns.iter().enumerate() {
        let Some(axis) = axes.get(column.axis) else {
            continue;
        };
        if column.extreme == Some(Extreme::High) {
            continue;
        }
        let Some(found) = values.get_mut(index).and_then(Option::take) else {
            continue;
        };
        let found = match column.extreme {
            Some(Extreme::LowWith(high)) => {
                let highest = values.get_mut(high).and_then(Option::take);
                interleaved(axis.fit(found), highest.map(|values| axis.fit(values)))
            }
            _ => axis.fit(found),
        };
        channels.push(channel(column, index, axis, found, &mut notes));
    }
    Ok(Part {
        label,
        first_line: plan.first_line,
        rows: rows.count,
        declared: plan.declared,
        channels,
        decisions: plan.decisions,
        notes,
    })
}

fn count_notes(notes: &mut Vec<Note>, blank_lines: u64, comments: u64) {
    let blank = blank_lines.saturating_sub(comments);
    for (count, what) in [(blank, "lines without samples"), (comments, "comments")] {
        if count > 0 {
            notes.push(Note::new(format!("{count} {what} left out")));
        }
    }
}

fn channel(
    column: &ColumnPlan,
    index: usize,
    axis: &Finished,
    values: Values,
    notes: &mut Vec<Note>,
) -> Channel {
    if !values.missing.is_empty() {
        notes.push(Note::new(format!(
            "column {}: {} samples missing",
            index + 1,
            values.missing.count()
        )));
    }
    let paired = matches!(column.extreme, Some(Extreme::LowWith(_)));
    let store = if column.codes {
        codes(values.store)
    } else {
        values.store
    };
    let mut channel = Channel {
        name: column.name.clone(),
        unit: column.unit,
        kind: if paired || axis.twice {
            SampleKind::MinMaxPair
        } else {
            SampleKind::Instant
        },
        samples: Samples::new(store, column.factor, column.offset),
        time: if paired {
            Arc::new(halved(&axis.time))
        } else {
            Arc::clone(&axis.time)
        },
        missing: values.missing,
        clipped: values.over,
        full_scale: column.full_scale,
    };
    clip::mark(&mut channel, column.by_division, index, notes);
    channel
}

/// Counts in the width that holds them all; as they are where one is no whole number or missing.
fn codes(store: Store) -> Store {
    let Store::F32(values) = store else {
        return store;
    };
    let whole = values
        .iter()
        .all(|v| v.fract() == 0.0 && v.abs() < 16_777_216.0);
    let low = values.iter().copied().fold(f32::INFINITY, f32::min);
    let high = values.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    if !whole {
        Store::F32(values)
    } else if low >= 0.0 && high <= 255.0 {
        Store::U8(values.iter().map(|v| *v as u8).collect())
    } else if low >= -128.0 && high <= 127.0 {
        Store::I8(values.iter().map(|v| *v as i8).collect())
    } else if low >= -32_768.0 && high <= 32_767.0 {
        Store::I16(values.iter().map(|v| *v as i16).collect())
    } else if low >= 0.0 && high <= 65_535.0 {
        Store::U16(values.iter().map(|v| *v as u16).collect())
    } else {
        Store::I32(values.iter().map(|v| *v as i32).collect())
    }
}

/// A time axis while its columns come in.
struct Axis {
    time: TimeAxis,
    /// Rows without a time.
    absent: Mask,
    twice: bool,
}

/// A finished time axis.
struct Finished {
    time: Arc<TimeAxis>,
    absent: Mask,
    twice: bool,
    samples: usize,
}

impl Axis {
    fn evenly(plan: &AxisPlan, rows: usize) -> Axis {
        let (start_s, step_s, twice) = match plan {
            AxisPlan::Interval {
                start_s,
                step_s,
                twice,
            } => (*start_s, *step_s, *twice),
            AxisPlan::Column { rows, .. } => (0.0, 1.0, rows.in_pairs()),
        };
        Axis {
            time: TimeAxis::Uniform {
                start_s,
                step_s,
                count: if twice { rows / 2 } else { rows },
            },
            absent: Mask::new(),
            twice,
        }
    }

    fn take(&mut self, sink: Sink, column: &ColumnPlan, notes: &mut Vec<Note>) {
        let (factor, offset) = (column.factor, column.offset);
        let count = sink.fit().count();
        let line = sink.fit().line();
        let absent = sink.missing.clone();
        let kept = sink.into_double();
        self.absent = absent;
        if kept.is_empty()
            && let Some((start, step)) = line
        {
            self.time = TimeAxis::Uniform {
                start_s: rounded(rounded(start * factor, 15) + offset, 15),
                step_s: rounded(step * factor, 15),
                count,
            };
            return;
        }
        if count > 1 {
            notes.push(Note::new(
                "the steps of time are not even: each sample keeps its own time",
            ));
        }
        self.time = TimeAxis::Explicit(kept.into_iter().map(|t| t * factor + offset).collect());
    }

    fn finish(self) -> Finished {
        let time = Arc::new(if self.twice {
            halved(&self.time)
        } else {
            self.time
        });
        Finished {
            samples: time.len(),
            time,
            absent: self.absent,
            twice: self.twice,
        }
    }
}

/// The axis with a second sample half-way to the next instant.
fn halved(time: &TimeAxis) -> TimeAxis {
    match time {
        TimeAxis::Uniform {
            start_s,
            step_s,
            count,
        } => TimeAxis::Uniform {
            start_s: *start_s,
            step_s: 0.5 * step_s,
            count: 2 * count,
        },
        other => {
            let times: Vec<f64> = (0..other.len()).map(|index| other.at(index)).collect();
            let mut both = Vec::with_capacity(2 * times.len());
            let mut half = 0.0;
            for (index, at) in times.iter().enumerate() {
                if let Some(next) = times.get(index + 1) {
                    half = 0.5 * (next - at);
                }
                both.extend([*at, at + half]);
            }
            TimeAxis::Explicit(both)
        }
    }
}

impl Finished {
    /// The samples that this axis has a time for.
    fn fit(&self, values: Values) -> Values {
        let rows = values.store.len();
        let paired_rows = if self.twice { rows - rows % 2 } else { rows };
        if self.absent.is_empty() && paired_rows == rows {
            return values;
        }
        let keep: Vec<usize> = (0..paired_rows)
            .filter(|row| !self.absent.contains(*row))
            .take(self.samples)
            .collect();
        let masked = |mask: &Mask| {
            let mut kept = Mask::new();
            for (to, from) in keep.iter().enumerate() {
                if mask.contains(*from) {
                    kept.mark(to);
                }
            }
            kept
        };
        Values {
            missing: masked(&values.missing),
            over: masked(&values.over),
            store: match values.store {
                Store::F32(v) => {
                    Store::F32(keep.iter().filter_map(|row| v.get(*row).copied()).collect())
                }
                Store::F64(v) => {
                    Store::F64(keep.iter().filter_map(|row| v.get(*row).copied()).collect())
                }
                other => other,
            },
        }
    }
}

/// Lowest and highest in turns.
fn interleaved(low: Values, high: Option<Values>) -> Values {
    let Some(high) = high else {
        return low;
    };
    let mut missing = Mask::new();
    let mut over = Mask::new();
    for index in 0..low.store.len() {
        for (side, values) in [&low, &high].into_iter().enumerate() {
            if values.missing.contains(index) {
                missing.mark(2 * index + side);
            }
            if values.over.contains(index) {
                over.mark(2 * index + side);
            }
        }
    }
    let store = match (low.store, high.store) {
        (Store::F32(a), Store::F32(b)) => {
            Store::F32(a.into_iter().zip(b).flat_map(|(a, b)| [a, b]).collect())
        }
        (a, b) => {
            let (a, b) = (doubles(a), doubles(b));
            Store::F64(a.into_iter().zip(b).flat_map(|(a, b)| [a, b]).collect())
        }
    };
    Values {
        store,
        missing,
        over,
    }
}

fn doubles(store: Store) -> Vec<f64> {
    let samples = Samples::new(store, 1.0, 0.0);
    samples.slice(0..samples.len())
}
