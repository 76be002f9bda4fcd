//! Separator, number marks and first row of samples: found by which reading makes a table.

use super::doubts;
use super::head::{Head, HeadLine, ROWS_LOOKED_AT};
use super::rows::{self, Table};
use crate::data::Decision;
use crate::formats::text::cell::{self, CellKind, Separator};
use crate::formats::text::odd::{Marks, Thousands};
use crate::formats::{FormatError, ReadOptions, layout};

/// How rows are written, and where they begin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Dialect {
    /// What stands between cells.
    pub separator: Separator,
    /// How numbers are written.
    pub marks: Marks,
    /// The rows.
    pub table: Table,
    /// The decisions, in order.
    pub decisions: Vec<Decision>,
}

impl Dialect {
    /// The lines of the head that are rows of samples and are looked at.
    pub fn rows<'a>(&self, head: &'a Head) -> impl Iterator<Item = &'a HeadLine> {
        let rows = self.table.rows.clone();
        rows.into_iter().filter_map(|index| head.lines.get(index))
    }

    /// The texts of a column in those rows.
    pub fn column<'a>(&self, head: &'a Head, index: usize) -> Vec<&'a str> {
        self.rows(head)
            .map(|line| {
                let cells = cell::split(&line.text, self.separator);
                cells.get(index).map_or("", |text| cell::bare(text))
            })
            .collect()
    }
}

/// Finds the dialect, or says why there is none or more than one.
pub(super) fn find(head: &Head, options: &ReadOptions) -> Result<Dialect, FormatError> {
    let wanted = Wanted::from_options(&head.file, options)?;
    let mut dialect = best(head, &wanted, options)?;
    if wanted.separator.is_none() && wanted.decimal.is_none() {
        doubts::comma_role(head, &dialect)?;
    }
    if wanted.decimal.is_none() {
        doubts::grouping(head, &dialect)?;
    }
    if wanted.first_row.is_none() {
        check_start(head, &dialect, options)?;
    }
    dialect.decisions = decisions(head, &dialect, options);
    Ok(dialect)
}

/// Finds the next table of a file whose dialect is known.
pub(super) fn find_next(head: &Head, before: &Dialect) -> Option<Dialect> {
    let kinds = rows::kinds(head, before.separator, before.marks);
    let table = rows::strict(&kinds, None).or_else(|| rows::lenient(&kinds, None))?;
    Some(Dialect {
        table,
        ..before.clone()
    })
}

/// What the user said about the dialect.
struct Wanted {
    separator: Option<Separator>,
    decimal: Option<u8>,
    thousands: Thousands,
    first_row: Option<u64>,
}

impl Wanted {
    fn from_options(file: &str, options: &ReadOptions) -> Result<Self, FormatError> {
        let bad = |key: &str, value: &str| layout::bad_value(file, key, value);
        let separator = match layout::given(options, "separator") {
            None => None,
            Some(value) => Some(Separator::from_id(value).ok_or_else(|| bad("separator", value))?),
        };
        let decimal = match layout::given(options, "decimal") {
            None => None,
            Some("point" | ".") => Some(b'.'),
            Some("comma" | ",") => Some(b','),
            Some(value) => return Err(bad("decimal", value)),
        };
        let thousands = match layout::given(options, "thousands") {
            None => Thousands::Unsaid,
            Some(value) => Thousands::from_id(value).ok_or_else(|| bad("thousands", value))?,
        };
        Ok(Self {
            separator,
            decimal,
            thousands,
            first_row: layout::given_line(file, options, "first-row")?.flatten(),
        })
    }

    fn allows(&self, separator: Separator, decimal: u8) -> bool {
        let mark = match self.thousands {
            Thousands::Comma => b',',
            Thousands::Point => b'.',
            _ => 0,
        };
        self.separator.is_none_or(|s| s == separator)
            && self.decimal.is_none_or(|d| d == decimal)
            && decimal != mark
    }
}

