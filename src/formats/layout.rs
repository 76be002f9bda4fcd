//! The import decisions that a user can take: their keys, and how they are looked up.

use super::{FormatError, ReadOptions};

/// One import decision that `--layout KEY=VALUE` can take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LayoutKey {
    /// The key; `unit.N` stands for one key a column.
    pub key: &'static str,
    /// What values it takes.
    pub takes: &'static str,
}

/// All import decisions, in the order in which they are taken.
pub const LAYOUT_KEYS: [LayoutKey; 9] = [
    LayoutKey {
        key: "encoding",
        takes: "utf-8 or windows-1252",
    },
    LayoutKey {
        key: "separator",
        takes: "comma, semicolon, tab or space",
    },
    LayoutKey {
        key: "decimal",
        takes: "point or comma",
    },
    LayoutKey {
        key: "first-row",
        takes: "the line of the first row of samples",
    },
    LayoutKey {
        key: "names",
        takes: "the line of the names, or none",
    },
    LayoutKey {
        key: "units",
        takes: "the line of the units, or none",
    },
    LayoutKey {
        key: "time",
        takes: "the number or the name of the time column, or none",
    },
    LayoutKey {
        key: "interval",
        takes: "the sample interval: a number above zero, in seconds or with a unit such as us",
    },
    LayoutKey {
        key: "unit.N",
        takes: "the unit of column N, for instance mV, A or us",
    },
];

/// Refuses keys that do not exist.
pub(super) fn check_keys(file: &str, options: &ReadOptions) -> Result<(), FormatError> {
    for key in options.layout.keys() {
        let exists = match key.strip_prefix("unit.") {
            Some(number) => number.parse::<usize>().is_ok_and(|n| n > 0),
            None => LAYOUT_KEYS.iter().any(|known| known.key == key),
        };
        if !exists {
            return Err(FormatError::UnknownKey {
                file: file.to_owned(),
                key: key.clone(),
                known: LAYOUT_KEYS.iter().map(|known| known.key).collect(),
            });
        }
    }
    Ok(())
}

/// The value given for `key`, without surrounding blanks.
pub(super) fn given<'a>(options: &'a ReadOptions, key: &str) -> Option<&'a str> {
    options.layout.get(key).map(|value| value.trim())
}

/// The refusal of the value given for `key`.
pub(super) fn bad_value(file: &str, key: &str, value: &str) -> FormatError {
    let name = if key.starts_with("unit.") {
        "unit.N"
    } else {
        key
    };
    FormatError::BadValue {
        file: file.to_owned(),
        key: key.to_owned(),
        value: value.to_owned(),
        expected: LAYOUT_KEYS
            .iter()
            .find(|known| known.key == name)
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
        for key in ["unit.0", "unit.x", "unit."] {
            assert!(check_keys("a.csv", &ReadOptions::default().with(key, "V")).is_err());
        }
        assert!(check_keys("a.csv", &ReadOptions::default().with("unit.12", "V")).is_ok());
    }
}
