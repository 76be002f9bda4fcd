//! Two columns for one channel: the lowest and the highest value of each interval.

use super::plan::{ColumnPlan, Extreme};
use crate::data::Decision;
use crate::formats::{ReadOptions, layout};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Low,
    High,
}

/// Pairs columns that are named for the lowest and the highest value of one channel, or told so.
pub(super) fn pair(
    columns: &mut [ColumnPlan],
    options: &ReadOptions,
    decisions: &mut Vec<Decision>,
) {
    let sided: Vec<Option<(Side, String)>> = columns
        .iter()
        .enumerate()
        .map(|(index, column)| {
            column
                .slot
                .is_channel()
                .then(|| side(options, index, &column.name))
                .flatten()
        })
        .collect();
    for (low, found) in sided.iter().enumerate() {
        let Some((Side::Low, stem)) = found else {
            continue;
        };
        let partner = sided.iter().position(|other| {
            other
                .as_ref()
                .is_some_and(|(side, name)| *side == Side::High && name == stem)
        });
        let Some(high) = partner.or_else(|| told_partner(options, &sided, low)) else {
            continue;
        };
        let same = |key: fn(&ColumnPlan) -> (crate::data::Unit, u64, u64)| {
            columns.get(low).map(key) == columns.get(high).map(key)
        };
        if !same(|c| (c.unit, c.factor.to_bits(), c.offset.to_bits())) {
            continue;
        }
        for (index, extreme) in [(low, Extreme::LowWith(high)), (high, Extreme::High)] {
            let Some(column) = columns.get_mut(index) else {
                continue;
            };
            column.extreme = Some(extreme);
            if !stem.is_empty() {
                column.name.clone_from(stem);
            }
            let key = format!("column.{}", index + 1);
            decisions.push(Decision {
                what: key.clone(),
                value: if index == low { "min" } else { "max" }.to_owned(),
                why: match layout::given(options, &key) {
                    Some(_) => layout::why_given(options, &key),
                    None => format!(
                        "its name, and that of column {}",
                        if index == low { high } else { low } + 1
                    ),
                },
            });
        }
    }
}

/// Which side a column is by word of the user or by its name, and the name without it.
fn side(options: &ReadOptions, index: usize, name: &str) -> Option<(Side, String)> {
    let by_name = sided_name(name);
    match layout::given_column(options, "column", index) {
        Some("min") => Some((Side::Low, by_name.map_or(name.to_owned(), |(_, stem)| stem))),
        Some("max") => Some((
            Side::High,
            by_name.map_or(name.to_owned(), |(_, stem)| stem),
        )),
        Some(_) => None,
        None => by_name,
    }
}

/// The next column that the user told to be the highest, where the names do not pair.
fn told_partner(
    options: &ReadOptions,
    sided: &[Option<(Side, String)>],
    low: usize,
) -> Option<usize> {
    layout::given_column(options, "column", low).filter(|word| *word == "min")?;
    (low + 1..sided.len())
        .find(|index| layout::given_column(options, "column", *index) == Some("max"))
}

/// `CH1 min`, `Max(CH1)`, `VCC_Min`: the side, and the name without it.
fn sided_name(name: &str) -> Option<(Side, String)> {
    let breaks = |c: char| matches!(c, ' ' | '_' | '-' | '.' | '(' | ')' | '[' | ']' | ':');
    let words: Vec<&str> = name.split(breaks).filter(|word| !word.is_empty()).collect();
    let side_of = |word: &str| match word.to_lowercase().as_str() {
        "min" | "minimum" | "lowest" => Some(Side::Low),
        "max" | "maximum" | "highest" => Some(Side::High),
        _ => None,
    };
    let found: Vec<(usize, Side)> = words
        .iter()
        .enumerate()
        .filter_map(|(at, word)| Some((at, side_of(word)?)))
        .collect();
    let [(at, side)] = found.as_slice() else {
        return None;
    };
    let others: Vec<&str> = words
        .iter()
        .enumerate()
        .filter(|(index, _)| index != at)
        .map(|(_, word)| *word)
        .collect();
    Some((*side, others.join(" ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_side_is_a_word_of_its_own() {
        assert_eq!(sided_name("CH1 min"), Some((Side::Low, "CH1".to_owned())));
        assert_eq!(sided_name("Max(VCC)"), Some((Side::High, "VCC".to_owned())));
        assert_eq!(sided_name("CH1_MIN"), Some((Side::Low, "CH1".to_owned())));
        assert_eq!(sided_name("minutes"), None);
        assert_eq!(sided_name("min max"), None);
    }
}
