//! A part as its mark tells it: value, tolerance, and several of them that act as one.

use super::codes::{self, Tolerance};
use super::{Kind, MORE_PARTS, PARTS, clean, value, written};

/// One part as marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Marked {
    /// Value in the SI base unit of its kind.
    pub value: f64,
    /// Tolerance, where it was told.
    pub tolerance: Option<Tolerance>,
    /// How a code was read; `None` for a plain value.
    pub read_as: Option<String>,
}

/// A part of the board: one, or several that act as one (resistors in series, capacitors in parallel), whose
/// values add.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedPart {
    /// What its value is measured in.
    pub kind: Kind,
    /// Each of them, at least one, in the order typed.
    pub members: Vec<Marked>,
}

impl MarkedPart {
    /// A single part without tolerance.
    pub fn plain(kind: Kind, value: f64) -> MarkedPart {
        let member = Marked {
            value,
            tolerance: None,
            read_as: None,
        };
        MarkedPart {
            kind,
            members: vec![member],
        }
    }

    /// Value of all together.
    pub fn value(&self) -> f64 {
        self.members.iter().map(|m| m.value).sum()
    }

    /// Least and most that all together may have; `unless` is the tolerance where none was told.
    pub fn range(&self, unless: Tolerance) -> (f64, f64) {
        let each = |pick: fn(&Tolerance) -> f64| {
            let of = |m: &Marked| m.value * (1.0 + pick(&m.tolerance.unwrap_or(unless)));
            self.members.iter().map(of).sum()
        };
        (each(|t| -t.minus), each(|t| t.plus))
    }

    /// Was a tolerance told for each of them?
    pub fn has_tolerance(&self) -> bool {
        self.members.iter().all(|m| m.tolerance.is_some())
    }

    /// `110 kΩ ±5 % + 110 kΩ ±5 %`.
    pub fn shown(&self) -> String {
        let one = |m: &Marked| match m.tolerance {
            Some(tolerance) => format!("{} {}", written(m.value, self.kind), tolerance.shown()),
            None => written(m.value, self.kind),
        };
        self.members.iter().map(one).collect::<Vec<_>>().join(" + ")
    }
}

/// A part that [`PARTS`] or [`MORE_PARTS`] names, as typed: `220k`, `R47`, `104` on a capacitor, `01C` on a
/// resistor, `4k7 5%`, `4k7±5%`, `4k7J`, `110k+110k`, `2x82k`.
///
/// # Errors
/// A sentence: no such part, no value, a value or code with two meanings, or a value that no such part has.
pub fn marked_part(name: &str, text: &str) -> Result<MarkedPart, String> {
    let known = PARTS.iter().chain(&MORE_PARTS).find(|p| p.0 == name);
    let (_, kind, least, most) = known.ok_or_else(|| format!("no part '{}'", clean(name)))?;
    let part = marked(text, *kind)?;
    for number in part.members.iter().map(|m| m.value).chain([part.value()]) {
        if !(*least..=*most).contains(&number) {
            return Err(format!(
                "'{}' taken as {number} in the unit of {name} is not found on a board; write it like {}",
                clean(text),
                kind.forms()
            ));
        }
    }
    Ok(part)
}

/// As [`marked_part`] for any part of this kind, whatever its size.
///
/// # Errors
/// A sentence that names the text and the forms expected.
pub fn marked(text: &str, kind: Kind) -> Result<MarkedPart, String> {
    let text = text.replace("+/-", "±").replace("+-", "±");
    let adds = matches!(kind, Kind::Ohm | Kind::Farad);
    let text = text.trim();
    let pieces: Vec<&str> = match adds && text.get(1..).is_some_and(|rest| rest.contains('+')) {
        true => text.split('+').collect(),
        false => vec![text],
    };
    let mut members = Vec::new();
    for piece in pieces {
        let (count, one) = times(piece.trim());
        let member = single(one, kind)?;
        members.extend(std::iter::repeat_n(member, count));
    }
    Ok(MarkedPart { kind, members })
}

/// `2x82k` is two of 82k, up to nine.
fn times(text: &str) -> (usize, &str) {
    let split = text.split_once(['x', '×']);
    let count = split.and_then(|(count, one)| Some((count.trim().parse().ok()?, one.trim())));
    match count {
        // 4x7 is a slip of the pen: the one has to have a letter
        Some((count @ 1..=9, one)) if one.contains(char::is_alphabetic) => (count, one),
        _ => (1, text),
    }
}

