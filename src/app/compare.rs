//! The sheet that sets two runs against each other: what was chosen, and what came of it.

use std::sync::Arc;

use super::state::AppState;
use crate::data::text::engineering;
use crate::data::typed::{self, Kind};
use crate::data::{AlignBy, CompareOptions, Comparison, Inspection, Unit};
use crate::inspect;

/// What was chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct CompareForm {
    /// 0-based group before.
    pub before: usize,
    /// 0-based group after.
    pub after: usize,
    /// How captures are laid over each other.
    pub align: AlignBy,
    /// The time by hand as typed.
    pub shift: String,
    /// Why it could not be taken.
    pub wrong: Option<String>,
    /// Were the same instruments used on both sides?
    pub same_instruments: bool,
    /// Which pair of captures is drawn, by its place in the comparison.
    pub pair: usize,
}

impl Default for CompareForm {
    fn default() -> Self {
        Self {
            before: 0,
            after: 1,
            align: AlignBy::Auto,
            shift: String::new(),
            wrong: None,
            same_instruments: false,
            pair: 0,
        }
    }
}

impl CompareForm {
    /// What the form says of the comparison.
    pub fn options(&self) -> CompareOptions {
        CompareOptions {
            align: self.align,
            same_instruments: self.same_instruments,
        }
    }
}

/// A comparison with what it was made of, so that one that no longer fits is known.
#[derive(Debug, Clone)]
pub struct Made {
    /// The inspection before.
    pub before: Arc<Inspection>,
    /// The inspection after.
    pub after: Arc<Inspection>,
    /// What the form said.
    pub options: CompareOptions,
    /// What came of it.
    pub comparison: Arc<Comparison>,
}

impl Made {
    /// Sets two inspections against each other.
    pub fn of(
        (before, after): (Arc<Inspection>, Arc<Inspection>),
        options: CompareOptions,
    ) -> Self {
        let comparison = Arc::new(inspect::compare(&before, &after, &options));
        Self {
            before,
            after,
            options,
            comparison,
        }
    }
}

/// A wish about the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum CompareCommand {
    /// The group before.
    Before(usize),
    /// The group after.
    After(usize),
    /// How captures are laid over each other.
    Align(AlignBy),
    /// The field of the time by hand changed.
    EditShift(String),
    /// The field of the time by hand was left.
    EnterShift,
    /// The run after was dragged: the same happens this much later in it, in seconds.
    Shift(f64),
    /// Were the same instruments used?
    SameInstruments(bool),
    /// Draw another pair of captures.
    Pair(usize),
}

/// Applies a wish.
pub fn apply(state: &mut AppState, command: CompareCommand) {
    let form = &mut state.compare;
    match command {
        CompareCommand::Before(group) => form.before = group,
        CompareCommand::After(group) => form.after = group,
        CompareCommand::Align(align) => {
            form.align = align;
            form.wrong = None;
        }
        CompareCommand::EditShift(text) => form.shift = text,
        CompareCommand::EnterShift => match typed::value(&form.shift, Kind::Second) {
            Ok(shift_s) => {
                form.align = AlignBy::Hand(shift_s);
                form.wrong = None;
            }
            Err(why) => form.wrong = Some(why),
        },
        CompareCommand::Shift(shift_s) => {
            form.align = AlignBy::Hand(shift_s);
            form.shift = engineering(shift_s, Unit::Second, 6);
            form.wrong = None;
        }
        CompareCommand::SameInstruments(same) => form.same_instruments = same,
        CompareCommand::Pair(pair) => form.pair = pair,
    }
}

/// Both inspections that the form names, where they are there.
pub fn sides(state: &AppState) -> Option<(Arc<Inspection>, Arc<Inspection>)> {
    let of = |group: usize| state.inspections.get(group).cloned().flatten();
    Some((of(state.compare.before)?, of(state.compare.after)?))
}

/// The comparison, where it fits what is chosen now.
pub fn found(state: &AppState) -> Option<Arc<Comparison>> {
    let made = state.compared.as_ref()?;
    let (before, after) = sides(state)?;
    let fits = Arc::ptr_eq(&made.before, &before)
        && Arc::ptr_eq(&made.after, &after)
        && made.options == state.compare.options();
    fits.then(|| Arc::clone(&made.comparison))
}
