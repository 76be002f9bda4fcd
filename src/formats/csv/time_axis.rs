//! Which columns are time, or what stands in for them.

use super::clock_axis;
use super::dialect::Dialect;
use super::draft::{self, Content, Draft};
use super::head::Head;
use super::header::Header;
use super::keys::Key;
use super::plan::AxisPlan;
use super::preamble::{Preamble, Said, interval};
use super::time_fit::Printed;
use super::time_guess::{Guess, guess, texts_differ, told_columns};
use super::time_unit::{even_step, unit_of};
use super::twice;
use crate::data::{Answer, Decision, Unit};
use crate::formats::text::number::{self, Number};
use crate::formats::text::unit;
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
        ([_, ..], None) if start.is_some() => Err(FormatError::BadValue {
            file: file.clone(),
            key: "start".to_owned(),
            value: layout::given(known.options, "start")
                .unwrap_or("")
                .to_owned(),
            expected: "nothing where a column is time: say time=none to leave it out".to_owned(),
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
    let instants: Vec<Number> = if twice.rows.in_pairs() {
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
        rows: twice.rows,
        clock: None,
    };
    let column = TimeColumn {
        index,
        factor: unit,
        offset: 0.0,
    };
    Ok((axis, column))
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
    if let (Some((line, text)), None) = (known.preamble.torn(Key::Start), told_start) {
        return Err(FormatError::ask(
            &known.head.file,
            format!(
                "`{text}` in line {line} can be two numbers, or one with a decimal comma; what is the time of the first sample?"
            ),
            vec![Answer::open("start")],
        ));
    }
    let zero = known.preamble.number(Key::ZeroSample);
    let start = told_start.or_else(|| seconds(known.preamble.number(Key::Start)));
    // time of count 0, and of the first sample where nothing counts
    let zero_s = zero.map_or(0.0, |sample| -sample.value * step_s);
    let why = format!("told in line {}", said.line);
    let Some(index) = guess.counts.first().copied() else {
        let start_s = start.unwrap_or(zero_s);
        return Ok(evenly(known, guess.counts, start_s, step_s, &why));
    };
    let numbers = draft::numbers(known.head, known.dialect, index).unwrap_or_default();
    let first = numbers.first().map_or(0.0, |number| number.value * step_s);
    let offset = start.map_or(zero_s, |start_s| start_s - first);
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
    times.decide(
        "start",
        format!("{:e}", offset + first),
        match start {
            Some(_) => "told as the time of the first sample",
            None => "count 0, or the sample told, is at time zero",
        },
    );
    let twice = twice::find(known, index, &numbers)?;
    times.decisions.extend(twice.decision);
    times.axes.push(AxisPlan::Column {
        index,
        printed: Printed::of(&numbers),
        even: true,
        rows: twice.rows,
        clock: None,
    });
    times.columns.push(TimeColumn {
        index,
        factor: step_s,
        offset,
    });
    Ok(times)
}

fn seconds(said: Option<Said>) -> Option<f64> {
    said.filter(|said| said.unit.is_none_or(|scaled| scaled.unit == Unit::Second))
        .map(|said| said.si())
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
