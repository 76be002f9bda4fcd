//! Which columns are time, or what stands in for them.

use super::clock_axis;
use super::dialect::{self, Dialect};
use super::draft::{self, Content, Draft, is_time};
use super::head::Head;
use super::header::Header;
use super::keys::Key;
use super::plan::AxisPlan;
use super::preamble::{Preamble, Said, interval};
use super::time_fit::{Printed, TimeFit};
use super::twice;
use crate::data::{Answer, Decision, Unit};
use crate::formats::text::number::{self, Number};
use crate::formats::text::unit::{self, Scaled};
use crate::formats::{FormatError, ReadOptions, layout};

/// Where time comes from.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Times {
    /// The axes.
    pub axes: Vec<AxisPlan>,
    /// Columns that are time: column, its axis, factor and offset to seconds.
    pub columns: Vec<TimeColumn>,
    /// Columns that only count.
    pub counts: Vec<usize>,
    /// The decisions taken.
    pub decisions: Vec<Decision>,
}

/// A column that is time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TimeColumn {
    /// Index of the column.
    pub index: usize,
    /// Seconds of one of its units.
    pub factor: f64,
    /// Seconds at its zero.
    pub offset: f64,
}

impl Times {
    /// Index of the axis of a channel in this column: that of the time column before it, or the first.
    pub fn axis_of(&self, column: usize) -> usize {
        let before = self.columns.iter().rposition(|time| time.index < column);
        before.unwrap_or(0)
    }

    fn decide(&mut self, what: &str, value: impl Into<String>, why: impl Into<String>) {
        self.decisions.push(Decision {
            what: what.to_owned(),
            value: value.into(),
            why: why.into(),
        });
    }
}

/// What the choice is made from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known<'a> {
    /// The head.
    pub head: &'a Head,
    /// How rows are written.
    pub dialect: &'a Dialect,
    /// The columns.
    pub drafts: &'a [Draft],
    /// Names and units.
    pub header: &'a Header,
    /// Properties.
    pub preamble: &'a Preamble,
    /// What the user told.
    pub options: &'a ReadOptions,
}

/// Chooses where time comes from.
pub(super) fn choose(known: &Known<'_>) -> Result<Times, FormatError> {
    let file = &known.head.file;
    let told = given_seconds(file, known.options, "interval")?;
    let start = given_seconds(file, known.options, "start")?;
    if told.is_some_and(|step| step <= 0.0) {
        let value = layout::given(known.options, "interval").unwrap_or("");
        return Err(layout::bad_value(file, "interval", value));
    }
    let named = told_columns(known)?;
    let guess = match named {
        Some(guess) => guess,
        None => guess(known)?,
    };
    let is_told = layout::given(known.options, "time").is_some_and(|v| v != "none");
    match (guess.columns.as_slice(), told) {
        ([_, ..], Some(_)) if is_told => Err(FormatError::BadValue {
            file: file.clone(),
            key: "interval".to_owned(),
            value: layout::given(known.options, "interval")
                .unwrap_or("")
                .to_owned(),
            expected: "nothing when a time column is named: leave one of the two out".to_owned(),
        }),
        ([_, ..], None) => from_columns(known, guess),
        (columns, Some(step_s)) => {
            let why = layout::why_given(known.options, "interval");
            let counts = columns.iter().copied().chain(guess.counts).collect();
            Ok(evenly(known, counts, start.unwrap_or(0.0), step_s, &why))
        }
        ([], None) => without_column(known, guess, start),
    }
}

/// Evenly spaced times that no column holds.
fn evenly(known: &Known<'_>, counts: Vec<usize>, start_s: f64, step_s: f64, why: &str) -> Times {
    let mut times = Times {
        counts,
        ..Times::default()
    };
    times.decide("time", "none", "an interval is given");
    times.decide("interval", format!("{step_s:e}"), why);
    if start_s != 0.0 || layout::given(known.options, "start").is_some() {
        let why = match layout::given(known.options, "start") {
            Some(_) => layout::why_given(known.options, "start"),
            None => "told before the samples".to_owned(),
        };
        times.decide("start", format!("{start_s:e}"), why);
    }
    times.axes.push(AxisPlan::Interval {
        start_s,
        step_s,
        twice: layout::given(known.options, "rows-per-instant") == Some("2"),
    });
    times
}

