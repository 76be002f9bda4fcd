//! Two rows for one instant: the lowest and the highest value of each interval, with one time or a time each.

use super::dialect::Dialect;
use super::draft;
use super::head::Head;
use super::plan::Rows;
use super::time_axis::Known;
use crate::data::{Answer, Decision};
use crate::formats::text::number::Number;
use crate::formats::{FormatError, layout};

/// How rows and instants go together, and what was decided.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Twice {
    /// The rows of an instant.
    pub rows: Rows,
    /// Said so, where there was something to decide.
    pub decision: Option<Decision>,
}

impl Twice {
    fn decided(rows: Rows, why: impl Into<String>) -> Self {
        Self {
            rows,
            decision: Some(Decision {
                what: KEY.to_owned(),
                value: if rows.in_pairs() { "2" } else { "1" }.to_owned(),
                why: why.into(),
            }),
        }
    }
}

const KEY: &str = "rows-per-instant";
/// Pairs of rows that can show it by their times …
const LEAST_PAIRS: usize = 3;
/// … and by their values alone.
const LEAST_IN_TURN: usize = 24;
/// Times of an even axis that are rounded to pairs stand one unit of their last digit apart; pairs further apart
/// than so many units are pairs.
const NOT_ROUNDED: f64 = 1.5;

/// Looks at the times of the first rows, and at the values where the times come in pairs.
///
/// Coarsely rounded times come in pairs too. Pairs whose second value is never the lower one, with
/// lower values after many of them, are lowest and highest; so are pairs whose times are written finer than their
/// steps. Where it is now the lower and now the higher one, times are rounded; only rising values, or a second
/// one that is never higher, leave it open.
pub(super) fn find(known: &Known<'_>, time: usize, times: &[Number]) -> Result<Twice, FormatError> {
    let in_pairs = in_pairs(times);
    if let Some(value) = layout::given(known.options, KEY) {
        let rows = match value {
            "2" if in_pairs || !rises(times) => Rows::Twice,
            "2" => Rows::InTurn,
            _ => Rows::Each,
        };
        return Ok(Twice::decided(rows, layout::why_given(known.options, KEY)));
    }
    let columns = (0..known.drafts.len()).filter(|index| *index != time);
    let numeric = columns.filter(|index| {
        known
            .drafts
            .get(*index)
            .is_some_and(draft::Draft::is_numeric)
    });
    let all: Vec<Vec<f64>> = numeric
        .map(|index| values(known.head, known.dialect, index))
        .collect();
    if in_pairs {
        by_times(known, times, &all)
    } else {
        by_values(known, times, &all)
    }
}

/// Rows with the same time.
fn by_times(known: &Known<'_>, times: &[Number], all: &[Vec<f64>]) -> Result<Twice, FormatError> {
    let seen = Seen::of(all);
    if written_finer(times) {
        let why = "two rows at each time, which is written finer than it steps: lowest and highest";
        Ok(Twice::decided(Rows::Twice, why))
    } else if seen.mixed {
        let why = "the second of two rows at one time is at times the lower: rounded times";
        Ok(Twice::decided(Rows::Each, why))
    } else if !seen.falls && (seen.falls_between || named(known)) {
        let why = "two rows at each time, the second never the lower: lowest and highest";
        Ok(Twice::decided(Rows::Twice, why))
    } else {
        Err(FormatError::ask(
            &known.head.file,
            "two rows have the same time, all along: are they the lowest and the highest value at each time, or samples whose times are rounded?",
            vec![Answer::of(KEY, "2"), Answer::of(KEY, "1")],
        ))
    }
}

