//! What a comparison comes to, in one sentence.

use crate::data::text::plus_minus;
use crate::data::{Difference, Row, StageChange, StageState, Value};

/// Most changes that are named.
const MOST: usize = 3;

/// One sentence: stages that woke or fell, what changed beyond what measuring explains, and how much did
/// not.
pub(super) fn summary(rows: &[Row], stages: &[StageChange]) -> String {
    let mut parts = Vec::new();
    parts.extend(stage_words(stages));
    let changed: Vec<&Row> = of(rows, Difference::Changed);
    if !changed.is_empty() {
        let named: Vec<String> = changed.iter().take(MOST).map(|row| one(row)).collect();
        let more = match changed.len().saturating_sub(MOST) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        parts.push(format!(
            "beyond what measuring explains: {}{more}",
            named.join(", ")
        ));
    }
    let gone = shown_no_more(rows, Difference::Gone);
    if !gone.is_empty() {
        parts.push(format!("no longer there: {}", gone.join(", ")));
    }
    let unchanged = of(rows, Difference::Unchanged).len();
    match (parts.is_empty(), unchanged) {
        (true, 0) => {
            "The two sides have no value in common, so nothing can be compared.".to_owned()
        }
        (true, count) => format!(
            "Nothing changed by more than measuring explains, in {count} {} that both sides have.",
            plural(count)
        ),
        (false, 0) => format!("{}.", capital(&parts.join("; "))),
        (false, count) => format!(
            "{}; {count} {} did not change by more than measuring explains.",
            capital(&parts.join("; ")),
            plural(count)
        ),
    }
}

fn of(rows: &[Row], difference: Difference) -> Vec<&Row> {
    rows.iter().filter(|r| r.difference == difference).collect()
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "value" } else { "values" }
}

/// Quantities that one side alone has although the other was recorded alike.
fn shown_no_more(rows: &[Row], difference: Difference) -> Vec<&'static str> {
    let alike = |row: &&&Row| row.recorded_alike;
    let gone = of(rows, difference);
    let named = gone.iter().filter(alike).map(|r| r.quantity.info().title);
    named.take(MOST).collect()
}

/// `start threshold by −0.90 ± 0.20 V`; what has no uncertainty, as counts, `start attempts from 6 to 1`.
fn one(row: &Row) -> String {
    let info = row.quantity.info();
    let (Some(change), Some(before), Some(after)) = (&row.change, &row.before, &row.after) else {
        return info.title.to_owned();
    };
    let shown = |value: &Value| plus_minus(value.value, value.u95, info.unit);
    if change.u > 0.0 {
        return format!("{} by {}", info.title, shown(change));
    }
    let (from, to) = (shown(&before.value), shown(&after.value));
    format!("{} from {from} to {to}", info.title)
}

fn stage_words(stages: &[StageChange]) -> Vec<String> {
    let name = |change: &StageChange| change.stage.title().to_lowercase();
    let ill = |state| matches!(state, StageState::Dead | StageState::Marginal);
    let mut parts = Vec::new();
    for change in stages {
        let (before, after) = (change.before, change.after);
        if ill(before) && after == StageState::Working {
            parts.push(format!("{} works, it was {}", name(change), before.id()));
        } else if before == StageState::Working && ill(after) {
            parts.push(format!("{} is {}, it worked", name(change), after.id()));
        } else if ill(before) && ill(after) && before != after {
            parts.push(format!(
                "{} is {}, it was {}",
                name(change),
                after.id(),
                before.id()
            ));
        } else if ill(before) && after == StageState::NotTested {
            parts.push(format!(
                "{} was {} and was not tested after",
                name(change),
                before.id()
            ));
        }
    }
    parts
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}
