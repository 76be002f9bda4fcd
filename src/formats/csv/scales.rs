//! Counts into values, and the range that a channel could show.

use super::draft::{Content, Draft};
use super::keys::Key;
use super::preamble::{ChannelPlace, Said};
use super::property;
use super::time_axis::Known;
use crate::data::{Answer, Decision, Unit};
use crate::formats::text::number;
use crate::formats::{FormatError, layout};

/// Value of a count: `count × per_count + offset`, in the unit of the column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Value of one count.
    pub per_count: f64,
    /// Value of count 0.
    pub offset: f64,
}

/// A range that a channel could show, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Range {
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// Does it come from volts per division?
    pub by_division: bool,
}

/// Divisions of a screen from bottom to top: eight, common practice.
const DIVISIONS: f64 = 8.0;

/// Numbers that the user told for a column.
fn told(
    known: &Known<'_>,
    stem: &str,
    place: &ChannelPlace<'_>,
) -> Result<Option<f64>, FormatError> {
    let Some(text) = layout::given_column(known.options, stem, place.column) else {
        return Ok(None);
    };
    let key = format!("{stem}.{}", place.column + 1);
    number::whole(text, b'.')
        .map(|n| n.value)
        .filter(|value| value.is_finite() && (stem == "offset" || *value != 0.0))
        .map(Some)
        .ok_or_else(|| layout::bad_value(&known.head.file, &key, text))
}

/// The scale of a channel whose samples are counts; `None` where they are values already.
pub(super) fn find(
    known: &Known<'_>,
    draft: &Draft,
    place: &ChannelPlace<'_>,
    decisions: &mut Vec<Decision>,
) -> Result<Option<Scale>, FormatError> {
    let number = place.column + 1;
    let (scale, offset) = (told(known, "scale", place)?, told(known, "offset", place)?);
    let mut decide = |stem: &str, value: f64, why: String| {
        decisions.push(Decision {
            what: format!("{stem}.{number}"),
            value: format!("{value}"),
            why,
        });
    };
    let as_told = |stem: &str| layout::why_given(known.options, &format!("{stem}.{number}"));
    if scale.is_some() || offset.is_some() {
        let found = Scale {
            per_count: scale.unwrap_or(1.0),
            offset: offset.unwrap_or(0.0),
        };
        for (stem, value) in [("scale", scale), ("offset", offset)] {
            if let Some(value) = value {
                decide(stem, value, as_told(stem));
            }
        }
        return Ok(Some(found));
    }
    if draft.content != Content::Whole {
        return Ok(None);
    }
    for (key, stem) in [(Key::PerCount, "scale"), (Key::Offset, "offset")] {
        if let Some((line, text)) = known.preamble.torn(key) {
            return Err(FormatError::ask(
                &known.head.file,
                format!(
                    "`{text}` in line {line} can be two numbers, or one with a decimal comma; what is the {stem} of column {number}?"
                ),
                vec![Answer::open(format!("{stem}.{number}"))],
            ));
        }
    }
    let Some(per_count) = known.preamble.channel_number(Key::PerCount, place) else {
        return ambiguous(known, draft, place);
    };
    let unit = draft.unit.map_or(1.0, |scaled| scaled.factor);
    let in_unit = |said: Said| said.si() / unit;
    let offset = offset_of(known, place, per_count)?;
    let line = |said: Said| format!("told in line {}", said.line);
    decide("scale", in_unit(per_count), line(per_count));
    if let Some((value, why)) = &offset {
        decide("offset", value / unit, why.clone());
    }
    Ok(Some(Scale {
        per_count: in_unit(per_count),
        offset: offset.map_or(0.0, |(value, _)| value / unit),
    }))
}

