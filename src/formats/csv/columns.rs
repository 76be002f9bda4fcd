//! What each column is: time, a channel, a count, or left out; with names, units and scales.

use super::dialect::{self, Dialect};
use super::draft::{self, Content, Draft};
use super::head::Head;
use super::header::Header;
use super::keys::{self, Key};
use super::plan::{AxisPlan, ColumnPlan, Slot};
use super::preamble::{self, ChannelPlace, Label, Preamble};
use super::scales;
use super::time_axis::{self, Known, Times};
use super::{extremes, unit_text};
use crate::data::{Decision, Note, Unit};
use crate::formats::text::{clock, unit};
use crate::formats::{FormatError, ReadOptions, layout};

/// What is known of the columns.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    /// The columns, those left out included.
    pub columns: Vec<ColumnPlan>,
    /// Where times come from.
    pub axes: Vec<AxisPlan>,
    /// The lines of names and units.
    pub header: Header,
    /// What the lines above call the section.
    pub label: Label,
    /// Channels of whose first cells none holds anything.
    pub empty: Vec<usize>,
    /// A column of dates beside clock times without one.
    pub dates: Option<usize>,
    /// Samples that the file announces, with the line.
    pub declared: Option<(u64, u64)>,
    /// The decisions taken.
    pub decisions: Vec<Decision>,
    /// What the user should know.
    pub notes: Vec<Note>,
}

/// What a section takes over from the one before it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Inherited {
    /// Its names and units.
    pub header: Header,
    /// Properties of the whole file.
    pub preamble: Preamble,
}

/// Finds what each column is.
pub(super) fn find(
    head: &Head,
    dialect: &Dialect,
    inherited: Option<&Inherited>,
    options: &ReadOptions,
) -> Result<(Columns, Inherited), FormatError> {
    let mut header = Header::find(head, dialect, options)?;
    let mut preamble = preamble::read(head, dialect, &header.lines());
    let label = preamble.label();
    if let Some(before) = inherited {
        if header.names_line.is_none() {
            header = before.header.clone();
        }
        preamble
            .properties
            .extend(before.preamble.properties.iter().cloned());
    }
    let drafts = draft::all(head, dialect, &header, options)?;
    properties_in_header(head, dialect, &header, &drafts, &mut preamble);
    let known = Known {
        head,
        dialect,
        drafts: &drafts,
        header: &header,
        preamble: &preamble,
        options,
    };
    let times = time_axis::choose(&known)?;
    let mut found = Columns {
        columns: Vec::new(),
        axes: times.axes.clone(),
        label,
        empty: (0..drafts.len())
            .filter(|index| {
                drafts
                    .get(*index)
                    .is_some_and(|d| d.content == Content::Nothing)
            })
            .collect(),
        dates: dates(&known),
        declared: declared(&preamble),
        decisions: header.decisions(options),
        notes: Vec::new(),
        header: header.clone(),
    };
    found.decisions.extend(times.decisions.iter().cloned());
    found.fill(&known, &times)?;
    Ok((found, Inherited { header, preamble }))
}

/// A column that holds dates and nothing else.
fn dates(known: &Known<'_>) -> Option<usize> {
    (0..known.drafts.len()).find(|index| {
        let texts = known.dialect.column(known.head, *index);
        !texts.is_empty() && texts.iter().all(|text| clock::is_date(text))
    })
}

/// How many samples the file says it has.
fn declared(preamble: &Preamble) -> Option<(u64, u64)> {
    let said = preamble.number(Key::Points)?;
    let whole = said.value >= 2.0 && said.value.fract() == 0.0 && said.value < 1e15;
    whole.then_some((said.value as u64, said.line))
}