/// Rows with times of their own: lowest and highest in turn, where more than one column goes up and down with every
/// row. Samples of a signal that has two in a cycle do so too, but not those of another beside it.
fn by_values(known: &Known<'_>, times: &[Number], all: &[Vec<f64>]) -> Result<Twice, FormatError> {
    let turning = all.iter().filter(|values| in_turn(values)).count();
    let seen = Seen::of(all);
    if turning == 0 || seen.falls || !rises(times) {
        return Ok(Twice::default());
    }
    if turning > 1 || named(known) {
        let why = "every second value is the higher one in each column: lowest and highest in turn";
        return Ok(Twice::decided(Rows::InTurn, why));
    }
    Err(FormatError::ask(
        &known.head.file,
        "every second value is the higher one: are rows the lowest and the highest value in turn, or samples?",
        vec![Answer::of(KEY, "2"), Answer::of(KEY, "1")],
    ))
}

/// Does the file speak of extremes?
fn named(known: &Known<'_>) -> bool {
    let words = |text: &str| {
        let text = text.to_lowercase();
        ["min", "max", "peak", "envelope", "hüllkurve"]
            .iter()
            .any(|word| text.contains(word))
    };
    let above = &known.head.lines[..known.dialect.table.first.min(known.head.lines.len())];
    known.drafts.iter().any(|d| words(&d.full_name)) || above.iter().any(|line| words(&line.text))
}

/// Each time twice, and rising from pair to pair.
fn in_pairs(times: &[Number]) -> bool {
    let (pairs, _) = times.as_chunks::<2>();
    let same = |pair: &[Number; 2]| pair[0].value.to_bits() == pair[1].value.to_bits();
    let rises = |pair: &[[Number; 2]]| matches!(pair, [a, b] if a[1].value < b[0].value);
    pairs.len() >= LEAST_PAIRS && pairs.iter().all(same) && pairs.windows(2).all(rises)
}

/// Do times rise from row to row?
fn rises(times: &[Number]) -> bool {
    times
        .windows(2)
        .all(|w| matches!(w, [a, b] if a.value < b.value))
}

/// Are the steps from pair to pair larger than the digits that they are written with, so that the times of an even
/// axis would not come in pairs?
fn written_finer(times: &[Number]) -> bool {
    let firsts: Vec<&Number> = times.iter().step_by(2).collect();
    let finer = |pair: &&[&Number]| {
        matches!(pair, [a, b] if {
            let unit = 10_f64.powi(a.exponent.max(b.exponent));
            b.value - a.value > NOT_ROUNDED * unit
        })
    };
    let steps = firsts.windows(2);
    let count = steps.len();
    2 * steps.filter(finer).count() > count
}

/// Is the second of two values the higher one in most pairs, and the next lower again?
fn in_turn(values: &[f64]) -> bool {
    let (pairs, _) = values.as_chunks::<2>();
    let up = pairs.iter().filter(|p| p[1] > p[0]).count();
    let back = pairs
        .windows(2)
        .filter(|w| matches!(w, [a, b] if b[0] < a[1]))
        .count();
    pairs.len() >= LEAST_IN_TURN && 2 * up > pairs.len() && 2 * back > pairs.len()
}

fn values(head: &Head, dialect: &Dialect, index: usize) -> Vec<f64> {
    let numbers = draft::numbers(head, dialect, index).unwrap_or_default();
    numbers.iter().map(|n| n.value).collect()
}

#[derive(Debug, Default)]
struct Seen {
    /// The second value is the lower one in some pairs and the higher one in others.
    mixed: bool,
    /// The second value is the lower one in some pairs.
    falls: bool,
    /// After many pairs comes a lower value.
    falls_between: bool,
}

impl Seen {
    /// What all columns show together.
    fn of(all: &[Vec<f64>]) -> Self {
        let mut seen = Self::default();
        all.iter().for_each(|values| seen.add(values));
        seen
    }

    fn add(&mut self, values: &[f64]) {
        let (pairs, _) = values.as_chunks::<2>();
        let falls = pairs.iter().any(|p| p[1] < p[0]);
        let rises = pairs.iter().any(|p| p[1] > p[0]);
        let between = pairs
            .windows(2)
            .filter(|w| matches!(w, [a, b] if b[0] < a[1]))
            .count();
        self.mixed |= falls && rises;
        self.falls |= falls;
        self.falls_between |= 4 * between >= pairs.len();
    }
}
