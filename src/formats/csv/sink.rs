//! The whole columns, grown stretch by stretch in the order of the file.

use super::piece::Column;
use super::plan::{Plan, Slot, TimePlan};
use super::time_fit::{NotRising, Printed, Seen, TimeFit};
use crate::data::{Mask, Store};

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
    /// The first row whose time does not rise.
    pub not_rising: Option<(usize, NotRising)>,
}

impl Sink {
    /// Empty columns for a plan.
    pub fn all(plan: &Plan) -> Vec<Sink> {
        let (printed, even) = match plan.time {
            TimePlan::Column { printed, even, .. } => (printed, even),
            TimePlan::Interval(_) => (Printed::Digits(9), false),
        };
        plan.columns
            .iter()
            .map(|column| Sink {
                slot: column.slot,
                single: Vec::new(),
                double: Vec::new(),
                missing: Mask::new(),
                over: Mask::new(),
                wide: false,
                seen: Seen::default(),
                fit: TimeFit::new(printed),
                keep_times: !even,
                not_rising: None,
            })
            .collect()
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