/// One part with the tolerance behind it.
fn single(text: &str, kind: Kind) -> Result<Marked, String> {
    let (body, tolerance) = split_tolerance(text)?;
    let mut member = bare(body, kind)?;
    let told = match tolerance {
        Some(Told::Share(share)) => Some(Tolerance::both(share)),
        Some(Told::Letter(letter)) => {
            let known = codes::of_letter(letter, member.value, kind);
            Some(known.ok_or_else(|| format!("'{letter}' is no letter of tolerance"))?)
        }
        None => None,
    };
    member.tolerance = told.or(member.tolerance);
    Ok(member)
}

enum Told {
    Share(f64),
    Letter(char),
}

/// Value and tolerance where they stand apart: `4k7±5%`, `4k7 5%`, `4k7 5 %`, `4k7 J`.
fn split_tolerance(text: &str) -> Result<(&str, Option<Told>), String> {
    let text = text.trim();
    let apart = match text.split_once('±') {
        Some((body, after)) => Some((body, after)),
        None => {
            let end = text.strip_suffix('%').map_or(text, str::trim_end);
            end.rsplit_once(char::is_whitespace)
                .map(|(body, _)| (body, &text[body.len()..]))
                .filter(|(body, after)| after.ends_with('%') || is_letter(body, after.trim()))
        }
    };
    let Some((body, after)) = apart else {
        return Ok((text, None));
    };
    let after = after.trim();
    if let (true, Some(letter)) = (is_letter(body, after), after.chars().next()) {
        return Ok((body.trim(), Some(Told::Letter(letter))));
    }
    let number = after.strip_suffix('%').map(|n| value(n, Kind::Ratio));
    match number {
        Some(Ok(percent)) if (0.0..100.0).contains(&percent) => {
            Ok((body.trim(), Some(Told::Share(percent / 100.0))))
        }
        _ => Err(format!(
            "'{}' is no tolerance; write it like 4k7 5% or 4k7±5%",
            clean(after)
        )),
    }
}

/// A capital by itself that is no unit; K, M and G are prefixes where the value has no letter yet.
fn is_letter(body: &str, text: &str) -> bool {
    let scaled = body.contains(char::is_alphabetic);
    let mut letters = text.chars();
    let first = letters.next().filter(char::is_ascii_uppercase);
    first.is_some_and(|c| !"FHVACR".contains(c) && (scaled || !"KMG".contains(c)))
        && letters.next().is_none()
}

/// Value or code, a letter of tolerance right behind it.
fn bare(text: &str, kind: Kind) -> Result<Marked, String> {
    let code = match kind {
        Kind::Farad => codes::capacitor(text),
        Kind::Ohm => match codes::eia96(text) {
            Some(code) => Some(code),
            None => codes::resistor(text)?,
        },
        _ => None,
    };
    if let Some((value, tolerance, read_as)) = code {
        return Ok(Marked {
            value,
            tolerance,
            read_as: Some(read_as),
        });
    }
    let first = plain(text, kind);
    let refused = match first {
        Ok(value) => {
            return Ok(Marked {
                value,
                tolerance: None,
                read_as: None,
            });
        }
        Err(why) => why,
    };
    let adds = matches!(kind, Kind::Ohm | Kind::Farad);
    let last = text
        .chars()
        .last()
        .filter(|c| adds && c.is_ascii_uppercase());
    let Some(letter) = last else {
        return Err(refused);
    };
    let body = text[..text.len() - 1].trim_end();
    if !body.contains(char::is_alphabetic) {
        return Err(refused);
    }
    let value = plain(body, kind).map_err(|_unused| refused.clone())?;
    let tolerance = codes::of_letter(letter, value, kind).ok_or(refused)?;
    Ok(Marked {
        value,
        tolerance: Some(tolerance),
        read_as: None,
    })
}

/// A value; a letter in front stands for the decimal point, as in `R47` and `n47`.
fn plain(text: &str, kind: Kind) -> Result<f64, String> {
    let mut letters = text.chars();
    let first = letters.next().is_some_and(char::is_alphabetic);
    let then = letters.next().is_some_and(|c| c.is_ascii_digit());
    match first && then && matches!(kind, Kind::Ohm | Kind::Farad) {
        true => value(&format!("0{text}"), kind).map_err(|why| why.replace("'0", "'")),
        false => value(text, kind),
    }
}
