//! Names, units and time of the columns.

use super::dialect::{self, Dialect};
use super::head::{Head, HeadLine};
use super::plan::{ColumnPlan, Slot, TimePlan};
use super::time_axis;
use crate::data::{Decision, Note, Unit};
use crate::formats::text::cell::{self, CellKind, Separator};
use crate::formats::text::unit::{self, Scaled};
use crate::formats::{FormatError, ReadOptions, layout};

/// What is known of the columns.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    /// The columns, those left out included.
    pub columns: Vec<ColumnPlan>,
    /// Where time comes from.
    pub time: TimePlan,
    /// The lines of names and units.
    pub header_lines: Vec<u64>,
    /// The decisions taken.
    pub decisions: Vec<Decision>,
    /// What the user should know.
    pub notes: Vec<Note>,
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
    pub why: &'static str,
}

/// Finds names, units and time.
pub(super) fn find(
    head: &Head,
    dialect: &Dialect,
    options: &ReadOptions,
) -> Result<Columns, FormatError> {
    let header = Header::find(head, dialect, options)?;
    let names = header.cells(header.names, head, dialect);
    let units = header.cells(header.units, head, dialect);
    let count = column_count(head, dialect, &names);
    if count > options.limits.columns {
        return Err(FormatError::TooManyColumns {
            file: head.file.clone(),
            line: dialect.first as u64 + 1,
            found: count,
            limit: options.limits.columns,
        });
    }
    let mut drafts: Vec<Draft> = (0..count)
        .map(|index| draft(text_at(&names, index), text_at(&units, index)))
        .collect();
    told_units(&head.file, options, &mut drafts)?;
    let mut decisions = header.decisions(options);
    let (time, skipped) = time_axis::choose(
        head,
        dialect,
        &drafts,
        options,
        &mut decisions,
        header.names,
    )?;
    let mut notes = Vec::new();
    let columns = finish(&drafts, time, &skipped, &mut decisions, &mut notes);
    if !columns.iter().any(|column| column.slot.is_channel()) {
        return Err(FormatError::TooLittle {
            file: head.file.clone(),
            what: "no column besides time".to_owned(),
            wanted: "at least one channel",
        });
    }
    Ok(Columns {
        columns,
        time,
        header_lines: [header.names, header.units].into_iter().flatten().collect(),
        decisions,
        notes,
    })
}

fn text_at(cells: &[String], index: usize) -> &str {
    cells.get(index).map_or("", String::as_str)
}

/// Lines of names and units, by number.
struct Header {
    names: Option<u64>,
    units: Option<u64>,
}

impl Header {
    fn find(head: &Head, dialect: &Dialect, options: &ReadOptions) -> Result<Self, FormatError> {
        let mut before = head
            .lines
            .iter()
            .take(dialect.first)
            .rev()
            .filter(|line| !line.is_blank());
        let (last, earlier) = (before.next(), before.next());
        let fits = |line: &&HeadLine| header_cells(line, dialect).is_some();
        let (last, earlier) = (last.filter(fits), earlier.filter(fits));
        let is_units = last.is_some_and(|line| names_units(line, dialect, earlier.is_some()));
        let (mut names, mut units) = if is_units {
            (earlier, last)
        } else {
            (last, None)
        };
        for (key, place) in [("names", &mut names), ("units", &mut units)] {
            if let Some(told) = layout::given_line(&head.file, options, key)? {
                *place = match told {
                    None => None,
                    Some(number) => Some(
                        head.line(number)
                            .filter(|line| line.number <= dialect.first as u64)
                            .ok_or_else(|| {
                                layout::bad_value(&head.file, key, &number.to_string())
                            })?,
                    ),
                };
            }
        }
        Ok(Self {
            names: names.map(|line| line.number),
            units: units.map(|line| line.number),
        })
    }

    fn cells(&self, number: Option<u64>, head: &Head, dialect: &Dialect) -> Vec<String> {
        number
            .and_then(|number| head.line(number))
            .map(|line| {
                header_cells(line, dialect).unwrap_or_else(|| {
                    cell::split(uncommented(&line.text), dialect.separator)
                        .into_iter()
                        .map(str::to_owned)
                        .collect()
                })
            })
            .unwrap_or_default()
            .iter()
            .map(|text| cell::bare(text).to_owned())
            .collect()
    }

    fn decisions(&self, options: &ReadOptions) -> Vec<Decision> {
        let found = [
            (
                "names",
                self.names,
                "the line above has a text for each column",
            ),
            (
                "units",
                self.units,
                "the line above the samples holds only units",
            ),
        ];
        found
            .into_iter()
            .map(|(key, line, why)| Decision {
                what: key.to_owned(),
                value: line.map_or("none".to_owned(), |line| line.to_string()),
                why: match (layout::given(options, key), line) {
                    (Some(_), _) => "as told",
                    (None, Some(_)) => why,
                    (None, None) => "no such line above the samples",
                }
                .to_owned(),
            })
            .collect()
    }
}

/// A header line without a comment mark.
fn uncommented(text: &str) -> &str {
    text.trim_start()
        .trim_start_matches(['#', '%', '!'])
        .trim_start_matches("//")
}

