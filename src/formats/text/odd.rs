//! Numbers that are not plain: marks between thousands, blanks, a prefix or a unit behind them.

use super::number::{self, Number};
use super::unit::{self, Scaled};

/// The mark between thousands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Thousands {
    /// Blanks and apostrophes; comma or point only where a cell leaves no doubt.
    #[default]
    Unsaid,
    /// There is none.
    None,
    /// `,`
    Comma,
    /// `.`
    Point,
    /// A blank of any kind.
    Space,
    /// `'` or `’`
    Apostrophe,
}

impl Thousands {
    /// The mark of this word, or of the character itself.
    pub fn from_id(id: &str) -> Option<Thousands> {
        Some(match id {
            "none" => Thousands::None,
            "comma" | "," => Thousands::Comma,
            "point" | "." => Thousands::Point,
            "space" | "" => Thousands::Space,
            "apostrophe" | "'" => Thousands::Apostrophe,
            _ => return None,
        })
    }
}

/// How numbers are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Marks {
    /// `.` or `,`
    pub decimal: u8,
    /// Between thousands.
    pub thousands: Thousands,
}

impl Marks {
    /// Numbers with this decimal mark, and no word on thousands.
    pub fn of(decimal: u8) -> Self {
        Self {
            decimal,
            thousands: Thousands::Unsaid,
        }
    }

    /// May `mark` stand between thousands? `sure` where the cell has another sign that it does.
    fn groups(self, mark: char, sure: bool) -> bool {
        let blank = is_blank(mark);
        let apostrophe = matches!(mark, '\'' | '\u{2019}');
        if mark == char::from(self.decimal) {
            return false;
        }
        match self.thousands {
            Thousands::Unsaid => blank || apostrophe || (matches!(mark, ',' | '.') && sure),
            Thousands::None => false,
            Thousands::Comma => mark == ',',
            Thousands::Point => mark == '.',
            Thousands::Space => blank,
            Thousands::Apostrophe => apostrophe,
        }
    }
}

/// A blank of some width.
fn is_blank(mark: char) -> bool {
    matches!(mark, ' ' | '\u{A0}' | '\u{2007}' | '\u{2009}' | '\u{202F}')
}

/// What stands behind a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Suffix {
    /// Nothing.
    None,
    /// A prefix alone: `1.5m`.
    Prefix(f64),
    /// A unit: `12.5mV`.
    Unit(Scaled),
}

/// A number that is not plain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddNumber {
    /// The number, the prefix of its suffix included.
    pub number: Number,
    /// The number as it stands before its suffix.
    pub bare: Number,
    /// What stands behind it.
    pub suffix: Suffix,
    /// Were there marks between thousands?
    pub grouped: bool,
}

const PREFIXES: [(&str, i32); 10] = [
    ("p", -12),
    ("n", -9),
    ("u", -6),
    ("\u{B5}", -6),
    ("\u{3BC}", -6),
    ("m", -3),
    ("k", 3),
    ("K", 3),
    ("M", 6),
    ("G", 9),
];

/// The number that `text` is as a whole, written in one of the odd ways.
pub fn parse(text: &str, marks: Marks) -> Option<OddNumber> {
    let text = text.trim();
    let (negative, rest) = match text.strip_prefix(['-', '\u{2212}', '\u{2013}']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text).trim_start()),
    };
    let (digits, grouped, rest) = plain_digits(rest, marks)?;
    let (exponent, rest) = exponent(rest);
    let suffix = rest.trim();
    let (suffix, power) = read_suffix(suffix)?;
    let sign = if negative { "-" } else { "" };
    let of = |power: i32| number::whole(&format!("{sign}{digits}e{power}"), b'.');
    let number = of(exponent + power)?;
    number.value.is_finite().then_some(OddNumber {
        number,
        bare: of(exponent)?,
        suffix,
        grouped,
    })
}

/// Digits with a point, marks between thousands taken out, and what follows.
fn plain_digits(text: &str, marks: Marks) -> Option<(String, bool, &str)> {
    let decimal = char::from(marks.decimal);
    let sure = sure_of_groups(text, decimal);
    let mut plain = String::new();
    let (mut group, mut grouped, mut pointed) = (0, false, false);
    let mut mark = None;
    let mut rest = text;
    while let Some(character) = rest.chars().next() {
        let after = rest.get(character.len_utf8()..)?;
        let class = if is_blank(character) { ' ' } else { character };
        let same = mark.is_none_or(|mark| mark == class);
        let leading = plain.starts_with('0');
        let groups =
            !pointed && same && !leading && marks.groups(character, sure) && three_digits(after);
        if character.is_ascii_digit() {
            plain.push(character);
            group += 1;
        } else if character == decimal && !pointed {
            plain.push('.');
            pointed = true;
        } else if groups && (1..=3).contains(&group) && (!grouped || group == 3) {
            (group, grouped, mark) = (0, true, Some(class));
        } else {
            break;
        }
        if !pointed && grouped && group > 3 {
            return None;
        }
        rest = after;
    }
    let has_digit = plain.bytes().any(|b| b.is_ascii_digit());
    (has_digit && (!grouped || group >= 3)).then_some((plain, grouped, rest))
}

