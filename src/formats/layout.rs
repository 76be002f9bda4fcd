//! The import decisions that a user can take: their keys, and how they are looked up.

use super::{FormatError, ReadOptions};
use crate::data::Decision;

/// One import decision that `--layout KEY=VALUE` can take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LayoutKey {
    /// The key; one that ends in `.N` stands for one key a column.
    pub key: &'static str,
    /// What values it takes, in words.
    pub takes: &'static str,
    /// The values where there are only these; empty where one is typed.
    pub choices: &'static [&'static str],
}

const fn typed(key: &'static str, takes: &'static str) -> LayoutKey {
    LayoutKey {
        key,
        takes,
        choices: &[],
    }
}

const fn one_of(
    key: &'static str,
    takes: &'static str,
    choices: &'static [&'static str],
) -> LayoutKey {
    LayoutKey {
        key,
        takes,
        choices,
    }
}

/// All import decisions, in the order in which they are taken.
pub const LAYOUT_KEYS: &[LayoutKey] = &[
    one_of(
        "encoding",
        "utf-8, windows-1252, utf-16le or utf-16be",
        &["utf-8", "windows-1252", "utf-16le", "utf-16be"],
    ),
    one_of(
        "separator",
        "comma, semicolon, tab or space",
        &["comma", "semicolon", "tab", "space"],
    ),
    one_of("decimal", "point or comma", &["point", "comma"]),
    one_of(
        "thousands",
        "the mark between thousands: none, comma, point, space or apostrophe",
        &["none", "comma", "point", "space", "apostrophe"],
    ),
    typed("first-row", "the line of the first row of samples"),
    typed("names", "the line of the names, or none"),
    typed("units", "the line of the units, or none"),
    typed("time", "the number or the name of the time column, or none"),
    typed(
        "interval",
        "the sample interval: a number above zero, in seconds or with a unit such as us",
    ),
    typed(
        "start",
        "the time of the first sample, in seconds or with a unit such as us",
    ),
    one_of(
        "date",
        "the order of year, month and day: ymd, dmy or mdy",
        &["ymd", "dmy", "mdy"],
    ),
    one_of(
        "rows-per-instant",
        "1, or 2 where each instant has a lowest and a highest value",
        &["1", "2"],
    ),
    one_of(
        "sections",
        "what later blocks of rows are: channels, records, or one where the same record goes on",
        &["channels", "records", "one"],
    ),
    one_of(
        "column.N",
        "what column N is: time, channel, count, min, max or leave-out",
        &["time", "channel", "count", "min", "max", "leave-out"],
    ),
    typed("name.N", "the name of column N"),
    typed("unit.N", "the unit of column N, for instance mV, A or us"),
    typed(
        "scale.N",
        "the value of one count of column N, in its unit: a number that is not zero",
    ),
    typed(
        "offset.N",
        "the value of count 0 of column N, in its unit: a number",
    ),
    typed(
        "full-scale.N",
        "the range that column N could show, in SI units: LOW..HIGH",
    ),
    typed(
        "volts-per-division.N",
        "volts per division of column N: a number above zero",
    ),
    one_of(
        "shot",
        "whether files with one channel each and equal times are one shot: together or apart",
        &["together", "apart"],
    ),
];

/// The entry of a key, one with a column's number included.
pub fn entry(key: &str) -> Option<&'static LayoutKey> {
    let general = match key.rsplit_once('.') {
        Some((stem, number)) => {
            number.parse::<usize>().ok().filter(|n| *n > 0)?;
            format!("{stem}.N")
        }
        None => key.to_owned(),
    };
    LAYOUT_KEYS.iter().find(|known| known.key == general)
}

/// Refuses keys that do not exist, and values that are none of a key's choices.
pub(super) fn check_keys(file: &str, options: &ReadOptions) -> Result<(), FormatError> {
    for (key, value) in options.remembered.iter().chain(&options.layout) {
        let Some(known) = entry(key) else {
            return Err(FormatError::UnknownKey {
                file: file.to_owned(),
                key: key.clone(),
                known: LAYOUT_KEYS.iter().map(|known| known.key).collect(),
            });
        };
        let value = value.trim();
        let character = matches!(value, "." | "," | ";" | "\t" | " " | "");
        if !known.choices.is_empty() && !character {
            let fits = |choice: &&str| choice.eq_ignore_ascii_case(value);
            if !known.choices.iter().any(fits) {
                return Err(bad_value(file, key, value));
            }
        }
    }
    Ok(())
}

