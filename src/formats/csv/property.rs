//! One line of properties: a name and its values, in the many ways in which they are written.

use super::dialect::Dialect;
use super::head::{HeadLine, is_comment};
use super::keys::{self, Key};
use crate::formats::text::cell::{self, Separator};
use crate::formats::text::odd::{self, Marks, OddNumber};
use crate::formats::text::unit::{self, Scaled};

/// One property.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Property {
    /// What it says.
    pub key: Key,
    /// Line.
    pub line: u64,
    /// Column in which its name stands, from 0.
    pub column: usize,
    /// Unit named with it.
    pub unit: Option<Scaled>,
    /// Its values, each with the column in which it stands.
    pub values: Vec<(usize, String)>,
    /// The channel that it is said of: a name, or the number of its place.
    pub channel: Option<String>,
    /// Two numbers that may as well be one with a decimal comma: `4,8828125e-4`.
    pub torn: bool,
}

impl Property {
    /// Marks two whole numbers between commas: they may be one.
    fn unless_torn(mut self, dialect: &Dialect) -> Self {
        let digits =
            |text: &str| text.starts_with(|c: char| c.is_ascii_digit()) && !text.contains('.');
        if let [(_, first), (_, second)] = self.values.as_slice() {
            let whole = first.trim_start_matches(['-', '+']);
            self.torn = dialect.separator == Separator::Comma
                && !whole.is_empty()
                && whole.bytes().all(|b| b.is_ascii_digit())
                && digits(second);
        }
        self
    }
}

/// A number in a property's value: `1.0E-6`, `500 kSa/s`, `2,5 us`.
pub(super) fn number_in(text: &str, decimal: u8) -> Option<OddNumber> {
    let text = cell::bare(text);
    // samples per second are a rate like any other
    let text = [
        "Sa/s",
        "sa/s",
        "S/s",
        "Sps",
        "sps",
        "samples/s",
        "pts",
        "points",
        "samples",
    ]
    .iter()
    .find_map(|word| text.strip_suffix(word))
    .unwrap_or(text)
    .trim_end();
    let other = if decimal == b'.' { b',' } else { b'.' };
    odd::parse(text, Marks::of(decimal)).or_else(|| odd::parse(text, Marks::of(other)))
}

/// Cells that hold something, without blanks and quotation marks, each with its column.
fn filled<'a>(cells: &[&'a str]) -> Vec<(usize, &'a str)> {
    cells
        .iter()
        .enumerate()
        .map(|(column, text)| (column, cell::bare(text)))
        .filter(|(_, text)| !text.is_empty())
        .collect()
}

/// The properties on a line: a name and its values, in cells or behind a colon or an equals sign.
pub(super) fn properties_of(line: &HeadLine, dialect: &Dialect) -> Vec<Property> {
    let text = uncommented(&line.text);
    let cells = cell::split(text, dialect.separator);
    let filled = filled(&cells);
    let whole = || split_mark(text.trim(), 0, line.number);
    let otherwise = || otherwise_split(text, line.number);
    let found = if dialect.separator == Separator::Space {
        // blanks part the words of a name as well
        whole().or_else(otherwise)
    } else {
        // a name with its value behind a mark, several of them in a line, or all of it in one cell
        let marked: Vec<Property> = filled
            .iter()
            .filter_map(|(column, text)| split_mark(text, *column, line.number))
            .collect();
        if !marked.is_empty() && marked.len() == filled.len() {
            return marked;
        }
        named(&filled, line.number)
            .map(|property| property.unless_torn(dialect))
            .or_else(whole)
            .or_else(otherwise)
    };
    found
        .or_else(|| split_words(text.trim(), line.number))
        .or_else(|| alone(&filled, line.number))
        .into_iter()
        .collect()
}

/// A name and its values between separators that the samples do not have.
fn otherwise_split(text: &str, line: u64) -> Option<Property> {
    [Separator::Tab, Separator::Semicolon, Separator::Comma]
        .into_iter()
        .find_map(|separator| {
            let cells = cell::split(text, separator);
            let filled: Vec<(usize, &str)> = cells
                .iter()
                .map(|text| cell::bare(text))
                .filter(|text| !text.is_empty())
                .enumerate()
                .collect();
            named(&filled, line)
        })
}

/// `Name: value` or `Name = value`.
fn split_mark(text: &str, column: usize, line: u64) -> Option<Property> {
    let (name, value) = text.split_once([':', '='])?;
    let value = value.trim();
    (!value.is_empty())
        .then(|| property(name, vec![(column, value.to_owned())], column, line))
        .flatten()
}

/// `Segment 3`, `Channel 2`: a name and a number with a blank between.
fn split_words(text: &str, line: u64) -> Option<Property> {
    let text = text.trim_matches(['[', ']', '-', '*', ' ', ',', ';']);
    let (name, value) = text.rsplit_once([' ', '#'])?;
    let found = property(
        name.trim_end_matches(['#', ' ']),
        vec![(0, value.to_owned())],
        0,
        line,
    )?;
    let number = value.bytes().all(|b| b.is_ascii_digit());
    (number && matches!(found.key, Key::Segment | Key::Channel)).then_some(found)
}

/// `CH2` or `[CH2]` alone on its line: the channel that follows.
fn alone(filled: &[(usize, &str)], line: u64) -> Option<Property> {
    let [(column, text)] = filled else {
        return None;
    };
    let name = text.trim_matches(['[', ']', '-', '*', ' ', '<', '>']);
    is_channel(name).then(|| Property {
        key: Key::Channel,
        line,
        column: *column,
        unit: None,
        values: vec![(*column, name.to_owned())],
        channel: None,
        torn: false,
    })
}

