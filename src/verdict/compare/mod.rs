//! Two inspections set against each other: which quantities go together, whether a change is more than
//! measuring explains, which stages woke or died, and what it comes to.
//!
//! Start reading at [`find`]; `pairs.rs` says what goes together, `words.rs` makes the sentences.

mod pairs;
mod words;

use crate::data::{
    Alignment, CompareOptions, Comparison, Difference, Distribution, Inspection, Row, Side, Stage,
    StageChange, StageState, TieSource, Value,
};

/// Share of the distribution of a change within which no change is told: with dozens of rows, 95 %
/// would call one in twenty changed that is not.
const HELD: f64 = 0.99;

/// Sets `after` against `before`; what is known of their captures' common time axis is taken in as it is.
pub fn find(
    before: &Inspection,
    after: &Inspection,
    options: &CompareOptions,
    alignments: Vec<Alignment>,
    not_aligned: Vec<String>,
) -> Comparison {
    let pairs = pairs::find(before, after);
    let rows: Vec<Row> = pairs
        .into_iter()
        .map(|pair| row(pair, options.same_instruments))
        .collect();
    let stages: Vec<StageChange> = Stage::ALL
        .into_iter()
        .map(|s| stage(s, before, after))
        .collect();
    let notes = notes(before, after, options);
    Comparison {
        summary: words::summary(&rows, &stages),
        alignments,
        not_aligned,
        rows,
        stages,
        notes,
    }
}

fn stage(stage: Stage, before: &Inspection, after: &Inspection) -> StageChange {
    let state = |run: &Inspection| {
        let found = run.stage(stage);
        found.map_or(StageState::NotTested, |finding| finding.state)
    };
    StageChange {
        stage,
        before: state(before),
        after: state(after),
    }
}

fn row(pair: pairs::Pair, same_instruments: bool) -> Row {
    let change = match (&pair.before, &pair.after) {
        (Some(before), Some(after)) => Some(change(before, after, same_instruments)),
        _ => None,
    };
    let difference = match (&change, &pair.before) {
        (Some(change), _) if is_more(change) => Difference::Changed,
        (Some(_), _) => Difference::Unchanged,
        (None, Some(_)) => Difference::Gone,
        (None, None) => Difference::New,
    };
    Row {
        quantity: pair.quantity,
        role: pair.role,
        before: pair.before,
        after: pair.after,
        change,
        difference,
        recorded_alike: pair.recorded_alike,
        remark: pair.remark,
    }
}

/// After minus before. Errors of the instruments are independent on the two sides unless the same ones
/// were used, and then one error with signs (JCGM 100:2008, 5.2).
fn change(before: &Side, after: &Side, same_instruments: bool) -> Value {
    let (first, second) = (
        loosened(&before.value, same_instruments),
        loosened(&after.value, same_instruments),
    );
    let difference = second.value - first.value;
    Value::linear(difference, &[(1.0, &second), (-1.0, &first)])
}

/// The value without ties that don't reach over to the other side.
fn loosened(value: &Value, same_instruments: bool) -> Value {
    value.loosened(|source| match source {
        TieSource::Gain(_) | TieSource::Offset(_) | TieSource::TimeBase | TieSource::Meter => {
            same_instruments
        }
        // one reading belongs to one side, as ripple does; a zero may have moved between them
        TieSource::MeterReading(..)
        | TieSource::MeterZero(_)
        | TieSource::FlatPiece(..)
        | TieSource::Ripple(_) => false,
    })
}

/// Is a change more than measuring explains? One without any uncertainty, as between two counts, is.
fn is_more(change: &Value) -> bool {
    if change.u <= 0.0 {
        return change.value != 0.0;
    }
    change.value.abs() > Distribution::of_terms(&change.terms).half_width(HELD)
}

fn notes(before: &Inspection, after: &Inspection, options: &CompareOptions) -> Vec<String> {
    let mut notes = Vec::new();
    let id = |run: &Inspection| run.controller.as_ref().map(|c| c.id.clone());
    if id(before) != id(after) {
        notes.push(
            "The two sides were judged by different controllers: their verdicts do not compare."
                .to_owned(),
        );
    }
    notes.push(if options.same_instruments {
        "The same scope inputs, probes, ranges and meter were told for both sides: their gain and offset errors leave a change as far as they are one error.".to_owned()
    } else {
        "Errors of scope, probes and meter count as independent on the two sides; where the same ones were used on the same ranges, saying so makes changes sharper.".to_owned()
    });
    notes
}
