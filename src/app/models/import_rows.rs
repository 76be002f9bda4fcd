//! Decisions about a file as rows with a control: what, value, why.

use std::collections::BTreeMap;

use super::import_sheet::ColumnModel;
use crate::app::sheet::Sheet;
use crate::data::text::{engineering, harmless};
use crate::data::{Decision, PreviewColumn, TakenFor, Unit};
use crate::inspect::{LAYOUT_KEYS, layout_entry};

/// A decision that can be looked at and changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DecisionModel {
    /// Its key, as scripts name it.
    pub key: String,
    /// Its name, which is the accessible name of its control too.
    pub title: String,
    /// What was decided; in a field, what stands in it.
    pub value: String,
    /// What it can be, with the words shown; empty where it is typed.
    pub choices: Vec<(&'static str, String)>,
    /// What may be typed.
    pub takes: &'static str,
    /// Why it is so.
    pub why: String,
    /// Was it changed on this sheet?
    pub own: bool,
    /// Can it be changed?
    pub fixed: bool,
}

/// What the rows are made of.
#[derive(Debug, Clone, Copy)]
pub struct Rows<'a> {
    /// The sheet.
    pub sheet: &'a Sheet,
    /// All that the user decided.
    pub told: &'a BTreeMap<String, String>,
    /// All that is decided.
    pub decisions: &'a [Decision],
}

impl Rows<'_> {
    /// Rows about the whole file: those decided, and those that could be told besides.
    pub fn of_file(&self) -> (Vec<DecisionModel>, Vec<DecisionModel>) {
        let general = |key: &str| !is_of_column(key);
        let mut keys: Vec<&str> = Vec::new();
        let decided = self.decisions.iter().map(|decision| decision.what.as_str());
        for key in decided.chain(self.told.keys().map(String::as_str)) {
            if general(key) && !keys.contains(&key) {
                keys.push(key);
            }
        }
        let known = LAYOUT_KEYS.iter().map(|known| known.key);
        let others = known.filter(|key| !key.ends_with(".N") && !keys.contains(key));
        let rows = |keys: &[&str]| keys.iter().map(|key| self.row(key, title(key))).collect();
        (rows(&keys), rows(&others.collect::<Vec<_>>()))
    }

    /// The fields of a column.
    pub fn of_column(&self, column: &PreviewColumn) -> ColumnModel {
        let number = column.number;
        let name = harmless(&column.name, 40);
        let field = |stem: &str| {
            let key = format!("{stem}.{number}");
            let title = title(&key);
            self.row(&key, title)
        };
        let mut fields = vec![field("column"), field("name"), field("unit")];
        fill(&mut fields[0], kind_word(column.taken_for));
        fill(&mut fields[1], &name);
        fill(&mut fields[2], &unit_words(column));
        if matches!(column.taken_for, TakenFor::Channel(_)) {
            let more = ["full-scale", "volts-per-division", "scale", "offset"];
            fields.extend(more.map(field));
        }
        ColumnModel {
            title: match name.as_str() {
                "" => format!("Column {number}"),
                name => format!("Column {number}, {name}"),
            },
            fields,
        }
    }

    /// The field for an answer that has to be typed.
    pub fn open_answer(&self, key: &str) -> DecisionModel {
        let mut row = self.row(key, title(key));
        row.title = format!("Answer: {}", row.title);
        row
    }

    fn row(&self, key: &str, title: String) -> DecisionModel {
        let known = layout_entry(key);
        let decision = self.decisions.iter().find(|d| d.what == key);
        let told = self.told.get(key);
        let draft = self.sheet.drafts.get(key);
        // what was typed here stands as it was typed
        let value = self.sheet.own.get(key).map(String::as_str);
        let value = value.or(decision.map(|d| d.value.as_str()));
        let value = value.or(told.map(String::as_str)).unwrap_or("");
        let why = decision.map(|d| d.why.as_str());
        let why = why.or(told.map(|_| "as told")).unwrap_or("");
        let choices = known.map_or(&[][..], |known| known.choices);
        DecisionModel {
            title,
            value: match draft {
                Some(draft) => draft.clone(),
                None => harmless(value, 120),
            },
            choices: choices
                .iter()
                .map(|choice| (*choice, value_words(key, choice)))
                .collect(),
            takes: known.map_or("", |known| known.takes),
            why: harmless(why, 300),
            own: self.sheet.own.contains_key(key),
            fixed: known.is_none(),
            key: key.to_owned(),
        }
    }
}