/// Value of count 0 in SI: told as such, or by the count at value 0.
fn offset_of(
    known: &Known<'_>,
    place: &ChannelPlace<'_>,
    per_count: Said,
) -> Result<Option<(f64, String)>, FormatError> {
    let zero = known.preamble.channel_number(Key::ZeroCount, place);
    let offset = known.preamble.channel_number(Key::Offset, place);
    let number = place.column + 1;
    let volts = |said: &Said| said.unit.is_some_and(|u| u.unit == Unit::Volt);
    match (zero, offset) {
        (Some(zero), None) => Ok(Some((
            -zero.value * per_count.si(),
            format!("count {} of line {} is zero", zero.value, zero.line),
        ))),
        (Some(zero), Some(offset)) => Ok(Some((
            offset.si() - zero.value * per_count.si(),
            format!("told in lines {} and {}", zero.line, offset.line),
        ))),
        (None, None) => Ok(None),
        (None, Some(offset)) => {
            // a whole number without a unit may count codes as well as volts
            let open = !volts(&offset) && offset.value != 0.0 && offset.value.fract() == 0.0;
            if !open {
                return Ok(Some((offset.si(), format!("told in line {}", offset.line))));
            }
            Err(FormatError::ask(
                &known.head.file,
                format!(
                    "line {} tells an offset of {} without a unit: volts, or counts? Which value has count 0 of column {number}?",
                    offset.line, offset.value
                ),
                vec![
                    Answer::of(format!("offset.{number}"), format!("{}", offset.value)),
                    Answer::of(
                        format!("offset.{number}"),
                        format!("{}", -offset.value * per_count.si()),
                    ),
                ],
            ))
        }
    }
}

/// Whole numbers beside a scale that could be per count as well as per division: a question.
fn ambiguous(
    known: &Known<'_>,
    draft: &Draft,
    place: &ChannelPlace<'_>,
) -> Result<Option<Scale>, FormatError> {
    let scale = known
        .preamble
        .channel_number(Key::Scale, place)
        .or_else(|| known.preamble.channel_number(Key::PerDivision, place));
    let Some(said) = scale else {
        return Ok(None);
    };
    let number = place.column + 1;
    if draft.unit.is_some() {
        // `CH1 (V)`: the numbers are said to be values
        return Ok(None);
    }
    Err(FormatError::ask(
        &known.head.file,
        format!(
            "column {number} holds whole numbers, and line {} tells a scale of {}: are they counts, and what is one count worth?",
            said.line, said.value
        ),
        vec![
            Answer::open(format!("scale.{number}")),
            Answer::of(format!("unit.{number}"), "V"),
        ],
    ))
}

/// The range that a channel could show, in SI: as told, or in the preamble.
pub(super) fn full_scale(
    known: &Known<'_>,
    place: &ChannelPlace<'_>,
    factor: f64,
    decisions: &mut Vec<Decision>,
) -> Result<Option<Range>, FormatError> {
    let number = place.column + 1;
    let mut decide = |stem: &str, value: String, why: String| {
        decisions.push(Decision {
            what: format!("{stem}.{number}"),
            value,
            why,
        });
    };
    let key = format!("full-scale.{number}");
    if let Some(text) = layout::given(known.options, &key) {
        let wrong = || layout::bad_value(&known.head.file, &key, text);
        let range = property::range_in(text, b'.').ok_or_else(wrong)?;
        decide(
            "full-scale",
            format!("{}..{}", range.0, range.1),
            layout::why_given(known.options, &key),
        );
        return Ok(Some(Range {
            low: range.0,
            high: range.1,
            by_division: false,
        }));
    }
    let centre = known
        .preamble
        .channel_number(Key::Offset, place)
        .map_or(0.0, |said| said.si());
    let per_division = match told(known, "volts-per-division", place)? {
        Some(value) => {
            let why = layout::why_given(known.options, &format!("volts-per-division.{number}"));
            Some((value, why))
        }
        None => known
            .preamble
            .channel_number(Key::PerDivision, place)
            .map(|said| (said.si(), format!("told in line {}", said.line))),
    };
    if let Some((text, line)) = known.preamble.channel_text(Key::FullScale, place)
        && let Some((low, high)) = property::range_in(text, known.dialect.marks.decimal)
    {
        decide(
            "full-scale",
            format!("{}..{}", low * factor, high * factor),
            format!("told in line {line}"),
        );
        return Ok(Some(Range {
            low: low * factor,
            high: high * factor,
            by_division: false,
        }));
    }
    let Some((volts, why)) = per_division.filter(|(volts, _)| *volts > 0.0) else {
        return Ok(None);
    };
    decide("volts-per-division", format!("{volts}"), why);
    let half = 0.5 * DIVISIONS * volts;
    Ok(Some(Range {
        low: centre - half,
        high: centre + half,
        by_division: true,
    }))
}
