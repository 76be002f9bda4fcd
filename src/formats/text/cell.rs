//! Cells of a line, and what a cell can be.

use super::odd::{self, Marks};
use super::{clock, number};

/// What stands between cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tab.
    Tab,
    /// A run of blanks, or of blanks and tabs.
    Space,
}

impl Separator {
    /// All of them, the usual ones first.
    pub const ALL: [Separator; 4] = [
        Separator::Comma,
        Separator::Semicolon,
        Separator::Tab,
        Separator::Space,
    ];

    /// The word used in `--layout separator=`.
    pub fn id(self) -> &'static str {
        match self {
            Separator::Comma => "comma",
            Separator::Semicolon => "semicolon",
            Separator::Tab => "tab",
            Separator::Space => "space",
        }
    }

    /// The separator of this word, or of the character itself.
    pub fn from_id(id: &str) -> Option<Separator> {
        Separator::ALL
            .into_iter()
            .find(|s| s.id() == id || id.as_bytes() == [s.byte()])
    }

    /// The character.
    pub fn byte(self) -> u8 {
        match self {
            Separator::Comma => b',',
            Separator::Semicolon => b';',
            Separator::Tab => b'\t',
            Separator::Space => b' ',
        }
    }
}

/// What a cell is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellKind {
    /// A finite number, written plainly.
    Number,
    /// A number with marks between thousands, blanks, a prefix or a unit.
    Odd,
    /// A time of day.
    Clock,
    /// Nothing, or only blanks.
    Empty,
    /// A word or sign for "no value", or an infinite number.
    Missing,
    /// A word or sign for "beyond the range".
    Overload,
    /// Anything else.
    Text,
}

const MISSING_WORDS: [&str; 12] = [
    "nan", "na", "n/a", "none", "null", "nil", "missing", "invalid", "inf", "infinity", "#n/a",
    "1.#qnan",
];

const OVERLOAD_WORDS: [&str; 14] = [
    "ol",
    "o.l",
    "o.l.",
    "ovl",
    "over",
    "overload",
    "overflow",
    "over range",
    "overrange",
    "out of range",
    "ovrflw",
    "clip",
    "clipped",
    "1.#inf",
];

/// The cell without blanks and without quotation marks around it.
pub fn bare(cell: &str) -> &str {
    let cell = cell.trim();
    match cell.strip_prefix('"').and_then(|c| c.strip_suffix('"')) {
        Some(inner) => inner.trim(),
        None => cell,
    }
}

/// What `cell` is, when numbers are written with `marks`.
pub fn kind(cell: &str, marks: Marks) -> CellKind {
    let cell = bare(cell);
    if cell.is_empty() {
        return CellKind::Empty;
    }
    if let Some(number) = number::whole(cell, marks.decimal) {
        return if number.value.is_finite() {
            CellKind::Number
        } else {
            CellKind::Missing
        };
    }
    let word = cell.trim_start_matches(['+', '-', '<', '>', '±']);
    if word.is_empty() || cell.bytes().all(|b| b == b'*' || b == b'?') {
        // dashes and stars stand where a display had no number
        return CellKind::Missing;
    }
    let is = |known: &str| word.eq_ignore_ascii_case(known);
    let beyond = cell.strip_prefix(['<', '>']);
    if beyond.is_some_and(|limit| number::whole(limit, marks.decimal).is_some()) {
        return CellKind::Overload;
    }
    if OVERLOAD_WORDS.iter().any(|known| is(known)) {
        CellKind::Overload
    } else if MISSING_WORDS.iter().any(|known| is(known)) {
        CellKind::Missing
    } else if !cell.starts_with(|c: char| c.is_alphabetic()) && odd::parse(cell, marks).is_some() {
        CellKind::Odd
    } else if clock::parse(cell).is_some() {
        CellKind::Clock
    } else {
        CellKind::Text
    }
}

/// Cells of `line`. Quotation marks hold separators together; a run of blanks counts once when the
/// separator is [`Separator::Space`], and blanks at the ends not at all.
pub fn split(line: &str, separator: Separator) -> Vec<&str> {
    if separator == Separator::Space {
        return line
            .split([' ', '\t'])
            .filter(|cell| !cell.is_empty())
            .collect();
    }
    let mut cells = Vec::new();
    let (mut start, mut quoted) = (0, false);
    for (at, byte) in line.bytes().enumerate() {
        if byte == b'"' {
            quoted = !quoted;
        } else if byte == separator.byte() && !quoted {
            cells.push(line.get(start..at).unwrap_or(""));
            start = at + 1;
        }
    }
    cells.push(line.get(start..).unwrap_or(""));
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_told_apart() {
        for (text, expected) in [
            (" 1.5e-3 ", CellKind::Number),
            ("\"1.5\"", CellKind::Number),
            ("  ", CellKind::Empty),
            ("NaN", CellKind::Missing),
            ("-inf", CellKind::Missing),
            ("1e999", CellKind::Missing),
            ("----", CellKind::Missing),
            ("OL", CellKind::Overload),
            ("-OL", CellKind::Overload),
            ("1,5", CellKind::Text),
            (">10", CellKind::Overload),
            ("1.5m", CellKind::Odd),
            ("12:00", CellKind::Text),
            ("12:00:01", CellKind::Clock),
            ("0x1F", CellKind::Text),
        ] {
            assert_eq!(kind(text, Marks::of(b'.')), expected, "{text}");
        }
        assert_eq!(kind("1,5", Marks::of(b',')), CellKind::Number);
    }

    #[test]
    fn lines_are_split_at_separators_outside_quotation_marks() {
        assert_eq!(split("a,\"b,c\",", Separator::Comma), ["a", "\"b,c\"", ""]);
        assert_eq!(split("  1   2 \t3 ", Separator::Space), ["1", "2", "3"]);
        assert_eq!(split("", Separator::Tab), [""]);
    }
}
