//! A column while its plan is made: its name, its unit, and what its first cells hold.

use super::dialect::{self, Dialect};
use super::head::Head;
use super::header::Header;
use super::keys;
use crate::data::Unit;
use crate::formats::text::cell::{self, CellKind};
use crate::formats::text::odd::{self, Suffix};
use crate::formats::text::unit::{self, Scaled};
use crate::formats::{FormatError, ReadOptions, layout};

/// What the first cells of a column hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Content {
    /// Whole numbers, written plainly.
    Whole,
    /// Numbers.
    Numbers,
    /// Times of day.
    Clock,
    /// Texts.
    Texts,
    /// Properties beside the first rows.
    Beside,
    /// A number in the first row alone.
    First,
    /// Nothing.
    Nothing,
}

/// A column while its plan is made.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Draft {
    /// Name without unit; empty when there is none.
    pub name: String,
    /// Name as in the file.
    pub full_name: String,
    /// The unit, where one is named that is known.
    pub unit: Option<Scaled>,
    /// A unit that is named and not known.
    pub unknown: Option<String>,
    /// Where the unit comes from.
    pub why: String,
    /// What its first cells hold.
    pub content: Content,
}

impl Draft {
    /// Can it be a channel or a time?
    pub fn is_numeric(&self) -> bool {
        matches!(
            self.content,
            Content::Whole | Content::Numbers | Content::Clock
        )
    }
}

/// Makes the drafts of all columns.
pub(super) fn all(
    head: &Head,
    dialect: &Dialect,
    header: &Header,
    options: &ReadOptions,
) -> Result<Vec<Draft>, FormatError> {
    let count = column_count(head, dialect, &header.names);
    if count > options.limits.columns {
        return Err(FormatError::TooManyColumns {
            file: head.file.clone(),
            line: head.lines.get(dialect.table.first).map_or(1, |l| l.number),
            found: count,
            limit: options.limits.columns,
        });
    }
    let mut drafts: Vec<Draft> = (0..count)
        .map(|index| {
            let name = text_at(&header.names, index);
            let mut draft = named(name, text_at(&header.units, index));
            draft.content = content(head, dialect, index, name);
            draft
        })
        .collect();
    units_in_cells(head, dialect, &mut drafts)?;
    units_to_the_right(head, dialect, &mut drafts);
    told_units(&head.file, options, &mut drafts)?;
    Ok(drafts)
}

fn text_at(cells: &[String], index: usize) -> &str {
    cells.get(index).map_or("", String::as_str)
}

/// Columns without the empty one after a trailing separator.
fn column_count(head: &Head, dialect: &Dialect, names: &[String]) -> usize {
    let width = dialect.table.width;
    let last = width.saturating_sub(1);
    let empty = dialect
        .column(head, last)
        .iter()
        .all(|text| text.is_empty());
    if empty && last > 0 && text_at(names, last).is_empty() && !dialect.table.beside.contains(&last)
    {
        last
    } else {
        width
    }
}

fn named(name: &str, unit_text: &str) -> Draft {
    let parts = unit::split_name(name);
    let mut draft = Draft {
        name: parts.name.to_owned(),
        full_name: name.to_owned(),
        unit: parts.unit,
        unknown: parts.unknown.map(str::to_owned),
        why: "named with the column".to_owned(),
        content: Content::Nothing,
    };
    let is_unit = !unit_text.is_empty() && !unit::is_index_word(unit_text);
    if is_unit {
        draft.unit = unit::parse(unit_text);
        draft.unknown = draft.unit.is_none().then(|| unit_text.to_owned());
        if parts.unit.is_none() {
            draft.name = name.to_owned();
        }
        draft.why = "from the row of units".to_owned();
    }
    draft
}

fn content(head: &Head, dialect: &Dialect, index: usize, name: &str) -> Content {
    if dialect.table.beside.contains(&index) {
        return Content::Beside;
    }
    let kinds = dialect::column_kinds(head, dialect, index);
    let any = |kind| kinds.contains(&kind);
    if dialect.table.texts.contains(&index) || any(CellKind::Text) {
        return Content::Texts;
    }
    if any(CellKind::Clock) {
        return Content::Clock;
    }
    if !any(CellKind::Number) && !any(CellKind::Odd) {
        let filled = kinds.iter().any(|kind| *kind != CellKind::Empty);
        return if filled {
            Content::Numbers
        } else {
            Content::Nothing
        };
    }
    let later = kinds.get(1..).unwrap_or(&[]);
    if keys::find(name).is_some() && kinds.len() > 1 && later.iter().all(|k| *k == CellKind::Empty)
    {
        return Content::First;
    }
    let whole = |text: &&str| {
        text.is_empty()
            || text
                .trim_start_matches(['+', '-'])
                .bytes()
                .all(|b| b.is_ascii_digit())
    };
    if dialect.column(head, index).iter().all(whole) {
        Content::Whole
    } else {
        Content::Numbers
    }
}

