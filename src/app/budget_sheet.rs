//! The sheet of the start-up budget: its input, and what came of it with all that was told of the unit.

use std::sync::Arc;

use super::state::AppState;
use crate::data::Options;
use crate::data::budget::{Budget, BudgetRequest, Feed};
use crate::data::typed::{self, MarkedPart};
use crate::inspect::{self, Library};

/// What was chosen on the sheet; parts and readings are those of the run.
#[derive(Debug, Clone, Default)]
pub struct BudgetForm {
    /// The supply's own input as typed, `230ac`.
    pub input: String,
    /// What that means.
    pub feed: Option<Feed>,
    /// Why it means nothing.
    pub wrong: Option<String>,
    /// What was computed last, with what it was computed from.
    pub made: Option<Made>,
}

/// A wish about the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum BudgetCommand {
    /// The field of the input changed.
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
    let form = &mut state.budget;
    match command {
        BudgetCommand::EditInput(text) => {
            form.feed = typed::feed(&text).ok();
            form.wrong = None;
            form.input = text;
        }
        BudgetCommand::EnterInput => {
            let given = !form.input.trim().is_empty();
            form.wrong = given.then(|| typed::feed(&form.input).err()).flatten();
        }
    }
}

/// What is asked of the budget now: what was told of the run shown, tolerances included.
pub fn asked(state: &AppState) -> Asked {
    let none = Options::default();
    let options = state.group().map_or(&none, |group| &group.options);
    let kind = |name: &str| typed::PARTS.iter().find(|p| p.0 == name).map(|p| p.1);
    let mut request = BudgetRequest {
        feed: state.budget.feed,
        readings: options.readings.clone(),
        meter: options.meter,
        ..BudgetRequest::default()
    };
    for (name, value) in &options.parts {
        let mark = mark(options, name).cloned();
        let plain = || Some(MarkedPart::plain(kind(name)?, *value));
        if let Some(part) = mark.or_else(plain) {
            request.marks.insert(name.clone(), part);
        }
    }
    for (name, ..) in typed::MORE_PARTS {
        if let Some(mark) = options.marks.get(name) {
            request.marks.insert(name.to_owned(), mark.clone());
        }
    }
    Asked {
        request,
        marking: options.controller.clone(),
        not_trusted: options.marking_not_trusted,
    }
}

/// The mark of a part, unless its value was changed since.
pub fn mark<'a>(options: &'a Options, name: &str) -> Option<&'a MarkedPart> {
    let mark = options.marks.get(name)?;
    let value = *options.parts.get(name)?;
    ((mark.value() - value).abs() <= 1e-9 * value.abs()).then_some(mark)
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
