//! The sheet of the start-up budget: its input, and what came of it with all that was told of the unit.

use std::sync::Arc;

use super::job::fields::{self, JobField};
use super::state::AppState;
use crate::data::Options;
use crate::data::budget::{Budget, BudgetRequest};
use crate::data::typed::Input;
use crate::inspect::{self, Library};

/// The sheet; parts and readings are those of the run, the input that of the job.
#[derive(Debug, Clone, Default)]
pub struct BudgetForm {
    /// What was computed last, with what it was computed from.
    pub made: Option<Made>,
}

/// A wish about the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum BudgetCommand {
    /// The field of the input, which is that of the job, changed.
    EditInput(String),
    /// It was left.
    EnterInput,
}

/// All that the budget rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Input, parts, readings, meter.
    pub request: BudgetRequest,
    /// Marking of the controller.
    pub marking: Option<String>,
    /// May it be wrong?
    pub not_trusted: bool,
}

/// A budget with what it was made of, so that one that no longer fits is known.
#[derive(Debug, Clone)]
pub struct Made {
    /// What it was made of.
    pub asked: Asked,
    /// The budget, or why there is none.
    pub result: Result<Arc<Budget>, String>,
}

/// Applies a wish.
pub fn apply(state: &mut AppState, command: BudgetCommand) {
    match command {
        BudgetCommand::EditInput(text) => fields::edit(state, JobField::Input, text),
        BudgetCommand::EnterInput => fields::enter(state, JobField::Input),
    }
}

/// What is asked of the budget now: what was told of the run shown, tolerances included.
pub fn asked(state: &AppState) -> Asked {
    let none = Options::default();
    let options = state.group().map_or(&none, |group| &group.options);
    let feed = state.job.job().input.map(Input::feed);
    Asked {
        request: BudgetRequest::of(options, feed),
        marking: options.controller.clone(),
        not_trusted: options.marking_not_trusted,
    }
}

/// What was computed of all that is told now; `None` where it was not computed yet.
pub fn made(state: &AppState) -> Option<&Made> {
    let made = state.budget.made.as_ref()?;
    (made.asked == asked(state)).then_some(made)
}

/// Computes the budget, where anything that it rests on changed.
pub fn refresh(state: &mut AppState, library: &Library) {
    if made(state).is_some() {
        return;
    }
    let asked = asked(state);
    let result = match (&asked.marking, asked.not_trusted) {
        (Some(marking), true) => inspect::budget_of_class(&asked.request, marking, library),
        (marking, _) => inspect::budget(&asked.request, marking.as_deref(), library),
    };
    let told = library.told().to_vec();
    let result = result.map(|mut budget| {
        budget.remarks.extend(told);
        Arc::new(budget)
    });
    state.budget.made = Some(Made {
        asked,
        result: result.map_err(|error| error.to_string()),
    });
}
