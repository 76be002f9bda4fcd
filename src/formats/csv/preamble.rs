//! Properties of the record that stand before its samples, or beside the first of them.

use super::dialect::{Dialect, shortened};
use super::head::{Head, HeadLine, is_comment};
use super::keys::{self, Key};
use crate::data::{Answer, Unit};
use crate::formats::FormatError;
use crate::formats::text::cell::{self, Separator};
use crate::formats::text::odd::{self, Marks, OddNumber, Suffix};
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
}

/// All properties, in the order of the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Preamble {
    /// The properties.
    pub properties: Vec<Property>,
    /// Cells in a row of samples.
    width: usize,
    decimal: u8,
}

/// A number of a property, with its line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Said {
    /// The number as it stands there.
    pub value: f64,
    /// The unit that stands with it or with its name.
    pub unit: Option<Scaled>,
    /// Line.
    pub line: u64,
}

impl Said {
    /// The number in SI.
    pub fn si(&self) -> f64 {
        // two doubles: `1 us` becomes 1e-6 to the last bit
        let factor = self.unit.map_or(1.0, |scaled| scaled.factor);
        if factor < 1.0 {
            self.value / (1.0 / factor).round()
        } else {
            self.value * factor
        }
    }
}

/// Reads the properties in the lines before the samples, but for those of names and units.
pub(super) fn read(head: &Head, dialect: &Dialect, header_lines: &[u64]) -> Preamble {
    let mut preamble = Preamble {
        properties: Vec::new(),
        width: dialect.table.width,
        decimal: dialect.marks.decimal,
    };
    let mut channel = None;
    let before = head.lines.iter().take(dialect.table.first);
    for line in before.filter(|line| !header_lines.contains(&line.number)) {
        for property in properties_of(line, dialect) {
            preamble.add(property, &mut channel);
        }
    }
    for line in dialect.rows(head) {
        if let Some(property) = beside(line, dialect) {
            preamble.add(property, &mut channel);
        }
    }
    preamble
}

impl Preamble {
    /// Adds a property that was found elsewhere, for instance under a name in the header.
    pub fn add_value(&mut self, key: Key, line: u64, column: usize, text: String) {
        let property = Property {
            key,
            line,
            column,
            unit: None,
            values: vec![(column, text)],
            channel: None,
        };
        self.properties.push(property);
    }

    fn add(&mut self, mut property: Property, channel: &mut Option<String>) {
        if property.key == Key::Channel {
            if let [(_, name)] = property.values.as_slice() {
                *channel = Some(name.clone());
            }
        } else if property.channel.is_none() {
            property.channel = channel.clone();
        }
        self.properties.push(property);
    }

    fn of(&self, key: Key) -> impl Iterator<Item = &Property> {
        self.properties.iter().filter(move |p| p.key == key)
    }

    /// The number of a property of the whole record; the first where several stand there.
    pub fn number(&self, key: Key) -> Option<Said> {
        self.of(key)
            .find_map(|p| self.numeric(p, p.values.first()?.1.as_str()))
    }

    /// All numbers of a property.
    pub fn numbers(&self, key: Key) -> Vec<Said> {
        self.of(key)
            .flat_map(|p| {
                p.values
                    .iter()
                    .filter_map(|(_, text)| self.numeric(p, text))
            })
            .collect()
    }

    /// The text of a property of the whole record.
    pub fn text(&self, key: Key) -> Option<(&str, u64)> {
        let property = self.of(key).next()?;
        Some((property.values.first()?.1.as_str(), property.line))
    }

    /// The number of a property for one channel.
    pub fn channel_number(&self, key: Key, channel: &ChannelPlace<'_>) -> Option<Said> {
        self.of(key)
            .find_map(|p| self.numeric(p, self.value_for(p, channel)?))
    }

    /// The text of a property for one channel, and its line.
    pub fn channel_text(&self, key: Key, channel: &ChannelPlace<'_>) -> Option<(&str, u64)> {
        self.of(key)
            .find_map(|p| Some((self.value_for(p, channel)?, p.line)))
    }

    /// The value of a property that is meant for a channel.
    fn value_for<'a>(&self, property: &'a Property, channel: &ChannelPlace<'_>) -> Option<&'a str> {
        if let Some(named) = &property.channel
            && !channel.is_called(named)
        {
            return None;
        }
        let by_column = property.column < channel.column
            && property.values.len() + property.column < self.width + 1;
        let at = |column: usize| property.values.iter().find(|(at, _)| *at == column);
        let found = match property.values.as_slice() {
            [one] => Some(one),
            values if values.len() == channel.channels => values.get(channel.number),
            values if values.len() == self.width => values.get(channel.column),
            _ if by_column => at(channel.column),
            _ => None,
        };
        found.map(|(_, text)| text.as_str())
    }