/// Do just three digits follow, or three and then something else?
fn three_digits(text: &str) -> bool {
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    digits == 3
}

/// Does the cell itself show that comma or point stand between thousands: both are there, in that
/// order, or the same one twice?
fn sure_of_groups(text: &str, decimal: char) -> bool {
    let other = if decimal == '.' { ',' } else { '.' };
    let numeric: &str = text
        .split(|c: char| c.is_alphabetic())
        .next()
        .unwrap_or(text);
    let first = numeric.find(other);
    let point = numeric.find(decimal);
    match (first, point) {
        (Some(group), Some(point)) => group < point,
        (Some(_), None) => numeric.matches(other).count() > 1,
        _ => false,
    }
}

fn exponent(text: &str) -> (i32, &str) {
    let Some(rest) = text.strip_prefix(['e', 'E']) else {
        return (0, text);
    };
    let unsigned = rest.strip_prefix(['+', '-']).unwrap_or(rest);
    let digits = unsigned.bytes().take_while(u8::is_ascii_digit).count();
    let end = rest.len() - unsigned.len() + digits;
    match rest.get(..end).and_then(|text| text.parse::<i32>().ok()) {
        Some(power) if digits > 0 && digits < 5 => (power, rest.get(end..).unwrap_or("")),
        _ => (0, text),
    }
}

fn read_suffix(text: &str) -> Option<(Suffix, i32)> {
    if text.is_empty() {
        return Some((Suffix::None, 0));
    }
    if let Some((_, power)) = PREFIXES.iter().find(|(prefix, _)| *prefix == text) {
        return Some((Suffix::Prefix(10_f64.powi(*power)), *power));
    }
    if text.starts_with(['(', '[', '{', '<', ',', ';', '.']) {
        return None; // of most cells of a reading by the wrong separator
    }
    let scaled = unit::parse(text)?;
    let power = scaled.factor.log10().round();
    // the factor of every unit that is known is a power of ten
    ((10_f64.powf(power) / scaled.factor - 1.0).abs() < 1e-9)
        .then_some((Suffix::Unit(scaled), power as i32))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str, decimal: u8) -> Option<f64> {
        parse(text, Marks::of(decimal)).map(|odd| odd.number.value)
    }

    #[track_caller]
    fn is(text: &str, decimal: u8, expected: f64) {
        let found = value(text, decimal).unwrap_or_else(|| panic!("{text}"));
        assert_eq!(found.to_bits(), expected.to_bits(), "{text}: {found}");
    }

    #[test]
    fn thousands_blanks_prefixes_and_units_are_read() {
        is("1 234.5", b'.', 1234.5);
        is("1\u{A0}234\u{202F}567,25", b',', 1_234_567.25);
        is("1'234", b'.', 1234.0);
        is("1,234.56", b'.', 1234.56);
        is("1.234,56", b',', 1234.56);
        is("1,234,567", b'.', 1_234_567.0);
        is("- 1.5", b'.', -1.5);
        is("\u{2212}1.5e-3", b'.', -1.5e-3);
        is("1.5m", b'.', 1.5e-3);
        is("12.5 mV", b'.', 12.5e-3);
        is("3V", b'.', 3.0);
        is("4,7 k", b',', 4700.0);
        is("2.5e3 \u{B5}s", b'.', 2.5e-3);
    }

    #[test]
    fn what_is_in_doubt_or_no_number_is_none() {
        for text in [
            "1,234",
            "1 23",
            "12 3456",
            "1 .5",
            "1,23,456",
            "V",
            "",
            "-",
            "1.5 x",
            "1..5",
            "1.5e",
            "1 234 56",
            "25 153'965",
            "000 448",
            "1234 567",
        ] {
            assert_eq!(value(text, b'.'), None, "{text}");
        }
        let marks = Marks {
            decimal: b'.',
            thousands: Thousands::Comma,
        };
        assert_eq!(parse("1,234", marks).map(|o| o.number.value), Some(1234.0));
    }
}