/// A name in the first cell, values in the others.
fn named(filled: &[(usize, &str)], line: u64) -> Option<Property> {
    let ((column, name), values) = filled.split_first()?;
    if values.is_empty() {
        return None;
    }
    let values = values
        .iter()
        .map(|(at, text)| (*at, (*text).to_owned()))
        .collect();
    property(name.trim_end_matches([':', '=']), values, *column, line)
}

fn property(
    name: &str,
    values: Vec<(usize, String)>,
    column: usize,
    line: u64,
) -> Option<Property> {
    let named = unit::split_name(name);
    let whole = keys::find(name);
    let (key, channel) = whole
        .or_else(|| keys::find(named.name))
        .map(|key| (key, None))
        .or_else(|| of_channel(named.name))?;
    Some(Property {
        key,
        line,
        column,
        unit: if whole.is_some() { None } else { named.unit },
        values,
        channel,
        torn: false,
    })
}

/// `CH2 offset`, `Offset CH2`: a property with the channel that it is said of.
fn of_channel(name: &str) -> Option<(Key, Option<String>)> {
    let words: Vec<&str> = name
        .split([' ', '_', '.', ':'])
        .filter(|w| !w.is_empty())
        .collect();
    let (first, last) = (words.first()?, words.last()?);
    let without = |range: std::ops::Range<usize>| words.get(range).map(|w| w.join(" "));
    let count = words.len();
    if is_channel(first) {
        Some((keys::find(&without(1..count)?)?, Some((*first).to_owned())))
    } else if is_channel(last) {
        Some((
            keys::find(&without(0..count - 1)?)?,
            Some((*last).to_owned()),
        ))
    } else {
        None
    }
}

/// `CH2`, `C2`, `Channel2`: a channel by its number.
fn is_channel(word: &str) -> bool {
    let word = word.to_lowercase();
    let number = word.trim_start_matches(|c: char| c.is_alphabetic());
    let letters = word.strip_suffix(number).unwrap_or("");
    !number.is_empty()
        && number.bytes().all(|b| b.is_ascii_digit())
        && ["ch", "c", "chan", "channel", "kanal", "k"].contains(&letters)
}

/// Properties beside a row of samples.
pub(super) fn beside(line: &HeadLine, dialect: &Dialect) -> Option<Property> {
    if dialect.table.beside.is_empty() {
        return None;
    }
    let cells = cell::split(&line.text, dialect.separator);
    let filled: Vec<(usize, &str)> = cells
        .iter()
        .enumerate()
        .filter(|(column, _)| dialect.table.beside.contains(column))
        .map(|(column, text)| (column, cell::bare(text)))
        .filter(|(_, text)| !text.is_empty())
        .collect();
    named(&filled, line.number).or_else(|| split_mark(filled.first()?.1, 0, line.number))
}

/// A header line without a comment mark; one without such a mark stays whole, blanks before it too.
pub(super) fn uncommented(text: &str) -> &str {
    if !is_comment(text.as_bytes()) {
        return text;
    }
    text.trim_start()
        .trim_start_matches(['#', '%', '!'])
        .trim_start_matches("//")
}

/// Does this line hold a property, rather than names of columns?
pub(super) fn is_property_line(cells: &[&str]) -> bool {
    let filled = filled(cells);
    let Some((_, others)) = filled.split_first() else {
        return false;
    };
    let Some(found) = named(&filled, 0) else {
        return false;
    };
    let is_number = |text: &str| number_in(text, b'.').is_some();
    let first = others.first().is_some_and(|(_, text)| is_number(text));
    let names_time = others
        .iter()
        .any(|(_, text)| unit::is_time_word(unit::split_name(text).name));
    match found.key {
        Key::Channel | Key::Unit | Key::TimeUnit => !names_time,
        Key::Segment => first && !names_time,
        Key::FullScale => !names_time,
        _ => first,
    }
}

/// The range in a property's value: `-10 V to 10 V`, `-10..10`, `±10 V`; `None` for a single number,
/// which could be either side.
pub(super) fn range_in(text: &str, decimal: u8) -> Option<(f64, f64)> {
    let text = cell::bare(text);
    if let Some(half) = text.strip_prefix('±').or_else(|| text.strip_prefix("+/-")) {
        let half = number_in(half, decimal)?.number.value;
        return (half > 0.0).then_some((-half, half));
    }
    for mark in ["..", " to ", " bis ", " … ", "…", "~", "/"] {
        if let Some((low, high)) = text.split_once(mark) {
            let low = number_in(low, decimal)?.number.value;
            let high = number_in(high, decimal)?.number.value;
            return (low < high).then_some((low, high));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_properties_carry_their_units() {
        let si = |text: &str| number_in(text, b'.').map(|n| n.number.value);
        assert_eq!(si("500 kSa/s"), Some(500e3));
        assert_eq!(si("2MS/s"), Some(2e6));
        assert_eq!(si("1,5 us"), Some(1.5e-6));
        assert_eq!(si("4000 points"), Some(4000.0));
        assert_eq!(si("auto"), None);
    }

    #[test]
    fn ranges_have_two_ends() {
        assert_eq!(range_in("-10 V to 10 V", b'.'), Some((-10.0, 10.0)));
        assert_eq!(range_in("±5V", b'.'), Some((-5.0, 5.0)));
        assert_eq!(range_in("-0.5..20", b'.'), Some((-0.5, 20.0)));
        assert_eq!(range_in("20 V", b'.'), None);
    }
}
