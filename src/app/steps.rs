//! Voltage steps typed in the window: the bench supply set by hand, and whether the controller works.

use super::commands::Effect;
use super::state::AppState;
use crate::data::{Direction, VoltageStep};
use crate::inspect;

/// The form as it stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StepsForm {
    /// Voltage as typed.
    pub volts: String,
    /// Supply current as typed; empty where it was not read.
    pub current: String,
    /// From which side the voltage comes; stays for the next reading.
    pub going: Option<Direction>,
    /// Path of a file of readings as typed.
    pub path: String,
    /// Why a reading, or a file, was not taken.
    pub wrong: Vec<String>,
    /// Is a file being read?
    pub reading: bool,
}

/// A wish about the form.
#[derive(Debug, Clone, PartialEq)]
pub enum StepsCommand {
    /// The field of the voltage changed.
    EditVolts(String),
    /// The field of the current changed.
    EditCurrent(String),
    /// From which side the voltage comes.
    Going(Option<Direction>),
    /// At the voltage in the field it works, or is dead.
    Add(bool),
    /// Take a typed reading back, by its place among the readings told.
    Remove(usize),
    /// The path field changed.
    EditPath(String),
    /// Read the file that the path field names.
    Read,
}

/// Applies a wish.
pub fn apply(state: &mut AppState, command: StepsCommand) -> Option<Effect> {
    let form = &mut state.steps;
    match command {
        StepsCommand::EditVolts(text) => {
            form.volts = text;
            form.wrong.clear();
        }
        StepsCommand::EditCurrent(text) => {
            form.current = text;
            form.wrong.clear();
        }
        StepsCommand::Going(going) => form.going = going,
        StepsCommand::EditPath(text) => form.path = text,
        StepsCommand::Add(works) => match step(form, works) {
            Ok(step) => {
                form.volts.clear();
                form.current.clear();
                form.wrong.clear();
                return add(state, state.group, vec![step]);
            }
            Err(why) => form.wrong = vec![why],
        },
        StepsCommand::Remove(index) => {
            let group = state.group;
            let steps = &mut state.case.groups.get_mut(group)?.options.steps;
            if index < steps.len() {
                steps.remove(index);
                return Some(Effect::Examine(group));
            }
        }
        StepsCommand::Read => {
            let path = form.path.trim().trim_matches('"').to_owned();
            if path.is_empty() {
                form.wrong =
                    vec!["Name a text file with one reading a line, like 8.8 V works up.".into()];
                return None;
            }
            form.reading = true;
            form.wrong.clear();
            return Some(Effect::ReadSteps(path.into(), state.group));
        }
    }
    None
}

/// What stands in the fields, as a reading.
fn step(form: &StepsForm, works: bool) -> Result<VoltageStep, String> {
    let current = form.current.trim();
    if current.ends_with(|c: char| c.is_ascii_digit()) {
        return Err(format!(
            "Which unit has the current {current}? Write it like 11.5mA, or leave the field empty."
        ));
    }
    if form.volts.trim().is_empty() {
        return Err("Type the voltage on VCC first, like 8.53V.".to_owned());
    }
    let state = if works { "works" } else { "dead" };
    let going = form.going.map_or("", Direction::id);
    inspect::read_step(&format!("{} {state} {going} {current}", form.volts.trim()))
}

fn add(state: &mut AppState, group: usize, steps: Vec<VoltageStep>) -> Option<Effect> {
    let options = &mut state.case.groups.get_mut(group)?.options;
    options.steps.extend(steps);
    Some(Effect::Examine(group))
}

/// What reading a file of steps gave: its readings join those told, or the form says what is wrong.
pub fn take(
    state: &mut AppState,
    group: usize,
    read: Result<Vec<VoltageStep>, Vec<String>>,
) -> Option<Effect> {
    state.steps.reading = false;
    match read {
        Ok(steps) => {
            state.steps.path.clear();
            add(state, group, steps)
        }
        Err(wrong) => {
            state.steps.wrong = wrong;
            None
        }
    }
}
