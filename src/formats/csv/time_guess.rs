//! Which columns look like time: by name, by unit, or by their numbers.

use super::dialect;
use super::draft::{self, Content, Draft, is_time};
use super::preamble::interval;
use super::time_axis::Known;
use super::time_unit::{even_step, time_unit_between};
use crate::data::{Answer, Unit};
use crate::formats::text::number::Number;
use crate::formats::text::unit;
use crate::formats::{FormatError, layout};

/// Columns that look like time, columns that only count, and why.
pub(super) struct Guess {
    /// Columns that are time.
    pub columns: Vec<usize>,
    /// Columns that only count.
    pub counts: Vec<usize>,
    /// Why.
    pub why: String,
}

impl Guess {
    fn new(columns: Vec<usize>, counts: Vec<usize>, why: impl Into<String>) -> Self {
        Self {
            columns,
            counts,
            why: why.into(),
        }
    }
}

/// The time columns that the user named, with `time` or `column.N`.
pub(super) fn told_columns(known: &Known<'_>) -> Result<Option<Guess>, FormatError> {
    let told = |index: usize| layout::given_column(known.options, "column", index);
    let of = |word: &str| -> Vec<usize> {
        let columns = 0..known.drafts.len();
        columns.filter(|index| told(*index) == Some(word)).collect()
    };
    let (mut columns, mut counts) = (of("time"), of("count"));
    if let Some(value) = layout::given(known.options, "time") {
        if value == "none" {
            let is_count = |draft: &Draft| unit::is_index_word(&draft.name);
            let numbers = 0..known.drafts.len();
            counts.extend(numbers.filter(|i| known.drafts.get(*i).is_some_and(is_count)));
            return Ok(Some(Guess::new(
                Vec::new(),
                counts,
                "no time column, as told",
            )));
        }
        columns.push(named_column(known, value)?);
        columns.dedup();
    }
    Ok((!columns.is_empty()).then(|| Guess::new(columns, counts, "as told")))
}

fn named_column(known: &Known<'_>, value: &str) -> Result<usize, FormatError> {
    let by_number = value.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    let named: Vec<usize> = (0..known.drafts.len())
        .filter(|index| {
            let draft = known.drafts.get(*index);
            draft.is_some_and(|d| d.name == value || d.full_name == value)
        })
        .collect();
    match (by_number, named.as_slice()) {
        (Some(index), _) if known.drafts.get(index).is_some_and(Draft::is_numeric) => Ok(index),
        (None, [index]) => Ok(*index),
        _ => Err(layout::bad_value(&known.head.file, "time", value)),
    }
}

/// The columns that are time by name, by unit, or by their numbers.
pub(super) fn guess(known: &Known<'_>) -> Result<Guess, FormatError> {
    let free = |index: &usize| {
        let told = layout::given_column(known.options, "column", *index);
        known.drafts.get(*index).is_some_and(Draft::is_numeric) && told.is_none()
    };
    let numeric: Vec<usize> = (0..known.drafts.len()).filter(free).collect();
    refuse_frequency(known, &numeric)?;
    let draft = |index: &usize| known.drafts.get(*index);
    let counts: Vec<usize> = numeric
        .iter()
        .copied()
        .filter(|index| draft(index).is_some_and(|d| unit::is_index_word(&d.name)))
        .collect();
    let counts: Vec<usize> = counts
        .into_iter()
        .chain(unnamed_count(known, &numeric))
        .collect();
    let candidates: Vec<usize> = numeric
        .iter()
        .copied()
        .filter(|index| draft(index).is_some_and(is_time) && !counts.contains(index))
        .collect();
    match candidates.as_slice() {
        [] => {}
        [_] => return Ok(Guess::new(candidates, counts, "its name or unit says so")),
        _ => return several(known, candidates, counts, &numeric),
    }
    if let Some(index) = numeric.iter().find(|index| {
        draft(index).is_some_and(|d| {
            let word = d.full_name.split(['(', '[']).next().unwrap_or("");
            d.unknown.is_some() && unit::is_time_word(word)
        })
    }) {
        return Err(FormatError::ask(
            &known.head.file,
            format!(
                "the unit of `{}` is not known; which is it?",
                dialect::shortened(draft(index).map_or("", |d| &d.full_name))
            ),
            vec![Answer::open(format!("unit.{}", index + 1))],
        ));
    }
    by_numbers(known, &numeric, &counts)
}

/// The first column where it counts and has no name, beside columns with names.
fn unnamed_count(known: &Known<'_>, numeric: &[usize]) -> Option<usize> {
    let first = numeric.first().filter(|index| **index == 0)?;
    let unnamed = known.drafts.get(*first)?.full_name.is_empty();
    let others = known.drafts.iter().skip(1).any(|d| !d.full_name.is_empty());
    let numbers = draft::numbers(known.head, known.dialect, *first)?;
    (unnamed && others && numbers.len() > 2 && is_count(&numbers)).then_some(*first)
}

