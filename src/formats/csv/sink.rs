//! The whole columns, grown stretch by stretch in the order of the file.

use super::piece::Column;
use super::plan::{AxisPlan, Plan, Rows, Slot};
use super::time_fit::{NotRising, Printed, Seen, TimeFit};
use crate::data::{Mask, Store};

/// Seconds of a day.
const DAY_S: f64 = 86_400.0;

/// A whole column.
#[derive(Debug)]
pub(super) struct Sink {
    slot: Slot,
    single: Vec<f32>,
    double: Vec<f64>,
    /// Samples without a number.
    pub missing: Mask,
    /// Samples that say "beyond the range".
    pub over: Mask,
    /// Was there a value that single precision does not keep?
    pub wide: bool,
    /// How the times are printed.
    pub seen: Seen,
    fit: TimeFit,
    keep_times: bool,
    rows: Rows,
    /// The last time of a second row.
    last_again: f64,
    /// Clock times without a date: whole days to add, once midnight has passed.
    days: Option<f64>,
    /// The first row whose time does not rise.
    pub not_rising: Option<(usize, NotRising)>,
}

impl Sink {
    /// Empty columns for a plan.
    pub fn all(plan: &Plan) -> Vec<Sink> {
        plan.columns
            .iter()
            .map(|column| {
                let mut sink = Sink::new(column.slot);
                if let (
                    Slot::Time,
                    Some(AxisPlan::Column {
                        printed,
                        even,
                        rows,
                        clock,
                        ..
                    }),
                ) = (column.slot, plan.axes.get(column.axis))
                {
                    sink.fit = if *even {
                        TimeFit::new(*printed)
                    } else {
                        TimeFit::strict(*printed)
                    };
                    sink.keep_times = !even;
                    sink.rows = *rows;
                    sink.days = clock.filter(|clock| clock.day.is_none()).map(|_| 0.0);
                }
                sink
            })
            .collect()
    }

    fn new(slot: Slot) -> Self {
        Self {
            slot,
            single: Vec::new(),
            double: Vec::new(),
            missing: Mask::new(),
            over: Mask::new(),
            wide: false,
            seen: Seen::default(),
            fit: TimeFit::new(Printed::Digits(9)),
            keep_times: false,
            rows: Rows::Each,
            last_again: f64::NEG_INFINITY,
            days: None,
            not_rising: None,
        }
    }

    /// Adds a stretch whose first row is row `base` of the file.
    pub fn append(&mut self, column: &Column, base: usize) {
        self.single.extend_from_slice(&column.single);
        self.wide |= column.wide;
        if self.slot == Slot::Time {
            self.append_times(column, base);
        } else {
            self.double.extend_from_slice(&column.double);
        }
        for row in &column.missing {
            self.missing.mark(base + row);
        }
        for row in &column.over {
            self.over.mark(base + row);
        }
    }

    fn append_times(&mut self, column: &Column, base: usize) {
        self.seen.merge(&column.seen);
        if self.not_rising.is_some() {
            return;
        }
        let plain = column.missing.is_empty() && !self.rows.in_pairs() && self.days.is_none();
        if !plain {
            self.append_odd_times(column, base);
            return;
        }
        for (row, time) in column.double.iter().enumerate() {
            if let Err(stop) = self.fit.push(*time) {
                self.not_rising = Some((base + row, stop));
                return;
            }
        }
        if self.keep_times {
            self.double.extend_from_slice(&column.double);
        }
    }

    /// Times of which some are missing, stand twice, or pass midnight.
    fn append_odd_times(&mut self, column: &Column, base: usize) {
        for (row, time) in column.double.iter().enumerate() {
            let time = self.unwrapped(*time);
            if time.is_nan() {
                continue;
            }
            let again = self.rows.in_pairs() && !(base + row).is_multiple_of(2);
            let outcome = if again {
                self.second(time)
            } else {
                self.first(time)
            };
            if let Err(stop) = outcome {
                self.not_rising = Some((base + row, stop));
                return;
            }
            if self.keep_times && !again {
                self.double.push(time);
            }
        }
    }

    /// The time of a row that is the first of its instant.
    fn first(&mut self, time: f64) -> Result<(), NotRising> {
        if time <= self.last_again {
            return Err(NotRising {
                before: self.last_again,
                found: time,
            });
        }
        self.fit.push(time)
    }

    /// The time of a row that is the second of its instant.
    fn second(&mut self, time: f64) -> Result<(), NotRising> {
        let before = self.fit.last();
        let fits = match self.rows {
            Rows::InTurn => time > before,
            _ => time.to_bits() == before.to_bits(),
        };
        if !fits {
            return Err(NotRising {
                before,
                found: time,
            });
        }
        if self.rows == Rows::InTurn {
            self.last_again = time;
        }
        Ok(())
    }

    /// A clock time with the days that have passed.
    fn unwrapped(&mut self, time: f64) -> f64 {
        let Some(days) = &mut self.days else {
            return time;
        };
        if time + *days * DAY_S < self.fit.last() - 0.5 * DAY_S {
            *days += 1.0;
        }
        time + *days * DAY_S
    }

    /// Whole days that clock times without a date have passed; `None` for other columns.
    pub fn days(&self) -> Option<f64> {
        self.days
    }

    /// What is known of the time axis.
    pub fn fit(&self) -> &TimeFit {
        &self.fit
    }

    /// The times or values in double precision.
    pub fn into_double(mut self) -> Vec<f64> {
        self.double.shrink_to_fit();
        self.double
    }

    /// The samples, and the masks of missing and clipped ones.
    pub fn into_store(mut self) -> (Store, Mask, Mask) {
        let store = if self.slot == Slot::Single {
            self.single.shrink_to_fit();
            Store::F32(self.single)
        } else {
            self.double.shrink_to_fit();
            Store::F64(self.double)
        };
        (store, self.missing, self.over)
    }
}
