//! Which column is time, or what stands in for it.

use super::columns::Draft;
use super::dialect::{self, Dialect};
use super::head::Head;
use super::plan::TimePlan;
use super::time_fit::{Printed, TimeFit};
use crate::data::{Answer, Decision, Unit};
use crate::formats::text::number::Number;
use crate::formats::text::{cell, number, unit};
use crate::formats::{FormatError, ReadOptions, layout};

/// Chooses where time comes from; also the columns that are left out for it.
pub(super) fn choose(
    head: &Head,
    dialect: &Dialect,
    drafts: &[Draft],
    options: &ReadOptions,
    decisions: &mut Vec<Decision>,
    names: Option<u64>,
) -> Result<(TimePlan, Vec<usize>), FormatError> {
    let interval = given_interval(&head.file, options)?;
    let guess = told(&head.file, drafts, options)?
        .map_or_else(|| guess(head, dialect, drafts, names), Ok)?;
    let told_column = layout::given(options, "time").is_some_and(|v| v != "none");
    match (guess.column, interval) {
        (Some(_), Some(_)) if told_column => Err(FormatError::BadValue {
            file: head.file.clone(),
            key: "interval".to_owned(),
            value: layout::given(options, "interval").unwrap_or("").to_owned(),
            expected: "nothing when a time column is named: leave one of the two out".to_owned(),
        }),
        (Some(index), None) => {
            decide(decisions, "time", (index + 1).to_string(), &guess.why);
            let time = from_column(head, dialect, drafts, index)?;
            Ok((time, guess.counter.into_iter().collect()))
        }
        (column, Some(step_s)) => {
            decide(decisions, "time", "none".to_owned(), "an interval is given");
            decide(decisions, "interval", format!("{step_s:e}"), "as told");
            let skipped = [column, guess.counter].into_iter().flatten().collect();
            Ok((TimePlan::Interval(step_s), skipped))
        }
        (None, None) => Err(FormatError::ask(
            &head.file,
            format!(
                "{}; what is the time from one sample to the next?",
                guess.why
            ),
            vec![Answer::open("interval")],
        )),
    }
}

fn decide(decisions: &mut Vec<Decision>, what: &str, value: String, why: &str) {
    decisions.push(Decision {
        what: what.to_owned(),
        value,
        why: why.to_owned(),
    });
}

/// Which column is time, which only counts, and why.
struct Guess {
    column: Option<usize>,
    counter: Option<usize>,
    why: String,
}

impl Guess {
    fn new(column: Option<usize>, counter: Option<usize>, why: impl Into<String>) -> Self {
        Self {
            column,
            counter,
            why: why.into(),
        }
    }
}

fn given_interval(file: &str, options: &ReadOptions) -> Result<Option<f64>, FormatError> {
    let Some(text) = layout::given(options, "interval") else {
        return Ok(None);
    };
    let wrong = || layout::bad_value(file, "interval", text);
    let (value, rest) = number::scan(text.as_bytes(), b'.').ok_or_else(wrong)?;
    let factor = match std::str::from_utf8(rest).unwrap_or("?").trim() {
        "" => 1.0,
        name => match unit::parse(name) {
            Some(scaled) if scaled.unit == Unit::Second => scaled.factor,
            _ => return Err(wrong()),
        },
    };
    let step_s = value.value * factor;
    if step_s.is_finite() && step_s > 0.0 {
        Ok(Some(step_s))
    } else {
        Err(wrong())
    }
}

fn told(file: &str, drafts: &[Draft], options: &ReadOptions) -> Result<Option<Guess>, FormatError> {
    let Some(value) = layout::given(options, "time") else {
        return Ok(None);
    };
    if value == "none" {
        let counter = drafts
            .iter()
            .position(|draft| unit::is_index_word(&draft.name));
        return Ok(Some(Guess::new(None, counter, "no time column, as told")));
    }
    let by_number = value.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    let named: Vec<usize> = (0..drafts.len())
        .filter(|index| {
            drafts
                .get(*index)
                .is_some_and(|d| d.name == value || d.full_name == value)
        })
        .collect();
    let index = match (by_number, named.as_slice()) {
        (Some(index), _) if index < drafts.len() => index,
        (None, [index]) => *index,
        _ => return Err(layout::bad_value(file, "time", value)),
    };
    Ok(Some(Guess::new(Some(index), None, "as told")))
}