/// The cells of a header line when there is one for each column.
fn header_cells(line: &HeadLine, dialect: &Dialect) -> Option<Vec<String>> {
    let text = uncommented(&line.text);
    let mut cells: Vec<&str> = cell::split(text, dialect.separator);
    if dialect.separator == Separator::Space && cells.len() != dialect.width {
        cells = text
            .split('\t')
            .flat_map(|part| part.split("  "))
            .map(str::trim)
            .filter(|part| !part.is_empty())
            .collect();
    }
    let width = dialect.width;
    let matches = cells.len() == width || (cells.len() + 1 == width && width > 2);
    let named = cells
        .iter()
        .any(|text| cell::kind(text, dialect.decimal) == CellKind::Text);
    (matches && named).then(|| cells.into_iter().map(str::to_owned).collect())
}

/// Does this line name units, and nothing else?
fn names_units(line: &HeadLine, dialect: &Dialect, names_above: bool) -> bool {
    let cells = header_cells(line, dialect).unwrap_or_default();
    let filled: Vec<&str> = cells
        .iter()
        .map(|text| cell::bare(text))
        .filter(|text| !text.is_empty())
        .collect();
    let units: Vec<Unit> = filled
        .iter()
        .filter_map(|text| unit::parse(text).map(|scaled| scaled.unit))
        .collect();
    // `A` and `V` may be names as well; seconds among them settle it
    let most = names_above && 2 * units.len() >= filled.len() && units.contains(&Unit::Second);
    !units.is_empty() && (units.len() == filled.len() || most)
}

/// Columns without the empty one after a trailing separator.
fn column_count(head: &Head, dialect: &Dialect, names: &[String]) -> usize {
    let last = dialect.width.saturating_sub(1);
    let empty = dialect
        .rows
        .iter()
        .filter_map(|index| head.lines.get(*index))
        .all(|line| {
            cell::split(&line.text, dialect.separator)
                .get(last)
                .is_some_and(|text| text.trim().is_empty())
        });
    if empty && last > 0 && text_at(names, last).is_empty() {
        last
    } else {
        dialect.width
    }
}

fn draft(name: &str, unit_text: &str) -> Draft {
    let named = unit::split_name(name);
    let mut draft = Draft {
        name: named.name.to_owned(),
        full_name: name.to_owned(),
        unit: named.unit,
        unknown: named.unknown.map(str::to_owned),
        why: "named with the column",
    };
    if !unit_text.is_empty() {
        draft.unit = unit::parse(unit_text);
        draft.unknown = draft.unit.is_none().then(|| unit_text.to_owned());
        draft.name = name.to_owned();
        draft.why = "from the row of units";
    }
    draft
}

/// Puts in the units that the user named.
fn told_units(file: &str, options: &ReadOptions, drafts: &mut [Draft]) -> Result<(), FormatError> {
    for (key, value) in &options.layout {
        let Some(number) = key.strip_prefix("unit.") else {
            continue;
        };
        let place = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
        let draft = place.and_then(|index| drafts.get_mut(index));
        let (Some(draft), Some(unit)) = (draft, unit::parse(value)) else {
            return Err(layout::bad_value(file, key, value));
        };
        draft.unit = Some(unit);
        draft.unknown = None;
        draft.why = "as told";
    }
    Ok(())
}

/// Makes plans of drafts, and says of each unit where it comes from.
fn finish(
    drafts: &[Draft],
    time: TimePlan,
    skipped: &[usize],
    decisions: &mut Vec<Decision>,
    notes: &mut Vec<Note>,
) -> Vec<ColumnPlan> {
    let mut channel = 0;
    let mut columns = Vec::new();
    for (index, draft) in drafts.iter().enumerate() {
        let is_time = matches!(time, TimePlan::Column { index: at, .. } if at == index);
        let slot = if is_time {
            Slot::Time
        } else if skipped.contains(&index) {
            Slot::Skip
        } else {
            channel += 1;
            Slot::Single
        };
        let (unit, factor, why) = match (&draft.unit, &draft.unknown) {
            (Some(unit), _) => (unit.unit, unit.factor, draft.why),
            (None, Some(text)) => {
                let text = dialect::shortened(text);
                notes.push(Note::new(format!(
                    "column {}: the unit `{text}` is not known; its numbers are kept as they are",
                    index + 1
                )));
                (Unit::Unknown, 1.0, "the unit named is not known")
            }
            (None, None) if is_time => (Unit::Second, 1.0, "no unit named: seconds assumed"),
            (None, None) => (Unit::Volt, 1.0, "no unit named: volts assumed"),
        };
        if slot != Slot::Skip {
            decisions.push(Decision {
                what: format!("unit.{}", index + 1),
                value: shown_unit(unit, factor),
                why: why.to_owned(),
            });
        }
        columns.push(ColumnPlan {
            name: match draft.name.as_str() {
                "" => format!("CH{}", channel.max(1)),
                name => name.to_owned(),
            },
            unit,
            factor,
            slot,
        });
    }
    columns
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
