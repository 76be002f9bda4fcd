//! Properties of the record that stand before its samples, or beside the first of them.

use super::dialect::{Dialect, shortened};
use super::head::Head;
use super::keys::{self, Key};
use super::property::{self, Property, number_in};
use crate::data::{Answer, Unit};
use crate::formats::FormatError;
use crate::formats::text::odd::Suffix;
use crate::formats::text::unit::Scaled;

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
        for property in property::properties_of(line, dialect) {
            preamble.add(property, &mut channel);
        }
    }
    for line in dialect.rows(head) {
        if let Some(property) = property::beside(line, dialect) {
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
            torn: false,
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

    /// The line of a property whose number is in doubt, and the number as it stands.
    pub fn torn(&self, key: Key) -> Option<(u64, String)> {
        let property = self.of(key).find(|p| p.torn)?;
        let texts: Vec<&str> = property
            .values
            .iter()
            .map(|(_, text)| text.as_str())
            .collect();
        Some((property.line, shortened(&texts.join(","))))
    }

    fn numeric(&self, property: &Property, text: &str) -> Option<Said> {
        if property.torn {
            return None;
        }
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