/// The column that is time by name, by unit, or by its numbers.
fn guess(
    head: &Head,
    dialect: &Dialect,
    drafts: &[Draft],
    names: Option<u64>,
) -> Result<Guess, FormatError> {
    let is_time = |draft: &Draft| {
        let unit = draft.unit.map(|scaled| scaled.unit);
        unit == Some(Unit::Second)
            || (unit.is_none() && unit::is_time_word(&draft.name) && draft.unknown.is_none())
    };
    if let Some(draft) = drafts.first() {
        let hertz = draft.unit.is_some_and(|scaled| scaled.unit == Unit::Hertz);
        if hertz || unit::is_frequency_word(&draft.name) {
            return Err(FormatError::FrequencyAxis {
                file: head.file.clone(),
                line: names.unwrap_or(dialect.first as u64 + 1),
                name: dialect::shortened(&draft.full_name),
            });
        }
    }
    let counter = drafts
        .iter()
        .position(|draft| unit::is_index_word(&draft.name));
    let candidates: Vec<usize> = (0..drafts.len())
        .filter(|index| drafts.get(*index).is_some_and(is_time))
        .collect();
    match candidates.as_slice() {
        [index] => {
            return Ok(Guess::new(
                Some(*index),
                counter,
                "its name or unit says so",
            ));
        }
        [first, second, ..] => {
            return Err(FormatError::ask(
                &head.file,
                format!(
                    "columns {} and {} both look like time; which one is it?",
                    first + 1,
                    second + 1
                ),
                vec![
                    Answer::of("time", (first + 1).to_string()),
                    Answer::of("time", (second + 1).to_string()),
                ],
            ));
        }
        [] => {}
    }
    if let Some(draft) = drafts.iter().find(|d| {
        d.unknown.is_some()
            && unit::is_time_word(d.full_name.split(['(', '[']).next().unwrap_or(""))
    }) {
        return Err(FormatError::ask(
            &head.file,
            format!(
                "the unit of `{}` is not known; which is it?",
                dialect::shortened(&draft.full_name)
            ),
            vec![Answer::open("unit.1")],
        ));
    }
    Ok(by_numbers(head, dialect, drafts.len(), counter))
}

/// Where no name tells: the first column that rises in even steps.
fn by_numbers(head: &Head, dialect: &Dialect, count: usize, counter: Option<usize>) -> Guess {
    for index in (0..count).filter(|index| Some(*index) != counter) {
        let numbers = column_numbers(head, dialect, index);
        let Some(numbers) = numbers.filter(|n| n.len() >= 3) else {
            continue;
        };
        if !rises_evenly(&numbers) {
            continue;
        }
        if numbers.iter().all(|n| n.exponent == 0) && is_count(&numbers) {
            let why = format!("column {} only counts the samples", index + 1);
            return Guess::new(None, Some(index), why);
        }
        let why = "the first column that rises in even steps";
        return Guess::new(Some(index), counter, why);
    }
    Guess::new(None, counter, "no column holds time")
}

fn is_count(numbers: &[Number]) -> bool {
    let pairs = numbers.iter().zip(numbers.iter().skip(1));
    let starts = numbers.first().is_some_and(|n| n.mantissa <= 1);
    starts && pairs.into_iter().all(|(a, b)| b.mantissa == a.mantissa + 1)
}

fn rises_evenly(numbers: &[Number]) -> bool {
    let printed = Printed::of(numbers);
    let mut fit = TimeFit::new(printed);
    numbers.iter().all(|n| fit.push(n.value).is_ok()) && fit.is_even()
}

/// The numbers of a column in the head's rows; `None` when one is not there.
fn column_numbers(head: &Head, dialect: &Dialect, index: usize) -> Option<Vec<Number>> {
    dialect
        .rows
        .iter()
        .map(|row| {
            let line = head.lines.get(*row)?;
            let cells = cell::split(&line.text, dialect.separator);
            number::whole(cell::bare(cells.get(index)?), dialect.decimal)
        })
        .collect()
}

/// Time from column `index`: how it is printed, and whether the head's rows are even.
fn from_column(
    head: &Head,
    dialect: &Dialect,
    drafts: &[Draft],
    index: usize,
) -> Result<TimePlan, FormatError> {
    let unit = drafts.get(index).and_then(|draft| draft.unit);
    if let Some(unit) = unit
        && unit.unit != Unit::Second
    {
        return Err(layout::bad_value(
            &head.file,
            &format!("unit.{}", index + 1),
            unit.unit.symbol(),
        ));
    }
    let numbers = column_numbers(head, dialect, index).unwrap_or_default();
    Ok(TimePlan::Column {
        index,
        printed: Printed::of(&numbers),
        even: numbers.is_empty() || rises_evenly(&numbers),
    })
}