fn refuse_frequency(known: &Known<'_>, numeric: &[usize]) -> Result<(), FormatError> {
    let Some(draft) = numeric.first().and_then(|index| known.drafts.get(*index)) else {
        return Ok(());
    };
    let unit = draft.unit.map(|scaled| scaled.unit);
    let named = unit.is_none() && unit::is_frequency_word(&draft.name);
    let told = layout::given(known.options, "interval").is_some();
    if told || (unit != Some(Unit::Hertz) && !named) {
        return Ok(());
    }
    Err(FormatError::FrequencyAxis {
        file: known.head.file.clone(),
        line: known.header.names_line.unwrap_or(1),
        name: dialect::shortened(&draft.full_name),
    })
}

/// Several columns that look like time: one before each group of channels, or a question.
fn several(
    known: &Known<'_>,
    candidates: Vec<usize>,
    counts: Vec<usize>,
    numeric: &[usize],
) -> Result<Guess, FormatError> {
    let has_channel = |pair: (&usize, Option<&usize>)| {
        let end = pair.1.copied().unwrap_or(usize::MAX);
        numeric
            .iter()
            .any(|index| index > pair.0 && *index < end && !counts.contains(index))
    };
    let next = candidates.iter().skip(1).map(Some).chain([None]);
    let first = numeric.iter().find(|index| !counts.contains(index));
    let is_clock = |index: &usize| {
        known
            .drafts
            .get(*index)
            .is_some_and(|d| d.content == Content::Clock)
    };
    if candidates.first() == first && candidates.iter().zip(next).all(has_channel) {
        return Ok(Guess::new(
            candidates,
            counts,
            "each is time by its name or unit, before its channels",
        ));
    }
    // a clock and seconds beside it say the same: the seconds are finer
    let plain: Vec<usize> = candidates
        .iter()
        .copied()
        .filter(|i| !is_clock(i))
        .collect();
    if let [one] = plain.as_slice() {
        let clocks = candidates.iter().copied().filter(is_clock);
        let counts = counts.into_iter().chain(clocks).collect();
        return Ok(Guess::new(vec![*one], counts, "seconds beside a clock"));
    }
    let all: Vec<String> = candidates
        .iter()
        .map(|index| (index + 1).to_string())
        .collect();
    Err(FormatError::ask(
        &known.head.file,
        format!(
            "columns {} all look like time; which one is it?",
            all.join(" and ")
        ),
        all.iter()
            .map(|number| Answer::of("time", number.as_str()))
            .collect(),
    ))
}

/// Where no name tells: the first column that rises in even steps.
fn by_numbers(
    known: &Known<'_>,
    numeric: &[usize],
    counts: &[usize],
) -> Result<Guess, FormatError> {
    let told = interval(known.preamble, &known.head.file)?;
    let nothing = |why: String| Guess::new(Vec::new(), counts.to_vec(), why);
    if !counts.is_empty() && told.is_some() {
        return Ok(nothing("a column counts the samples".to_owned()));
    }
    if texts_differ(known).is_some() {
        return Ok(nothing("no column holds time".to_owned()));
    }
    for index in numeric
        .iter()
        .copied()
        .filter(|index| !counts.contains(index))
    {
        let numbers = draft::numbers(known.head, known.dialect, index);
        let Some(numbers) = numbers.filter(|n| n.len() >= 3) else {
            continue;
        };
        let Some(step) = even_step(&numbers) else {
            continue;
        };
        if numbers.iter().all(|n| n.exponent == 0) && is_count(&numbers) {
            let why = format!("column {} only counts the samples", index + 1);
            let counts = counts.iter().copied().chain([index]).collect();
            return Ok(Guess::new(Vec::new(), counts, why));
        }
        if told.is_some_and(|said| time_unit_between(said.si(), step).is_none()) {
            continue;
        }
        let why = "the first column that rises in even steps";
        return Ok(Guess::new(vec![index], counts.to_vec(), why));
    }
    Ok(nothing("no column holds time".to_owned()))
}

fn is_count(numbers: &[Number]) -> bool {
    let pairs = numbers.iter().zip(numbers.iter().skip(1));
    let starts = numbers.first().is_some_and(|n| n.mantissa <= 1);
    starts && pairs.into_iter().all(|(a, b)| b.mantissa == a.mantissa + 1)
}

/// A column of texts that differ from row to row.
pub(super) fn texts_differ(known: &Known<'_>) -> Option<usize> {
    let differs = |index: &&usize| {
        let texts = known.dialect.column(known.head, **index);
        texts.windows(2).any(|pair| pair.first() != pair.last())
    };
    known.dialect.table.texts.iter().find(differs).copied()
}
