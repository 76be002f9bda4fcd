//! Separator, decimal mark and first row of samples: found by which reading makes a table.

use super::head::{Head, HeadLine, ROWS_LOOKED_AT};
use crate::data::{Answer, Decision};
use crate::formats::text::cell::{self, CellKind, Separator};
use crate::formats::{FormatError, ReadOptions, layout};

/// How rows are written, and where they begin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Dialect {
    /// What stands between cells.
    pub separator: Separator,
    /// `.` or `,`
    pub decimal: u8,
    /// Index in the head of the first row of samples.
    pub first: usize,
    /// Cells in a row, an empty one after a trailing separator included.
    pub width: usize,
    /// Head lines that are rows of samples, as indices.
    pub rows: Vec<usize>,
    /// The decisions, in order.
    pub decisions: Vec<Decision>,
}

/// Finds the dialect, or says why there is none or more than one.
pub(super) fn find(head: &Head, options: &ReadOptions) -> Result<Dialect, FormatError> {
    let wanted = Wanted::from_options(&head.file, options)?;
    let mut found: Vec<Dialect> = Vec::new();
    for separator in Separator::ALL {
        for decimal in [b'.', b','] {
            if wanted.allows(separator, decimal)
                && let Some(dialect) = rows_as(head, separator, decimal, wanted.first_row)
            {
                found.push(dialect);
            }
        }
    }
    // the widest reading wins: a wrong separator leaves whole rows in one cell
    let best = found.iter().map(|d| d.width).max();
    let Some(mut dialect) = found.into_iter().find(|d| Some(d.width) == best) else {
        return Err(nothing_found(head, options, &wanted));
    };
    if wanted.separator.is_none() && wanted.decimal.is_none() {
        check_comma_role(head, &dialect)?;
    }
    if wanted.decimal.is_none() {
        check_grouping(head, &dialect)?;
    }
    if wanted.first_row.is_none() {
        check_start(head, &dialect, options)?;
    }
    dialect.decisions = decisions(head, &dialect, &wanted);
    Ok(dialect)
}

/// What the user said about the dialect.
struct Wanted {
    separator: Option<Separator>,
    decimal: Option<u8>,
    first_row: Option<u64>,
}

impl Wanted {
    fn from_options(file: &str, options: &ReadOptions) -> Result<Self, FormatError> {
        let separator = match layout::given(options, "separator") {
            None => None,
            Some(value) => Some(
                Separator::from_id(value)
                    .ok_or_else(|| layout::bad_value(file, "separator", value))?,
            ),
        };
        let decimal = match layout::given(options, "decimal") {
            None => None,
            Some("point" | ".") => Some(b'.'),
            Some("comma" | ",") => Some(b','),
            Some(value) => return Err(layout::bad_value(file, "decimal", value)),
        };
        let first_row = layout::given_line(file, options, "first-row")?.flatten();
        Ok(Self {
            separator,
            decimal,
            first_row,
        })
    }

    fn allows(&self, separator: Separator, decimal: u8) -> bool {
        self.separator.is_none_or(|s| s == separator) && self.decimal.is_none_or(|d| d == decimal)
    }
}

/// Cells in `line` when it is a row of samples: numbers and gaps only, at least one number.
pub(super) fn row_width(line: &HeadLine, separator: Separator, decimal: u8) -> Option<usize> {
    let cells = cell::split(&line.text, separator);
    let mut numbers = 0;
    for text in &cells {
        match cell::kind(text, decimal) {
            CellKind::Text => return None,
            CellKind::Number if ends_with_mark(text) && decimal == b',' => return None,
            CellKind::Number if separator == Separator::Comma && decimal == b',' => {
                // a decimal comma between commas needs quotation marks to be told apart
                if !text.contains('"') {
                    return None;
                }
                numbers += 1;
            }
            CellKind::Number => numbers += 1,
            _ => {}
        }
    }
    (numbers > 0).then_some(cells.len())
}

fn ends_with_mark(text: &str) -> bool {
    cell::bare(text).ends_with(',')
}

/// The table that this reading makes, if it makes one.
fn rows_as(
    head: &Head,
    separator: Separator,
    decimal: u8,
    first_row: Option<u64>,
) -> Option<Dialect> {
    let widths: Vec<(usize, Option<usize>)> = head
        .lines
        .iter()
        .enumerate()
        .filter(|(_, line)| !line.is_blank())
        .map(|(index, line)| (index, row_width(line, separator, decimal)))
        .collect();
    let start = match first_row {
        Some(number) => widths
            .iter()
            .position(|(index, _)| *index as u64 + 1 >= number)?,
        None => first_table(&widths)?,
    };
    let (first, width) = widths.get(start).copied()?;
    let width = width?;
    let rows = widths
        .get(start..)?
        .iter()
        .take_while(|(_, w)| *w == Some(width))
        .take(ROWS_LOOKED_AT)
        .map(|(index, _)| *index)
        .collect();
    Some(Dialect {
        separator,
        decimal,
        first,
        width,
        rows,
        decisions: Vec::new(),
    })
}