/// Properties whose names stand in the header, and their values below.
fn properties_in_header(
    head: &Head,
    dialect: &Dialect,
    header: &Header,
    drafts: &[Draft],
    preamble: &mut Preamble,
) {
    let line = header.units_line.or(header.names_line).unwrap_or(1);
    for (index, name) in header.names.iter().enumerate() {
        let Some(key) = keys::find(name) else {
            continue;
        };
        let content = drafts.get(index).map_or(Content::Nothing, |d| d.content);
        let below = match content {
            Content::First => dialect.column(head, index).first().copied().unwrap_or(""),
            Content::Nothing => header.units.get(index).map_or("", String::as_str),
            _ => continue,
        };
        if !below.is_empty() {
            preamble.add_value(key, line, index, below.to_owned());
        }
    }
}

impl Columns {
    fn fill(&mut self, known: &Known<'_>, times: &Times) -> Result<(), FormatError> {
        let told = |index: usize| layout::given_column(known.options, "column", index);
        let is_channel = |index: usize, draft: &Draft| match told(index) {
            Some("channel" | "min" | "max") => true,
            Some(_) => false,
            None => {
                draft.is_numeric() && draft.content != Content::Clock
                    || (draft.content == Content::Nothing
                        && !draft.name.is_empty()
                        && keys::find(&draft.name).is_none())
            }
        };
        let taken = |index: usize| {
            times.columns.iter().any(|time| time.index == index) || times.counts.contains(&index)
        };
        let channels: Vec<usize> = (0..known.drafts.len())
            .filter(|index| {
                !taken(*index)
                    && known
                        .drafts
                        .get(*index)
                        .is_some_and(|d| is_channel(*index, d))
            })
            .collect();
        for (index, draft) in known.drafts.iter().enumerate() {
            let number = channels.iter().position(|column| *column == index);
            let column = if let Some(time) = times.columns.iter().position(|t| t.index == index) {
                time_column(draft, times, time)
            } else if let Some(number) = number {
                let place = ChannelPlace {
                    column: index,
                    number,
                    channels: channels.len(),
                    name: &draft.name,
                };
                self.channel(known, times, draft, &place)?
            } else {
                self.left_out(known, index, draft, times.counts.contains(&index))
            };
            self.columns.push(column);
        }
        if channels.is_empty() {
            return Err(FormatError::TooLittle {
                file: known.head.file.clone(),
                what: "no column besides time".to_owned(),
                wanted: "at least one channel",
            });
        }
        extremes::pair(&mut self.columns, known.options, &mut self.decisions);
        Ok(())
    }

    fn channel(
        &mut self,
        known: &Known<'_>,
        times: &Times,
        draft: &Draft,
        place: &ChannelPlace<'_>,
    ) -> Result<ColumnPlan, FormatError> {
        let number = place.column + 1;
        let (unit, factor, why) = unit_of(known, draft, place, &mut self.notes);
        self.decisions.push(Decision {
            what: format!("unit.{number}"),
            value: shown_unit(unit, factor),
            why,
        });
        let scale = scales::find(known, draft, place, &mut self.decisions)?;
        let mut column = ColumnPlan {
            name: name_of(known, draft, place, &self.label),
            unit,
            factor,
            offset: 0.0,
            slot: Slot::Single,
            axis: times.axis_of(place.column),
            extreme: None,
            full_scale: None,
            by_division: false,
            counts: false,
            codes: scale.is_some() && draft.content == Content::Whole,
        };
        if let Some(scale) = scale {
            column.offset = scale.offset * factor;
            column.factor = scale.per_count * factor;
        }
        let range = scales::full_scale(known, place, factor, &mut self.decisions)?;
        column.by_division = range.is_some_and(|range| range.by_division);
        column.full_scale = range.map(|range| (range.low, range.high));
        Ok(column)
    }

