//! Two rows for one instant: the lowest and the highest value of each interval.

use super::dialect::Dialect;
use super::draft;
use super::head::Head;
use super::time_axis::Known;
use crate::data::{Answer, Decision};
use crate::formats::text::number::Number;
use crate::formats::{FormatError, layout};

/// Does each instant stand in two rows?
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Twice {
    /// It does.
    pub is: bool,
    /// Said so, where there was something to decide.
    pub decision: Option<Decision>,
}

const KEY: &str = "rows-per-instant";
/// Pairs of rows that can show it.
const LEAST_PAIRS: usize = 3;

/// Looks at the times of the first rows, and at the values where the times come in pairs.
///
/// Coarsely rounded times come in pairs too. Pairs whose second value is never the lower one, with
/// lower values after many of them, are lowest and highest; where it is now the lower and now the
/// higher one, times are rounded; only rising values, or a second one that is never higher, leave it
/// open.
pub(super) fn find(known: &Known<'_>, time: usize, times: &[Number]) -> Result<Twice, FormatError> {
    let decided = |is: bool, why: String| Twice {
        is,
        decision: Some(Decision {
            what: KEY.to_owned(),
            value: if is { "2" } else { "1" }.to_owned(),
            why,
        }),
    };
    if let Some(value) = layout::given(known.options, KEY) {
        return Ok(decided(value == "2", layout::why_given(known.options, KEY)));
    }
    if !in_pairs(times) {
        return Ok(Twice::default());
    }
    let columns = (0..known.drafts.len()).filter(|index| *index != time);
    let numeric = columns.filter(|index| {
        known
            .drafts
            .get(*index)
            .is_some_and(draft::Draft::is_numeric)
    });
    let mut seen = Seen::default();
    for index in numeric {
        seen.add(&values(known.head, known.dialect, index));
    }
    let words = |text: &str| {
        let text = text.to_lowercase();
        ["min", "max", "peak", "envelope", "hüllkurve"]
            .iter()
            .any(|word| text.contains(word))
    };
    let named = known.drafts.iter().any(|d| words(&d.full_name))
        || known
            .head
            .lines
            .iter()
            .take(known.dialect.table.first)
            .any(|line| words(&line.text));
    if seen.mixed {
        Ok(decided(
            false,
            "the second of two rows at one time is at times the lower: rounded times".to_owned(),
        ))
    } else if !seen.falls && (seen.falls_between || named) {
        Ok(decided(
            true,
            "two rows at each time, the second never the lower: lowest and highest".to_owned(),
        ))
    } else {
        Err(FormatError::ask(
            &known.head.file,
            "two rows have the same time, all along: are they the lowest and the highest value at each time, or samples whose times are rounded?",
            vec![Answer::of(KEY, "2"), Answer::of(KEY, "1")],
        ))
    }
}

/// Each time twice, and rising from pair to pair.
fn in_pairs(times: &[Number]) -> bool {
    let (pairs, _) = times.as_chunks::<2>();
    let same = |pair: &[Number; 2]| pair[0].value.to_bits() == pair[1].value.to_bits();
    let rises = |pair: &[[Number; 2]]| matches!(pair, [a, b] if a[1].value < b[0].value);
    pairs.len() >= LEAST_PAIRS && pairs.iter().all(same) && pairs.windows(2).all(rises)
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