/// Where three rows of one width begin, or two when the file has no more.
fn first_table(widths: &[(usize, Option<usize>)]) -> Option<usize> {
    let same = |at: usize, count: usize| {
        let first = widths.get(at).and_then(|(_, w)| *w);
        first.is_some()
            && widths
                .get(at..at + count)
                .is_some_and(|run| run.iter().all(|(_, w)| *w == first))
    };
    (0..widths.len())
        .find(|at| same(*at, 3))
        .or_else(|| (0..widths.len()).find(|at| same(*at, 2)))
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
    let clock = head.lines.iter().any(|line| looks_like_clock(&line.text));
    let one = head.lines.iter().any(|line| {
        Separator::ALL
            .iter()
            .any(|s| row_width(line, *s, b'.').is_some())
    });
    FormatError::NoNumbers {
        file,
        lines: head.lines.len() as u64,
        hint: match (clock, one) {
            _ if head.lines.len() == 1 => "a single line is no record; ",
            (true, _) => "dates and clock times are not read as time, save it in seconds; ",
            (false, true) => "a single row is no record; ",
            (false, false) => "",
        },
    }
}

fn looks_like_clock(text: &str) -> bool {
    text.as_bytes()
        .windows(5)
        .any(|w| matches!(w, [a, b, b':', c, d] if [a, b, c, d].iter().all(|x| x.is_ascii_digit())))
}

/// Is the comma between digits a separator, or could it be a decimal mark just as well?
fn check_comma_role(head: &Head, dialect: &Dialect) -> Result<(), FormatError> {
    if dialect.separator != Separator::Comma || dialect.width % 2 == 1 {
        return Ok(());
    }
    let names_agree = dialect
        .first
        .checked_sub(1)
        .and_then(|index| head.lines.get(index))
        .is_some_and(|line| cell::split(&line.text, Separator::Comma).len() == dialect.width);
    let open = |line: &HeadLine| {
        let cells = cell::split(&line.text, Separator::Comma);
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        cells.chunks(2).all(|pair| match pair {
            [whole, part] => digits(whole.trim().trim_start_matches(['+', '-'])) && digits(part),
            _ => false,
        })
    };
    let mut rows = dialect.rows.iter().filter_map(|i| head.lines.get(*i));
    if names_agree || !rows.all(open) {
        return Ok(());
    }
    let example = head.lines.get(dialect.first).map_or("", |line| &line.text);
    Err(FormatError::ask(
        &head.file,
        format!(
            "in `{}` (line {}) the comma can separate columns or be a decimal comma; which?",
            shortened(example),
            dialect.first + 1
        ),
        vec![
            Answer::of("separator", "comma"),
            Answer::of("decimal", "comma"),
        ],
    ))
}

/// Does every comma stand before just three digits, as between thousands?
fn check_grouping(head: &Head, dialect: &Dialect) -> Result<(), FormatError> {
    if dialect.decimal != b',' {
        return Ok(());
    }
    let mut example = None;
    for line in dialect.rows.iter().filter_map(|i| head.lines.get(*i)) {
        for text in cell::split(&line.text, dialect.separator) {
            let text = cell::bare(text).trim_start_matches(['+', '-']);
            let Some((whole, part)) = text.split_once(',') else {
                continue;
            };
            if part.len() != 3 || whole.len() > 3 || whole.starts_with('0') {
                return Ok(());
            }
            example = example.or(Some((text, line.number)));
        }
    }
    let Some((text, line)) = example else {
        return Ok(());
    };
    Err(FormatError::ask(
        &head.file,
        format!(
            "`{text}` (line {line}) can hold a decimal comma or a mark between thousands; which?"
        ),
        vec![
            Answer::of("decimal", "comma"),
            Answer::of("thousands", "comma"),
        ],
    ))
}

/// Is the line before the first row a row too, of another width?
fn check_start(head: &Head, dialect: &Dialect, options: &ReadOptions) -> Result<(), FormatError> {
    if dialect.first > options.limits.header_lines {
        return Err(FormatError::HeaderTooLong {
            file: head.file.clone(),
            limit: options.limits.header_lines,
        });
    }
    let before = head.lines.iter().take(dialect.first);
    let Some(line) = before.rev().find(|line| !line.is_blank()) else {
        return Ok(());
    };
    match row_width(line, dialect.separator, dialect.decimal) {
        Some(found) if found > 1 && found != dialect.width => Err(FormatError::Ragged {
            file: head.file.clone(),
            line: line.number,
            expected: dialect.width,
            found,
        }),
        _ => Ok(()),
    }
}

fn decisions(head: &Head, dialect: &Dialect, wanted: &Wanted) -> Vec<Decision> {
    let decided = |what: &str, value: &str, told: bool, why: String| Decision {
        what: what.to_owned(),
        value: value.to_owned(),
        why: if told { "as told".to_owned() } else { why },
    };
    let rows = dialect.rows.len();
    let line = head.lines.get(dialect.first).map_or(1, |l| l.number);
    vec![
        decided(
            "separator",
            dialect.separator.id(),
            wanted.separator.is_some(),
            format!("gives {} cells in each of {rows} rows", dialect.width),
        ),
        decided(
            "decimal",
            if dialect.decimal == b',' {
                "comma"
            } else {
                "point"
            },
            wanted.decimal.is_some(),
            "every cell is a number when read so".to_owned(),
        ),
        decided(
            "first-row",
            &line.to_string(),
            wanted.first_row.is_some(),
            "the first of the rows that hold only numbers".to_owned(),
        ),
    ]
}

/// At most 40 characters of untrusted text, fit to be shown.
pub(super) fn shortened(text: &str) -> String {
    crate::data::text::harmless(text, 40)
}