/// Columns that look like time, columns that only count, and why.
struct Guess {
    columns: Vec<usize>,
    counts: Vec<usize>,
    why: String,
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

fn given_seconds(file: &str, options: &ReadOptions, key: &str) -> Result<Option<f64>, FormatError> {
    let Some(text) = layout::given(options, key) else {
        return Ok(None);
    };
    let wrong = || layout::bad_value(file, key, text);
    let (value, rest) = number::scan(text.as_bytes(), b'.').ok_or_else(wrong)?;
    let unit = match std::str::from_utf8(rest).unwrap_or("?").trim() {
        "" => None,
        name => match unit::parse(name) {
            Some(scaled) if scaled.unit == Unit::Second => Some(scaled),
            _ => return Err(wrong()),
        },
    };
    let seconds = Said {
        value: value.value,
        unit,
        line: 0,
    }
    .si();
    if seconds.is_finite() {
        Ok(Some(seconds))
    } else {
        Err(wrong())
    }
}

/// The time columns that the user named, with `time` or `column.N`.
fn told_columns(known: &Known<'_>) -> Result<Option<Guess>, FormatError> {
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
fn guess(known: &Known<'_>) -> Result<Guess, FormatError> {
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

/// Seconds of one unit of a column that steps by `step`, if its interval is `interval_s` and the unit
/// is s, ms, us or ns.
fn time_unit_between(interval_s: f64, step: f64) -> Option<f64> {
    [1.0, 1e-3, 1e-6, 1e-9]
        .into_iter()
        .find(|factor| (step * factor / interval_s - 1.0).abs() < 0.02)
}

fn is_count(numbers: &[Number]) -> bool {
    let pairs = numbers.iter().zip(numbers.iter().skip(1));
    let starts = numbers.first().is_some_and(|n| n.mantissa <= 1);
    starts && pairs.into_iter().all(|(a, b)| b.mantissa == a.mantissa + 1)
}

/// The step of numbers that rise evenly, to within their rounding.
fn even_step(numbers: &[Number]) -> Option<f64> {
    let mut fit = TimeFit::new(Printed::of(numbers));
    let rises = numbers.iter().all(|n| fit.push(n.value).is_ok());
    let (_, step) = fit.line().filter(|_| rises)?;
    Some(step)
}

/// Axes from time columns.
fn from_columns(known: &Known<'_>, guess: Guess) -> Result<Times, FormatError> {
    let mut times = Times {
        counts: guess.counts,
        ..Times::default()
    };
    let each: Vec<String> = guess.columns.iter().map(|i| (i + 1).to_string()).collect();
    times.decide("time", each.join(" "), guess.why);
    for index in guess.columns {
        let draft = known.drafts.get(index);
        if let Some(scaled) = draft.and_then(|d| d.unit)
            && scaled.unit != Unit::Second
        {
            let key = format!("unit.{}", index + 1);
            return Err(layout::bad_value(
                &known.head.file,
                &key,
                scaled.unit.symbol(),
            ));
        }
        let (axis, column) = if draft.is_some_and(|d| d.content == Content::Clock) {
            clock_axis::from_column(known, index, &mut times.decisions)?
        } else {
            from_column(known, index, &mut times.decisions)?
        };
        times.axes.push(axis);
        times.columns.push(column);
    }
    Ok(times)
}

/// Time from a column of numbers: how it is printed, and whether the first rows are even.
fn from_column(
    known: &Known<'_>,
    index: usize,
    decisions: &mut Vec<Decision>,
) -> Result<(AxisPlan, TimeColumn), FormatError> {
    let numbers = draft::numbers(known.head, known.dialect, index).unwrap_or_default();
    let twice = twice::find(known, index, &numbers)?;
    decisions.extend(twice.decision);
    let instants: Vec<Number> = if twice.is {
        numbers.iter().copied().step_by(2).collect()
    } else {
        numbers.clone()
    };
    let step = even_step(&instants);
    let unit = unit_of(known, index, step, decisions)?;
    let axis = AxisPlan::Column {
        index,
        printed: Printed::of(&numbers),
        even: instants.is_empty() || step.is_some(),
        twice: twice.is,
        clock: None,
    };
    let column = TimeColumn {
        index,
        factor: unit,
        offset: 0.0,
    };
    Ok((axis, column))
}

/// Seconds of one unit of a time column: as named with it, in the preamble, or as its step compared
/// with the sample interval tells.
fn unit_of(
    known: &Known<'_>,
    index: usize,
    step: Option<f64>,
    decisions: &mut Vec<Decision>,
) -> Result<f64, FormatError> {
    let draft = known.drafts.get(index);
    let named = draft.and_then(|d| d.unit);
    let in_preamble = || {
        let (text, line) = known.preamble.text(Key::TimeUnit)?;
        let scaled = unit::parse(text).filter(|scaled| scaled.unit == Unit::Second)?;
        Some((scaled, line))
    };
    let (unit, why) = match (named, in_preamble()) {
        (Some(scaled), _) => (Some(scaled), draft.map_or(String::new(), |d| d.why.clone())),
        (None, Some((scaled, line))) => (Some(scaled), format!("told in line {line}")),
        (None, None) => (None, String::new()),
    };
    let said = interval(known.preamble, &known.head.file)?;
    let (unit, why) = match (unit, step, said) {
        (unit, Some(step), Some(said)) => agreed(known, index, step, said, unit.zip(Some(why)))?,
        (Some(scaled), ..) => (scaled.factor, why),
        (None, ..) => (1.0, "no unit named: seconds assumed".to_owned()),
    };
    decisions.push(Decision {
        what: format!("unit.{}", index + 1),
        value: super::columns::shown_unit(Unit::Second, unit),
        why,
    });
    Ok(unit)
}

/// The unit in which the column's step is the interval that the file tells.
fn agreed(
    known: &Known<'_>,
    index: usize,
    step: f64,
    said: Said,
    named: Option<(Scaled, String)>,
) -> Result<(f64, String), FormatError> {
    let told = layout::given(known.options, &format!("unit.{}", index + 1)).is_some();
    let number = index + 1;
    match (named, time_unit_between(said.si(), step)) {
        (Some((scaled, why)), _) if told => Ok((scaled.factor, why)),
        (Some((scaled, why)), Some(factor)) if (scaled.factor / factor - 1.0).abs() < 1e-9 => {
            Ok((scaled.factor, why))
        }
        (None, Some(factor)) => Ok((
            factor,
            format!("its step is then the sample interval of line {}", said.line),
        )),
        (named, _) if coarse(known, index, step) => Ok(named.map_or_else(
            || (1.0, "no unit named: seconds assumed".to_owned()),
            |(scaled, why)| (scaled.factor, why),
        )),
        _ => Err(FormatError::ask(
            &known.head.file,
            format!(
                "line {} tells a sample interval of {:e} s, but column {number} steps by {step:e}; which unit has it, or is the interval right?",
                said.line,
                said.si()
            ),
            vec![
                Answer::open(format!("unit.{number}")),
                Answer::of("interval", format!("{:e}", said.si())),
            ],
        )),
    }
}

/// Are the times rounded so coarsely that the first rows do not give the step to 2 %?
fn coarse(known: &Known<'_>, index: usize, step: f64) -> bool {
    let numbers = draft::numbers(known.head, known.dialect, index).unwrap_or_default();
    let digit = match Printed::of(&numbers) {
        Printed::Fixed(power) => 10_f64.powi(power),
        Printed::Digits(digits) => {
            let most = numbers.iter().map(|n| n.value.abs()).fold(0.0, f64::max);
            most * 10_f64.powi(1 - digits)
        }
    };
    2.0 * digit > 0.01 * step * numbers.len() as f64
}

/// No time column: an index with start and increment, or an interval, or a question.
fn without_column(
    known: &Known<'_>,
    guess: Guess,
    told_start: Option<f64>,
) -> Result<Times, FormatError> {
    let Some(said) = interval(known.preamble, &known.head.file)? else {
        return Err(no_time(known, &guess));
    };
    let step_s = said.si();
    let zero = known.preamble.number(Key::ZeroSample);
    let start_s = told_start
        .or_else(|| seconds(known.preamble.number(Key::Start)))
        .or_else(|| zero.map(|sample| -sample.value * step_s))
        .unwrap_or(0.0);
    let why = format!("told in line {}", said.line);
    let Some(index) = guess.counts.first().copied() else {
        return Ok(evenly(known, guess.counts, start_s, step_s, &why));
    };
    let numbers = draft::numbers(known.head, known.dialect, index).unwrap_or_default();
    let mut times = Times::default();
    times.decide(
        "time",
        "none",
        format!(
            "column {} counts the samples, and the interval is told",
            index + 1
        ),
    );
    times.decide("interval", format!("{step_s:e}"), why);
    times.decide("start", format!("{start_s:e}"), "time of count 0");
    let twice = twice::find(known, index, &numbers)?;
    times.decisions.extend(twice.decision);
    times.axes.push(AxisPlan::Column {
        index,
        printed: Printed::of(&numbers),
        even: true,
        twice: twice.is,
        clock: None,
    });
    times.columns.push(TimeColumn {
        index,
        factor: step_s,
        offset: start_s,
    });
    Ok(times)
}

fn seconds(said: Option<Said>) -> Option<f64> {
    said.filter(|said| said.unit.is_none_or(|scaled| scaled.unit == Unit::Second))
        .map(|said| said.si())
}

/// A column of texts that differ from row to row.
fn texts_differ(known: &Known<'_>) -> Option<usize> {
    let differs = |index: &&usize| {
        let texts = known.dialect.column(known.head, **index);
        texts.windows(2).any(|pair| pair.first() != pair.last())
    };
    known.dialect.table.texts.iter().find(differs).copied()
}

/// Nothing tells the time: a question, or for a table with texts that differ a refusal.
fn no_time(known: &Known<'_>, guess: &Guess) -> FormatError {
    if let Some(column) = texts_differ(known) {
        return FormatError::NoRecord {
            file: known.head.file.clone(),
            line: known
                .dialect
                .rows(known.head)
                .next()
                .map_or(1, |line| line.number),
            column: column + 1,
        };
    }
    FormatError::ask(
        &known.head.file,
        format!(
            "{}; what is the time from one sample to the next?",
            guess.why
        ),
        vec![Answer::open("interval")],
    )
}