    fn left_out(
        &mut self,
        known: &Known<'_>,
        index: usize,
        draft: &Draft,
        counts: bool,
    ) -> ColumnPlan {
        let told = layout::given_column(known.options, "column", index).is_some();
        let why = match (counts, draft.content) {
            _ if told => layout::why_given(known.options, &format!("column.{}", index + 1)),
            (true, _) => "it only counts the samples".to_owned(),
            (_, Content::Texts) => "it holds texts".to_owned(),
            (_, Content::Beside | Content::First) => "it holds properties of the record".to_owned(),
            (_, Content::Clock) => "a clock beside another time".to_owned(),
            _ => "nothing stands in it".to_owned(),
        };
        self.decisions.push(Decision {
            what: format!("column.{}", index + 1),
            value: if counts { "count" } else { "leave-out" }.to_owned(),
            why,
        });
        if draft.content == Content::Texts {
            let texts = known.dialect.column(known.head, index);
            self.notes.push(Note::new(format!(
                "column {}: texts are left out, the first is `{}`",
                index + 1,
                dialect::shortened(texts.first().unwrap_or(&""))
            )));
        }
        ColumnPlan {
            name: draft.name.clone(),
            unit: Unit::Unknown,
            factor: 1.0,
            offset: 0.0,
            slot: Slot::Skip,
            axis: 0,
            extreme: None,
            full_scale: None,
            by_division: false,
            counts,
            codes: false,
        }
    }
}

fn time_column(draft: &Draft, times: &Times, axis: usize) -> ColumnPlan {
    let time = times.columns.get(axis);
    ColumnPlan {
        name: draft.name.clone(),
        unit: Unit::Second,
        factor: time.map_or(1.0, |t| t.factor),
        offset: time.map_or(0.0, |t| t.offset),
        slot: Slot::Time,
        axis,
        extreme: None,
        full_scale: None,
        by_division: false,
        counts: false,
        codes: false,
    }
}

/// The name of a channel: its own, that of the section, or its number.
fn name_of(known: &Known<'_>, draft: &Draft, place: &ChannelPlace<'_>, label: &Label) -> String {
    let told = layout::given_column(known.options, "name", place.column);
    let in_preamble = known.preamble.channel_text(Key::Channel, place);
    match (told, label) {
        (Some(name), _) => name.to_owned(),
        (None, Label::Channel(name)) if place.channels == 1 => {
            unit::split_name(name).name.to_owned()
        }
        _ if !draft.name.is_empty() => draft.name.clone(),
        _ => match in_preamble {
            Some((name, _)) if place.channels > 1 || !name.is_empty() => name.to_owned(),
            _ => format!("CH{}", place.number + 1),
        },
    }
}

/// Unit and factor of a channel, and where they come from.
fn unit_of(
    known: &Known<'_>,
    draft: &Draft,
    place: &ChannelPlace<'_>,
    notes: &mut Vec<Note>,
) -> (Unit, f64, String) {
    let number = place.column + 1;
    if let Some(scaled) = draft.unit {
        return (scaled.unit, scaled.factor, draft.why.clone());
    }
    let told = known.preamble.channel_text(Key::Unit, place);
    let (text, why) = match (&draft.unknown, told) {
        (Some(text), _) => (text.as_str(), "the unit named is not known".to_owned()),
        (None, Some((text, line))) => match unit_text::parse(text) {
            Some(scaled) => return (scaled.unit, scaled.factor, format!("told in line {line}")),
            None => (text, format!("the unit told in line {line} is not known")),
        },
        (None, None) => return (Unit::Volt, 1.0, "no unit named: volts assumed".to_owned()),
    };
    notes.push(Note::new(format!(
        "column {number}: the unit `{}` is not known; its numbers are kept as they are",
        dialect::shortened(text)
    )));
    (Unit::Unknown, 1.0, why)
}

/// The unit with its prefix.
pub(super) fn shown_unit(unit: Unit, factor: f64) -> String {
    const PREFIXES: [(f64, &str); 9] = [
        (1e-12, "p"),
        (1e-9, "n"),
        (1e-6, "u"),
        (1e-3, "m"),
        (1.0, ""),
        (1e3, "k"),
        (1e6, "M"),
        (1e9, "G"),
        (0.01, "%"),
    ];
    let near = |(size, _): &&(f64, &str)| (factor / size - 1.0).abs() < 1e-9;
    match PREFIXES.iter().find(near) {
        Some((_, "%")) => "%".to_owned(),
        Some((_, prefix)) => format!("{prefix}{}", unit.symbol()),
        None => unit.symbol().to_owned(),
    }
}