/// What a column is by itself, where no decision says more.
fn fill(row: &mut DecisionModel, found: &str) {
    if row.value.is_empty() && !row.own {
        found.clone_into(&mut row.value);
    }
}

/// The unit of a column; nothing where none is known.
pub fn unit_words(column: &PreviewColumn) -> String {
    let unit = harmless(&column.unit, 16);
    if unit == "?" { String::new() } else { unit }
}

fn kind_word(taken_for: TakenFor) -> &'static str {
    match taken_for {
        TakenFor::Time => "time",
        TakenFor::Channel(_) => "channel",
        TakenFor::Count => "count",
        TakenFor::LeftOut => "leave-out",
        _ => "",
    }
}

fn is_of_column(key: &str) -> bool {
    column_of(key).is_some()
}

/// Stem and column of a key such as `unit.2`.
fn column_of(key: &str) -> Option<(&str, usize)> {
    let (stem, number) = key.rsplit_once('.')?;
    Some((stem, number.parse().ok()?))
}

/// The name of a decision for a person: `Column 2, unit`, `Decimal mark`.
pub fn title(key: &str) -> String {
    const TITLES: [(&str, &str); 14] = [
        ("encoding", "Encoding"),
        ("separator", "Between cells"),
        ("decimal", "Decimal mark"),
        ("thousands", "Between thousands"),
        ("first-row", "Samples from line"),
        ("names", "Names in line"),
        ("units", "Units in line"),
        ("time", "Time column"),
        ("interval", "Sample interval"),
        ("start", "First sample at"),
        ("date", "Order of the date"),
        ("rows-per-instant", "Rows an instant"),
        ("sections", "Later blocks are"),
        ("shot", "Files of one shot"),
    ];
    if let Some((stem, number)) = column_of(key) {
        return match stem {
            "column" => format!("Column {number} is"),
            "scale" => format!("Column {number}, one count is"),
            "offset" => format!("Column {number}, count 0 is"),
            stem => format!("Column {number}, {}", stem.replace('-', " ")),
        };
    }
    let known = TITLES.iter().find(|(known, _)| *known == key);
    known.map_or_else(
        || harmless(&key.replace('-', " "), 40),
        |(_, title)| (*title).to_owned(),
    )
}

/// A value for a person: `leave out`, `two: lowest and highest`.
pub fn value_words(key: &str, value: &str) -> String {
    let words = match (column_of(key).map_or(key, |(stem, _)| stem), value) {
        ("column", "leave-out") => "left out",
        ("column", "count") => "a count",
        ("column", "min") => "lowest values",
        ("column", "max") => "highest values",
        ("rows-per-instant", "1") => "one",
        ("rows-per-instant", "2") => "two: lowest and highest",
        ("sections", "channels") => "other channels",
        ("sections", "records") => "other records",
        ("sections", "one") => "the same record going on",
        ("date", "ymd") => "year, month, day",
        ("date", "dmy") => "day, month, year",
        ("date", "mdy") => "month, day, year",
        ("time", number) if number.parse::<usize>().is_ok() => {
            return format!("column {number}");
        }
        ("interval" | "start", number) if number.parse::<f64>().is_ok() => {
            let seconds = number.parse().unwrap_or(f64::NAN);
            return engineering(seconds, Unit::Second, 4);
        }
        (_, value) => return harmless(value, 60),
    };
    words.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_values_have_words_for_a_person() {
        assert_eq!(title("decimal"), "Decimal mark");
        assert_eq!(
            title("volts-per-division.2"),
            "Column 2, volts per division"
        );
        assert_eq!(title("column.3"), "Column 3 is");
        assert_eq!(title("new-key"), "new key");
        assert_eq!(value_words("column.3", "leave-out"), "left out");
        assert_eq!(value_words("time", "2"), "column 2");
        assert_eq!(value_words("interval", "2e-6"), "2.000 µs");
        assert_eq!(value_words("interval", "2us"), "2us");
        for known in LAYOUT_KEYS
            .iter()
            .filter(|known| !known.key.ends_with(".N"))
        {
            assert_ne!(
                title(known.key),
                known.key.replace('-', " "),
                "{}",
                known.key
            );
        }
    }
}
