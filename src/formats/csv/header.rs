//! The lines of names and units above the samples.

use super::dialect::Dialect;
use super::head::{Head, HeadLine};
use super::keys::{self, Key};
use super::property::{self, uncommented};
use crate::data::{Decision, Unit};
use crate::formats::text::cell::{self, CellKind, Separator};
use crate::formats::text::unit;
use crate::formats::{FormatError, ReadOptions, layout};

/// Lines of names and units, by number, with their cells.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Header {
    /// Line of the names.
    pub names_line: Option<u64>,
    /// Line of the units.
    pub units_line: Option<u64>,
    /// The names.
    pub names: Vec<String>,
    /// The units.
    pub units: Vec<String>,
}

impl Header {
    /// Finds both lines, or takes those that the user names.
    pub fn find(
        head: &Head,
        dialect: &Dialect,
        options: &ReadOptions,
    ) -> Result<Self, FormatError> {
        let mut before = head
            .lines
            .iter()
            .take(dialect.table.first)
            .rev()
            .filter(|line| !line.is_blank());
        let (last, earlier) = (before.next(), before.next());
        let above = earlier.and_then(|line| header_cells(line, dialect));
        let fits = |line: &&HeadLine| header_cells(line, dialect).is_some();
        let (last, earlier) = (last.filter(fits), earlier.filter(fits));
        let is_units = last.is_some_and(|line| names_units(line, dialect, above.as_deref()));
        let (mut names, mut units) = if is_units {
            (earlier, last)
        } else {
            (last, None)
        };
        if let (None, Some(name), Some(unit)) = (units, names, earlier)
            && names_units(unit, dialect, None)
            && !names_units(name, dialect, None)
        {
            // the units may stand above the names
            units = Some(unit);
        }
        for (key, place) in [("names", &mut names), ("units", &mut units)] {
            if let Some(told) = layout::given_line(&head.file, options, key)? {
                // a line before this head is that of an earlier table
                let begins = head.lines.first().map_or(1, |line| line.number);
                if told.is_some_and(|number| number < begins) {
                    continue;
                }
                *place = match told {
                    None => None,
                    Some(number) => Some(told_line(head, dialect, key, number)?),
                };
            }
        }
        Ok(Self {
            names_line: names.map(|line| line.number),
            units_line: units.map(|line| line.number),
            names: cells(names, dialect),
            units: cells(units, dialect),
        })
    }

    /// The lines taken.
    pub fn lines(&self) -> Vec<u64> {
        [self.names_line, self.units_line]
            .into_iter()
            .flatten()
            .collect()
    }

    /// Both as decisions.
    pub fn decisions(&self, options: &ReadOptions) -> Vec<Decision> {
        let found = [
            (
                "names",
                self.names_line,
                "the line above has a text for each column",
            ),
            (
                "units",
                self.units_line,
                "the line beside the names holds only units",
            ),
        ];
        found
            .into_iter()
            .map(|(key, line, why)| Decision {
                what: key.to_owned(),
                value: line.map_or("none".to_owned(), |line| line.to_string()),
                why: match (layout::given(options, key), line) {
                    (Some(_), _) => layout::why_given(options, key),
                    (None, Some(_)) => why.to_owned(),
                    (None, None) => "no such line above the samples".to_owned(),
                },
            })
            .collect()
    }
}

fn told_line<'a>(
    head: &'a Head,
    dialect: &Dialect,
    key: &str,
    number: u64,
) -> Result<&'a HeadLine, FormatError> {
    let first = head.lines.get(dialect.table.first).map_or(0, |l| l.number);
    head.line(number)
        .filter(|line| line.number < first)
        .ok_or_else(|| layout::bad_value(&head.file, key, &number.to_string()))
}

fn cells(line: Option<&HeadLine>, dialect: &Dialect) -> Vec<String> {
    line.map(|line| {
        header_cells(line, dialect).unwrap_or_else(|| {
            let text = uncommented(&line.text);
            let cells = cell::split(text, dialect.separator);
            cells.into_iter().map(str::to_owned).collect()
        })
    })
    .unwrap_or_default()
    .iter()
    .map(|text| cell::bare(text).replace("\"\"", "\""))
    .collect()
}

/// The cells of a header line when there is one for each column, and perhaps properties after them.
fn header_cells(line: &HeadLine, dialect: &Dialect) -> Option<Vec<String>> {
    let text = uncommented(&line.text);
    let mut cells: Vec<&str> = cell::split(text, dialect.separator);
    let width = dialect.table.width;
    if dialect.separator == Separator::Space && cells.len() != width {
        cells = text
            .split('\t')
            .flat_map(|part| part.split("  "))
            .map(str::trim)
            .filter(|part| !part.is_empty())
            .collect();
    }
    let longer = || {
        let more = cells.get(width..).unwrap_or(&[]);
        !more.is_empty()
            && more.iter().all(|text| {
                let number = cell::kind(text, dialect.marks) == CellKind::Number;
                number || text.trim().is_empty() || keys::find(cell::bare(text)).is_some()
            })
    };
    let matches = cells.len() == width || (cells.len() + 1 == width && width > 2) || longer();
    let named = cells
        .iter()
        .any(|text| cell::kind(text, dialect.marks) == CellKind::Text);
    let beside = dialect
        .table
        .beside
        .iter()
        .filter_map(|column| cells.get(*column))
        .any(|text| keys::find(cell::bare(text)).is_some());
    let is_property = !beside && property::is_property_line(&cells);
    (matches && named && !is_property).then(|| cells.into_iter().map(str::to_owned).collect())
}

/// Does this line name units, and nothing else? Below names of properties it may hold their values.
fn names_units(line: &HeadLine, dialect: &Dialect, names_above: Option<&[String]>) -> bool {
    let cells = header_cells(line, dialect).unwrap_or_default();
    let is_value = |column: usize, text: &str| {
        let above = names_above.and_then(|names| names.get(column));
        let key = above.and_then(|name| keys::find(cell::bare(name)));
        matches!(key, Some(Key::Interval | Key::Start))
            && cell::kind(text, dialect.marks) == CellKind::Number
    };
    let filled: Vec<&str> = cells
        .iter()
        .map(|text| cell::bare(text))
        .enumerate()
        .filter(|(column, text)| !text.is_empty() && !is_value(*column, text))
        .map(|(_, text)| text)
        .collect();
    let units: Vec<Unit> = filled
        .iter()
        .filter_map(|text| unit::parse(text).map(|scaled| scaled.unit))
        .collect();
    let counts = filled
        .iter()
        .filter(|text| unit::is_index_word(text) && text.len() > 1)
        .count();
    // `A` and `V` may be names as well; seconds among them settle it
    let most = names_above.is_some()
        && 2 * units.len() >= filled.len()
        && (units.contains(&Unit::Second) || units.contains(&Unit::Hertz));
    !units.is_empty() && (units.len() + counts == filled.len() || most)
}