/// The value given for `key`, without surrounding blanks: as told, else as remembered.
pub(super) fn given<'a>(options: &'a ReadOptions, key: &str) -> Option<&'a str> {
    let told = options.layout.get(key);
    told.or_else(|| options.remembered.get(key))
        .map(|value| value.trim())
}

/// The value given for a column's key, the column counted from 0.
pub(super) fn given_column<'a>(
    options: &'a ReadOptions,
    stem: &str,
    index: usize,
) -> Option<&'a str> {
    given(options, &format!("{stem}.{}", index + 1))
}

/// The reason of a decision that was given.
pub(super) fn why_given(options: &ReadOptions, key: &str) -> String {
    if options.layout.contains_key(key) {
        "as told".to_owned()
    } else {
        format!("as remembered for this layout ({})", options.remembered_as)
    }
}

/// Makes decisions that a remembered layout took say so: to a reader all that is given is told.
pub(super) fn say_remembered(options: &ReadOptions, decisions: &mut [Decision]) {
    for decision in decisions {
        let key = &decision.what;
        if options.remembered.contains_key(key) && !options.layout.contains_key(key) {
            decision.why = decision.why.replace("as told", &why_given(options, key));
        }
    }
}

/// The refusal of the value given for `key`.
pub(super) fn bad_value(file: &str, key: &str, value: &str) -> FormatError {
    FormatError::BadValue {
        file: file.to_owned(),
        key: key.to_owned(),
        value: crate::data::text::harmless(value, 60),
        expected: entry(key)
            .map_or("something else", |known| known.takes)
            .to_owned(),
    }
}

/// A line given for `key`: `None` when not given, `Some(None)` when the user said `none`.
pub(super) fn given_line(
    file: &str,
    options: &ReadOptions,
    key: &str,
) -> Result<Option<Option<u64>>, FormatError> {
    let Some(value) = given(options, key) else {
        return Ok(None);
    };
    if value.eq_ignore_ascii_case("none") && key != "first-row" {
        return Ok(Some(None));
    }
    match value.parse::<u64>() {
        Ok(line) if line > 0 => Ok(Some(Some(line))),
        _ => Err(bad_value(file, key, value)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unknown_keys_are_refused_with_the_list_of_keys() {
        let options = ReadOptions::default().with("seperator", "comma");
        let error = check_keys("a.csv", &options).unwrap_err();
        assert!(error.to_string().contains("separator"), "{error}");
        for key in ["unit.0", "unit.x", "unit.", "unit", "column"] {
            assert!(check_keys("a.csv", &ReadOptions::default().with(key, "V")).is_err());
        }
        for (key, value) in [("unit.12", "V"), ("column.3", "min"), ("separator", ";")] {
            assert!(check_keys("a.csv", &ReadOptions::default().with(key, value)).is_ok());
        }
    }

    #[test]
    fn a_value_that_is_none_of_the_choices_is_refused() {
        let error = check_keys("a.csv", &ReadOptions::default().with("sections", "two"));
        let error = error.unwrap_err().to_string();
        assert!(error.contains("channels, records"), "{error}");
    }

    #[test]
    fn what_is_told_goes_before_what_is_remembered() {
        let mut options = ReadOptions::default().with("decimal", "comma");
        options.remembered_as = "logger".to_owned();
        for (key, value) in [("decimal", "point"), ("interval", "1us")] {
            options.remembered.insert(key.to_owned(), value.to_owned());
        }
        assert_eq!(given(&options, "decimal"), Some("comma"));
        assert_eq!(given(&options, "interval"), Some("1us"));
        assert_eq!(why_given(&options, "decimal"), "as told");
        assert!(why_given(&options, "interval").contains("logger"));
    }
}