    fn numeric(&self, property: &Property, text: &str) -> Option<Said> {
        let number = number_in(text, self.decimal)?;
        let unit = match number.suffix {
            Suffix::Unit(scaled) => Some(Scaled {
                factor: 1.0,
                ..scaled
            }),
            Suffix::Prefix(_) => property.unit.map(|unit| Scaled {
                factor: 1.0,
                ..unit
            }),
            Suffix::None => property.unit,
        };
        Some(Said {
            value: number.number.value,
            unit,
            line: property.line,
        })
    }
}

/// Where a channel stands among the columns.
#[derive(Debug, Clone, Copy)]
pub(super) struct ChannelPlace<'a> {
    /// Index of its column.
    pub column: usize,
    /// Its number among the channels, from 0.
    pub number: usize,
    /// How many channels there are.
    pub channels: usize,
    /// Its name.
    pub name: &'a str,
}

impl ChannelPlace<'_> {
    fn is_called(&self, named: &str) -> bool {
        let (named, name) = (keys::plain(named), keys::plain(self.name));
        let trailing = named.trim_start_matches(|c: char| !c.is_ascii_digit());
        named == name
            || self.channels == 1
            || trailing.parse() == Ok(self.number + 1)
                && !name.ends_with(|c: char| c.is_ascii_digit())
    }
}

/// A number in a property's value: `1.0E-6`, `500 kSa/s`, `2,5 us`.
fn number_in(text: &str, decimal: u8) -> Option<OddNumber> {
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

/// The properties on a line: a name and its values, in cells or behind a colon or an equals sign.
fn properties_of(line: &HeadLine, dialect: &Dialect) -> Vec<Property> {
    let text = uncommented(&line.text);
    let cells = cell::split(text, dialect.separator);
    let filled: Vec<(usize, &str)> = cells
        .iter()
        .enumerate()
        .map(|(column, text)| (column, cell::bare(text)))
        .filter(|(_, text)| !text.is_empty())
        .collect();
    // a name with its value behind a mark, several of them in a line, or all of it in one cell
    let marked: Vec<Property> = filled
        .iter()
        .filter_map(|(column, text)| split_mark(text, *column, line.number))
        .collect();
    if !marked.is_empty() && marked.len() == filled.len() {
        return marked;
    }
    named(&filled, line.number)
        .or_else(|| split_mark(text.trim(), 0, line.number))
        .or_else(|| otherwise_split(text, line.number))
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
fn beside(line: &HeadLine, dialect: &Dialect) -> Option<Property> {
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

/// The sample interval that the properties tell, in seconds, with the line that tells it.
///
/// # Errors
/// [`FormatError::Ask`] where two properties disagree.
pub(super) fn interval(preamble: &Preamble, file: &str) -> Result<Option<Said>, FormatError> {
    let seconds = |said: &Said| said.unit.is_none_or(|u| u.unit == Unit::Second);
    let hertz = |said: &Said| said.unit.is_none_or(|u| u.unit == Unit::Hertz);
    let mut found: Vec<Said> = preamble.numbers(Key::Interval);
    found.retain(seconds);
    let mut rates: Vec<Said> = preamble.numbers(Key::Rate);
    rates.retain(|said| hertz(said) && said.value > 0.0);
    let as_interval = |rate: Said| Said {
        value: 1.0 / rate.si(),
        unit: None,
        line: rate.line,
    };
    found.extend(rates.into_iter().map(as_interval));
    found.retain(|said| said.si() > 0.0 && said.si().is_finite());
    let Some(first) = found.first().copied() else {
        return Ok(None);
    };
    match found
        .iter()
        .find(|s| (s.si() / first.si() - 1.0).abs() > 0.01)
    {
        None => Ok(Some(Said {
            value: first.si(),
            unit: None,
            line: first.line,
        })),
        Some(other) => Err(FormatError::ask(
            file,
            format!(
                "lines {} and {} tell different sample intervals: {:e} s and {:e} s; which one is it?",
                first.line,
                other.line,
                first.si(),
                other.si()
            ),
            vec![
                Answer::of("interval", format!("{:e}", first.si())),
                Answer::of("interval", format!("{:e}", other.si())),
            ],
        )),
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

/// Does this line hold a property, rather than names of columns?
pub(super) fn is_property_line(cells: &[&str]) -> bool {
    let filled: Vec<(usize, &str)> = cells
        .iter()
        .enumerate()
        .map(|(column, text)| (column, cell::bare(text)))
        .filter(|(_, text)| !text.is_empty())
        .collect();
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

/// What a section of a file is called by the lines above it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Label {
    /// Nothing tells.
    None,
    /// A channel.
    Channel(String),
    /// A segment, a record, a sweep.
    Segment(String),
}

impl Preamble {
    /// What the properties call the section; the last word counts.
    pub fn label(&self) -> Label {
        let last = |key| self.of(key).last().and_then(|p| p.values.first());
        match (last(Key::Segment), last(Key::Channel)) {
            (Some((_, number)), _) => Label::Segment(shortened(number)),
            (None, Some((_, name))) => Label::Channel(name.clone()),
            (None, None) => Label::None,
        }
    }
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
