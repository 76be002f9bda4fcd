//! The sheet of the start-up budget, as finished text.

use super::budget_curve::{self, CurveModel};
use super::known::{self, FieldModel};
use crate::app::budget_sheet;
use crate::app::job::fields::{self, JobField};
use crate::app::state::AppState;
use crate::data::budget::{Budget, BudgetInput, PartLoad, Sensitivity, Starts};
use crate::data::text::{engineering, trimmed};
use crate::data::{Bounded, FromRamp, PartCheck, Timing, Unit, Verdict};

mod rows;

/// A result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ResultModel {
    /// What it is.
    pub title: &'static str,
    /// Nominal value, or a dash.
    pub value: String,
    /// Least and most over every combination; empty where they are the same.
    pub range: String,
    /// What it rests on, or why it can't be had.
    pub because: String,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BudgetModel {
    /// The input as typed.
    pub input: String,
    /// Why it means nothing.
    pub wrong: Option<String>,
    /// Title and fields of each row; the input goes before those of the first.
    pub rows: Vec<(&'static str, Vec<FieldModel>)>,
    /// Which controller it is computed with.
    pub controller: String,
    /// Does it start?
    pub answer: String,
    /// Why not, and what may happen at worst.
    pub because: Vec<String>,
    /// What the start-up parts allow.
    pub results: Vec<ResultModel>,
    /// The expected VCC.
    pub curve: Option<CurveModel>,
    /// Why it is not drawn.
    pub no_curve: String,
    /// What each resistor of the start path bears: words, and is it too much?
    pub loads: Vec<(String, bool)>,
    /// How bad each may be.
    pub sensitivity: Vec<String>,
    /// The oscillator.
    pub timing: Vec<ResultModel>,
    /// By which relation, and what to know about it.
    pub timing_notes: Vec<String>,
    /// What a ramp that was read gives away.
    pub ramp: Vec<String>,
    /// Parts that were read, against their marks.
    pub checked: Vec<String>,
    /// What all was computed from, each with where it came from.
    pub inputs: Vec<String>,
    /// What else to know.
    pub remarks: Vec<String>,
}

const START_UP: [&str; 8] = [
    "start-resistor",
    "vcc-capacitor",
    "vref-capacitor",
    "zener",
    "leakage",
    "take-over-time",
    "bulk-capacitor",
    "bulk-power",
];

const OSCILLATOR: [&str; 3] = ["rt", "ct", "gate-charge"];

const RAMP: [&str; 5] = [
    "ramp-rise",
    "ramp-fall",
    "ramp-peak",
    "ramp-valley",
    "ramp-asymptote",
];

const READ: [&str; 5] = ["bulk", "standby-current", "run-current", "vcc", "vref"];

const PARTS_READ: [&str; 6] = [
    "start-resistor",
    "vcc-capacitor",
    "vref-capacitor",
    "rt",
    "ct",
    "zener",
];

/// The sheet of a state.
pub fn budget(state: &AppState) -> BudgetModel {
    let options = state.group().map(|group| &group.options);
    let marking = options.and_then(|o| o.controller.clone());
    let wide = options.is_some_and(|o| o.marking_not_trusted);
    let mut model = BudgetModel {
        input: fields::text(state, JobField::Input),
        wrong: state
            .job
            .drafts
            .wrong_of(JobField::Input)
            .map(str::to_owned),
        rows: rows_of_fields(state),
        controller: match (marking, wide) {
            (Some(marking), false) => format!("With the thresholds of {marking}."),
            (Some(marking), true) => {
                format!("Marking {marking} not trusted: with the widest limits of its class.")
            }
            (None, _) => {
                "No controller told: no thresholds. Its sheet takes the marking.".to_owned()
            }
        },
        ..BudgetModel::default()
    };
    match budget_sheet::made(state).map(|made| &made.result) {
        None => model.answer = "Computing…".to_owned(),
        Some(Err(why)) => model.answer = format!("Nothing can be computed: {why}"),
        Some(Ok(found)) => fill(&mut model, found),
    }
    model
}

fn rows_of_fields(state: &AppState) -> Vec<(&'static str, Vec<FieldModel>)> {
    let mut oscillator = known::parts(state, &OSCILLATOR);
    oscillator.extend(known::readings(state, &RAMP));
    let mut read = known::readings(state, &READ);
    read.push(known::meter(state));
    vec![
        ("Start-up", known::parts(state, &START_UP)),
        ("Oscillator and gate", oscillator),
        ("Read by hand", read),
        (
            "Parts out of the board, read with a meter",
            known::readings(state, &PARTS_READ),
        ),
    ]
}

fn fill(model: &mut BudgetModel, found: &Budget) {
    model.answer = answer(found);
    model.because = [
        found
            .worst_because
            .as_ref()
            .map(|why| format!("At worst: {why}.")),
        found
            .falls_back_because
            .as_ref()
            .map(|why| format!("Then it falls back and tries again: {why}.")),
    ]
    .into_iter()
    .flatten()
    .collect();
    model.results = rows::results(found);
    model.curve = found.curve.as_ref().and_then(budget_curve::curve);
    model.no_curve = reason(found, "curve");
    model.loads = found.loads.iter().map(load).collect();
    model.sensitivity = found.sensitivity.iter().map(sensitivity).collect();
    model.timing = rows::timing(&found.timing);
    model.timing_notes = timing_notes(&found.timing);
    model.ramp = found.from_ramp.as_ref().map(ramp).unwrap_or_default();
    model.checked = found.checked.iter().map(checked).collect();
    model.inputs = found.inputs.iter().map(input).collect();
    model.remarks.clone_from(&found.remarks);
    let text = "A computed start says nothing about danger: mains and charged capacitors can kill. Local rules and licensed practice come first.";
    model.remarks.push(text.to_owned());
}

fn answer(budget: &Budget) -> String {
    let time = budget.time_to_start_s;
    let time = time.map(|t| engineering(t.typ, Unit::Second, 3));
    match (budget.starts, time, &budget.never_because) {
        (Starts::Never, _, Some(why)) => format!("It never starts, because {why}."),
        (Starts::Always, Some(time), _) => {
            format!("It starts after {time}, with every combination of tolerances.")
        }
        (Starts::NotAtWorst, Some(time), _) => {
            format!(
                "It starts after {time} with nominal values, but not with every combination of tolerances."
            )
        }
        (Starts::Always, None, _) => "It starts; when, can't be said.".to_owned(),
        (Starts::NotAtWorst, None, _) => {
            "It starts with nominal values, but not with every combination; when, can't be said."
                .to_owned()
        }
        _ => "Whether it starts can't be said; what is missing stands at the results.".to_owned(),
    }
}

/// Why a result is missing, in the window's words.
fn reason(budget: &Budget, name: &str) -> String {
    let known = budget.why_not.iter().find(|(what, _)| *what == name);
    known.map_or_else(String::new, |(_, why)| in_window(why))
}

/// A reason without the option of the terminal that it ends with.
fn in_window(why: &str) -> String {
    why.split(": --").next().unwrap_or(why).to_owned()
}

fn number(value: f64, unit: Unit) -> String {
    match value.is_finite() {
        true => trimmed(&engineering(value, unit, 3)),
        false => "without end".to_owned(),
    }
}

fn range(value: Bounded, unit: Unit) -> String {
    match value.high > value.low {
        true => format!("{} … {}", number(value.low, unit), number(value.high, unit)),
        false => String::new(),
    }
}

/// Value and range in one text.
fn both(value: Bounded, unit: Unit) -> String {
    let typ = number(value.typ, unit);
    match range(value, unit) {
        range if range.is_empty() => typ,
        range => format!("{typ} ({range})"),
    }
}

fn load(load: &PartLoad) -> (String, bool) {
    let words = format!(
        "{}, {}: {} running, at most {}; {} across it, at most {}; {}",
        load.part,
        number(load.ohm.typ, Unit::Ohm),
        number(load.watts.typ, Unit::Watt),
        number(load.watts.high, Unit::Watt),
        number(load.volts.typ, Unit::Volt),
        number(load.volts.high, Unit::Volt),
        load.word
    );
    (words, load.overstressed)
}

fn sensitivity(row: &Sensitivity) -> String {
    let limit = |v: f64| match v {
        v if v.is_finite() => number(v, row.unit),
        _ if row.above => "any".to_owned(),
        _ => "never enough".to_owned(),
    };
    let now = row
        .now
        .map(|now| format!("now {}, ", number(now, row.unit)));
    let way = if row.above { "up to" } else { "down to" };
    format!(
        "{}: {}starts {way} {}; with the others at their worst {way} {}",
        row.title,
        now.unwrap_or_default(),
        limit(row.limit),
        limit(row.worst_limit)
    )
}

fn timing_notes(timing: &Timing) -> Vec<String> {
    let mut all = Vec::new();
    if !timing.rule.is_empty() {
        let (source, status) = (&timing.source, timing.status);
        let word = match status.from_memory() {
            true => format!("{}: provisional", status.id()),
            false => status.id().to_owned(),
        };
        all.push(format!("By {} ({source}; {word}).", timing.rule));
    }
    let missing = timing.why_not.iter();
    all.extend(
        missing.map(|(what, why)| format!("No {}: {}.", what.replace('_', " "), in_window(why))),
    );
    all.extend(timing.remarks.iter().cloned());
    all
}

fn ramp(found: &FromRamp) -> Vec<String> {
    let leak = found.leak_ohm.map(|ohm| number(ohm, Unit::Ohm));
    let mut all = vec![format!(
        "RT × CT {}, discharge × RT {}{}",
        number(found.rt_ct_s, Unit::Second),
        number(found.discharge_drop_v, Unit::Volt),
        leak.map_or_else(String::new, |leak| format!(", leak {leak}"))
    )];
    all.push(sentence(&found.because));
    all.extend(found.fixes.iter().map(|fix| sentence(fix)));
    all
}

/// With a capital letter and a full stop.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

fn checked((name, check): &(String, PartCheck)) -> String {
    let word = match check.verdict {
        Verdict::InLimits => "in limits",
        Verdict::Outside => "outside",
        _ => "can't be said",
    };
    let settle = check.settle.as_ref();
    let settle = settle.map_or_else(String::new, |s| format!("; {s} would settle it"));
    format!("{name}: {word}, {}{settle}", check.because)
}

fn input(input: &BudgetInput) -> String {
    format!(
        "{}: {}; {}",
        input.title,
        both(input.value, input.unit),
        input.from
    )
}