/// The reading that makes the widest table: a wrong separator leaves whole rows in one cell. Rows of
/// numbers alone go before rows with texts among them.
fn best(head: &Head, wanted: &Wanted, options: &ReadOptions) -> Result<Dialect, FormatError> {
    let mut found: Vec<Dialect> = Vec::new();
    let start = wanted.first_row;
    let mut try_all = |find: fn(&[rows::Line], Option<u64>) -> Option<Table>| {
        for separator in Separator::ALL {
            for decimal in [b'.', b','] {
                if !wanted.allows(separator, decimal) {
                    continue;
                }
                let marks = Marks {
                    decimal,
                    thousands: wanted.thousands,
                };
                let kinds = rows::kinds(head, separator, marks);
                if let Some(table) = find(&kinds, start) {
                    found.push(Dialect {
                        separator,
                        marks,
                        table,
                        decisions: Vec::new(),
                    });
                }
            }
        }
        // a reading that makes a table only of later rows, by marks between thousands, is none
        let earlier = |d: &Dialect| {
            let before = |e: &Dialect| e.table.first < d.table.first && e.table.numbers > 1;
            d.table.odd > 0 && found.iter().any(before)
        };
        let kept: Vec<bool> = found.iter().map(|d| !earlier(d)).collect();
        let mut keep = kept.into_iter();
        found.retain(|_| keep.next().unwrap_or(true));
        // blanks stand between thousands too: they part columns only where nothing else does
        let marked = |d: &Dialect| matches!(d.separator, Separator::Semicolon | Separator::Tab);
        if found.iter().any(|d| marked(d) && d.table.numbers > 1) {
            found.retain(|d| d.separator != Separator::Space);
        }
        // and a comma does not where the cells between would hold blanks that part columns
        let plain =
            |d: &Dialect| d.table.odd == 0 && d.table.numbers > 1 && d.table.texts.is_empty();
        let blanks = found
            .iter()
            .any(|d| d.separator == Separator::Space && plain(d));
        if blanks {
            found.retain(|d| d.separator != Separator::Comma || d.table.odd == 0);
        } else if found
            .iter()
            .any(|d| d.separator == Separator::Comma && d.table.numbers > 1)
        {
            found.retain(|d| d.separator != Separator::Space);
        }
        let score = |d: &Dialect| (d.table.numbers, d.table.plain);
        let most = found.iter().map(score).max();
        found.iter().find(|d| Some(score(d)) == most).cloned()
    };
    try_all(rows::strict)
        .or_else(|| try_all(rows::lenient))
        .ok_or_else(|| nothing_found(head, options, wanted))
}

fn nothing_found(head: &Head, options: &ReadOptions, wanted: &Wanted) -> FormatError {
    let file = head.file.clone();
    if let Some(line) = wanted.first_row {
        return layout::bad_value(&file, "first-row", &line.to_string());
    }
    if head.lines.len() > options.limits.header_lines {
        return FormatError::HeaderTooLong {
            file,
            limit: options.limits.header_lines,
        };
    }
    let one = Separator::ALL.iter().any(|separator| {
        let kinds = rows::kinds(head, *separator, Marks::of(b'.'));
        kinds.iter().any(rows::Line::is_row)
    });
    FormatError::NoNumbers {
        file,
        lines: head.lines.len() as u64,
        hint: match one {
            _ if head.lines.len() == 1 => "a single line is no record; ",
            true => "a single row is no record; ",
            false => "",
        },
    }
}

/// Is the line before the first row a row too, of another width?
fn check_start(head: &Head, dialect: &Dialect, options: &ReadOptions) -> Result<(), FormatError> {
    let first = dialect.table.first;
    if first > options.limits.header_lines {
        return Err(FormatError::HeaderTooLong {
            file: head.file.clone(),
            limit: options.limits.header_lines,
        });
    }
    let before = head.lines.iter().take(first);
    let Some(line) = before.rev().find(|line| !line.is_blank()) else {
        return Ok(());
    };
    let kind = rows::kind_of(line, dialect.separator, dialect.marks);
    let found = kind.cells.len();
    if kind.is_row() && found > 1 && found != dialect.table.width {
        return Err(FormatError::Ragged {
            file: head.file.clone(),
            line: line.number,
            expected: dialect.table.width,
            found,
        });
    }
    Ok(())
}

fn decisions(head: &Head, dialect: &Dialect, options: &ReadOptions) -> Vec<Decision> {
    let table = &dialect.table;
    let decided = |what: &str, value: &str, why: String| Decision {
        what: what.to_owned(),
        value: value.to_owned(),
        why: match layout::given(options, what) {
            Some(_) => layout::why_given(options, what),
            None => why,
        },
    };
    let line = head.lines.get(table.first).map_or(1, |line| line.number);
    let mut decisions = vec![
        decided(
            "separator",
            dialect.separator.id(),
            format!(
                "gives {} cells in each of {} rows",
                table.width,
                table.rows.len()
            ),
        ),
        decided(
            "decimal",
            if dialect.marks.decimal == b',' {
                "comma"
            } else {
                "point"
            },
            "every sample is a number when read so".to_owned(),
        ),
    ];
    if let Some(value) = layout::given(options, "thousands") {
        decisions.push(decided("thousands", value, String::new()));
    }
    decisions.push(decided(
        "first-row",
        &line.to_string(),
        if table.texts.is_empty() {
            "the first of the rows that hold only numbers".to_owned()
        } else {
            "the first of the rows whose columns stay numbers or texts".to_owned()
        },
    ));
    decisions
}

/// At most 40 characters of untrusted text, fit to be shown.
pub(super) fn shortened(text: &str) -> String {
    crate::data::text::harmless(text, 40)
}

/// Rows that are looked at, and the kinds of their cells in one column.
pub(super) fn column_kinds(head: &Head, dialect: &Dialect, index: usize) -> Vec<CellKind> {
    debug_assert!(dialect.table.rows.len() <= ROWS_LOOKED_AT);
    dialect
        .column(head, index)
        .into_iter()
        .map(|text| cell::kind(text, dialect.marks))
        .collect()
}