/// Units that stand in each cell: `12.5mV`.
fn units_in_cells(head: &Head, dialect: &Dialect, drafts: &mut [Draft]) -> Result<(), FormatError> {
    for (index, draft) in drafts.iter_mut().enumerate() {
        let suffixes: Vec<Suffix> = dialect
            .column(head, index)
            .iter()
            .filter_map(|text| odd::parse(text, dialect.marks))
            .map(|odd| odd.suffix)
            .filter(|suffix| *suffix != Suffix::None)
            .collect();
        let Some(first) = suffixes.first() else {
            continue;
        };
        let own = draft.unit.filter(|own| (own.factor - 1.0).abs() > 1e-9);
        if own.is_some_and(|own| suffixes.iter().all(|suffix| *suffix == Suffix::Unit(own))) {
            continue;
        }
        if own.is_some() {
            return Err(FormatError::ask(
                &head.file,
                format!(
                    "column {} is headed `{}`, and its cells have prefixes or units of their own; which unit has a cell without one?",
                    index + 1,
                    dialect::shortened(&draft.full_name)
                ),
                vec![crate::data::Answer::open(format!("unit.{}", index + 1))],
            ));
        }
        if let Suffix::Unit(scaled) = first {
            draft.unit = Some(Scaled {
                factor: 1.0,
                ..*scaled
            });
            draft.unknown = None;
            draft.why = "written in each cell".to_owned();
        }
    }
    Ok(())
}

/// A column of unit words beside a column of numbers: `4.987;V`.
fn units_to_the_right(head: &Head, dialect: &Dialect, drafts: &mut [Draft]) {
    for index in 1..drafts.len() {
        let texts = dialect.column(head, index);
        let unit = texts.first().and_then(|text| unit::parse(text));
        let same = texts.windows(2).all(|pair| pair.first() == pair.last());
        let is_text = drafts
            .get(index)
            .is_some_and(|d| d.content == Content::Texts);
        if let (Some(unit), true, true) = (unit, same, is_text)
            && let Some(left) = drafts.get_mut(index - 1)
            && left.is_numeric()
            && left.unit.is_none()
        {
            left.unit = Some(unit);
            left.unknown = None;
            left.why = format!("from the text in column {}", index + 1);
        }
    }
}

/// Puts in the names and units that the user told.
fn told_units(file: &str, options: &ReadOptions, drafts: &mut [Draft]) -> Result<(), FormatError> {
    for key in options.layout.keys().chain(options.remembered.keys()) {
        let Some((stem @ ("unit" | "name"), number)) = key.split_once('.') else {
            continue;
        };
        let value = layout::given(options, key).unwrap_or("");
        let place = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
        let Some(draft) = place.and_then(|index| drafts.get_mut(index)) else {
            return Err(layout::bad_value(file, key, value));
        };
        if stem == "name" {
            draft.name = value.to_owned();
            continue;
        }
        let Some(unit) = unit::parse(value) else {
            return Err(layout::bad_value(file, key, value));
        };
        draft.unit = Some(unit);
        draft.unknown = None;
        draft.why = layout::why_given(options, key);
    }
    Ok(())
}

/// Is the unit of a column one of time?
pub(super) fn is_time(draft: &Draft) -> bool {
    let unit = draft.unit.map(|scaled| scaled.unit);
    draft.is_numeric()
        && (unit == Some(Unit::Second)
            || draft.content == Content::Clock
            || (unit.is_none() && unit::is_time_word(&draft.name) && draft.unknown.is_none()))
}

/// Cells of the first rows as numbers; `None` when one is none.
pub(super) fn numbers(
    head: &Head,
    dialect: &Dialect,
    index: usize,
) -> Option<Vec<crate::formats::text::number::Number>> {
    use crate::formats::text::number;
    dialect
        .column(head, index)
        .into_iter()
        .filter(|text| !text.is_empty())
        .map(|text| {
            number::whole(cell::bare(text), dialect.marks.decimal)
                .or_else(|| odd::parse(text, dialect.marks).map(|odd| odd.number))
        })
        .collect()
}
