//! Values as the trade types them: `220k`, `4k7`, `0R47`, `47u`, `1nF`, `0,47`, `14V`, `0.4mA`, `1%`.
//!
//! A text that could mean two numbers is refused, never guessed. Also the names under which parts
//! and hand readings are told, and how a value is written so that it is read back the same.

use super::options::Accuracy;
use super::text::harmless;

mod codes;
mod feed;
mod marked;
mod series;

pub use codes::{Tolerance, of_letter};
pub use feed::{Input, InputVolts, feed};
pub use marked::{Marked, MarkedPart, marked, marked_part};
pub use series::Series;

/// What a value is measured in, with the letters that may be typed for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Resistance.
    Ohm,
    /// Capacitance.
    Farad,
    /// Voltage.
    Volt,
    /// Current.
    Ampere,
    /// Inductance.
    Henry,
    /// Charge.
    Coulomb,
    /// Frequency.
    Hertz,
    /// Time.
    Second,
    /// Power.
    Watt,
    /// A quotient; also typed in per cent.
    Ratio,
}

impl Kind {
    /// Spellings of the unit; a letter of them may also stand in place of the decimal point.
    fn spellings(self) -> &'static [&'static str] {
        match self {
            Kind::Ohm => &["R", "Ω", "Ω", "ohm", "ohms"],
            Kind::Farad => &["F"],
            Kind::Volt => &["V"],
            Kind::Ampere => &["A"],
            Kind::Henry => &["H"],
            Kind::Coulomb => &["C"],
            Kind::Hertz => &["Hz"],
            Kind::Second => &["s"],
            Kind::Watt => &["W"],
            Kind::Ratio => &[],
        }
    }

    /// Forms that are understood, for a message.
    pub fn forms(self) -> &'static str {
        match self {
            Kind::Ohm => "220k, 4k7, 0R47 or 0.47",
            Kind::Farad => "47u, 4n7 or 100nF",
            Kind::Volt => "14V, 5V1 or 300mV",
            Kind::Ampere => "0.4mA or 12m",
            Kind::Henry => "620u or 1mH",
            Kind::Coulomb => "35n or 35nC",
            Kind::Hertz => "20MHz or 50k",
            Kind::Second => "0.2, 0.2s or 15ms",
            Kind::Watt => "60W or 0.5W",
            Kind::Ratio => "0.61 or 61%",
        }
    }
}

/// Factor of a prefix letter. `k` and `K` both mean 1000; `m` and `M` are a milliard apart.
fn prefix(letter: char) -> Option<f64> {
    Some(match letter {
        'p' => 1e-12,
        'n' => 1e-9,
        'u' | 'µ' | 'μ' => 1e-6,
        'm' => 1e-3,
        'k' | 'K' => 1e3,
        'M' => 1e6,
        'G' => 1e9,
        _ => return None,
    })
}

/// The number that a text means, in the kind's SI unit.
///
/// # Errors
/// A sentence that names the text and the forms expected; also for an empty text.
pub fn value(text: &str, kind: Kind) -> Result<f64, String> {
    let wrong = || {
        format!(
            "'{}' is no value; write it like {}",
            clean(text),
            kind.forms()
        )
    };
    let typed = text.trim();
    let end = typed
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '−')))
        .unwrap_or(typed.len());
    let (digits, rest) = typed.split_at(end);
    let (factor, decimals) = tail(rest.trim_start(), kind).ok_or_else(wrong)?;
    if !decimals.is_empty() && digits.contains(['.', ',']) {
        return Err(wrong());
    }
    let whole = plain(digits)?.ok_or_else(wrong)?;
    let text = if decimals.is_empty() {
        whole
    } else {
        format!("{whole}.{decimals}")
    };
    let number: f64 = text.parse().map_err(|_unused| wrong())?;
    let result = number * factor;
    if result.is_finite() {
        Ok(result)
    } else {
        Err(wrong())
    }
}

/// Digits with sign and at most one decimal point or comma, with a point. `None` if they are none.
fn plain(digits: &str) -> Result<Option<String>, String> {
    let digits = digits.replace('−', "-");
    let marks = digits.matches(['.', ',']).count();
    if marks > 1 {
        return Ok(None);
    }
    if let Some((whole, part)) = digits.split_once(',')
        && part.len() == 3
        && !matches!(whole.trim_start_matches(['-', '+']), "0" | "")
    {
        return Err(format!(
            "'{digits}' could mean {whole}{part} or {whole}.{part}; write it without a comma"
        ));
    }
    let point = digits.replace(',', ".");
    let ok = point.chars().any(|c| c.is_ascii_digit())
        && !point.get(1..).unwrap_or("").contains(['+', '-']);
    Ok(ok.then_some(point))
}

/// What follows the digits: factor and, after an infix letter, further digits.
fn tail(rest: &str, kind: Kind) -> Option<(f64, &str)> {
    if rest == "%" && kind == Kind::Ratio {
        return Some((0.01, ""));
    }
    if let Some(unit) = without_unit(rest, kind)
        && unit.is_empty()
    {
        return Some((1.0, ""));
    }
    let letter = rest.chars().next()?;
    let after = &rest[letter.len_utf8()..];
    let named = kind.spellings().iter().any(|s| s.chars().eq([letter]));
    let factor = prefix(letter).or_else(|| named.then_some(1.0))?;
    let count = after.bytes().take_while(u8::is_ascii_digit).count();
    let (decimals, unit) = after.split_at(count);
    let as_point = prefix(letter).is_none();
    if as_point && (decimals.is_empty() || !unit.is_empty()) {
        return None;
    }
    (without_unit(unit, kind)?.is_empty()).then_some((factor, decimals))
}

/// The text without the unit, where it is nothing but the unit or empty.
fn without_unit(text: &str, kind: Kind) -> Option<&str> {
    let known = |unit: &&str| {
        if unit.len() > 1 {
            text.eq_ignore_ascii_case(unit)
        } else {
            text == *unit
        }
    };
    if text.is_empty() || kind.spellings().iter().any(known) {
        Some("")
    } else {
        None
    }
}

/// Names of parts with their kind and the widest range in which such a part exists.
pub const PARTS: [(&str, Kind, f64, f64); 11] = [
    ("start-resistor", Kind::Ohm, 1.0, 1e9),
    ("vcc-capacitor", Kind::Farad, 1e-12, 0.1),
    ("rt", Kind::Ohm, 1.0, 1e9),
    ("ct", Kind::Farad, 1e-13, 1e-3),
    ("rsense", Kind::Ohm, 1e-5, 1e6),
    ("vref-capacitor", Kind::Farad, 1e-13, 0.1),
    ("gate-resistor", Kind::Ohm, 1e-3, 1e6),
    ("gate-charge", Kind::Coulomb, 1e-12, 1e-3),
    ("primary-inductance", Kind::Henry, 1e-9, 10.0),
    ("aux-ratio", Kind::Ratio, 1e-4, 1e4),
    ("zener", Kind::Volt, 0.5, 2000.0),
];

/// Names of hand readings with their kind.
pub const READINGS: [(&str, Kind); 6] = [
    ("standby-current", Kind::Ampere),
    ("run-current", Kind::Ampere),
    ("vcc", Kind::Volt),
    ("vref", Kind::Volt),
    ("bulk", Kind::Volt),
    ("output", Kind::Volt),
];

/// Further names that only the start-up budget asks for, as in [`PARTS`]: the leakage from VCC to
/// ground, the bulk capacitor, the power taken from it, the time until the own supply carries VCC.
pub const MORE_PARTS: [(&str, Kind, f64, f64); 4] = [
    ("leakage", Kind::Ohm, 1.0, 1e12),
    ("bulk-capacitor", Kind::Farad, 1e-9, 1.0),
    ("bulk-power", Kind::Watt, 1e-3, 1e5),
    ("take-over-time", Kind::Second, 1e-6, 10.0),
];

/// Further names of readings that only the start-up budget asks for: a ramp on RT/CT.
pub const MORE_READINGS: [(&str, Kind); 5] = [
    ("ramp-rise", Kind::Second),
    ("ramp-fall", Kind::Second),
    ("ramp-peak", Kind::Volt),
    ("ramp-valley", Kind::Volt),
    ("ramp-asymptote", Kind::Volt),
];

/// The value of a part that [`PARTS`] names, in SI base units; forms as in [`marked_part`].
///
/// # Errors
/// A sentence: no such part, no value, or a value that no such part has.
pub fn part(name: &str, text: &str) -> Result<f64, String> {
    if !PARTS.iter().any(|part| part.0 == name) {
        return Err(format!("no part '{}'", clean(name)));
    }
    marked_part(name, text).map(|part| part.value())
}

/// Names of all hand readings with their kind: [`READINGS`], [`MORE_READINGS`], and those of [`PARTS`],
/// which are readings of the part itself.
pub fn all_readings() -> impl Iterator<Item = (&'static str, Kind)> {
    let parts = PARTS.iter().map(|part| (part.0, part.1));
    READINGS.into_iter().chain(MORE_READINGS).chain(parts)
}

/// What a hand reading is measured in; `None` where there is none of this name.
pub fn reading_kind(name: &str) -> Option<Kind> {
    let mut all = all_readings();
    all.find(|known| known.0 == name).map(|known| known.1)
}

/// The value of a hand reading that [`all_readings`] names, in SI base units.
///
/// # Errors
/// A sentence: no such reading, or no value.
pub fn reading(name: &str, text: &str) -> Result<f64, String> {
    let kind = reading_kind(name).ok_or_else(|| format!("no reading '{}'", clean(name)))?;
    value(text, kind)
}

/// A probe's factor: `10`, `10x`, `x10`, `100:1`.
///
/// # Errors
/// A sentence that names the text and the forms expected; also for zero and less.
pub fn factor(text: &str) -> Result<f64, String> {
    let wrong = || {
        format!(
            "'{}' is no probe factor; write it like 10, 10x or 100:1",
            clean(text)
        )
    };
    let typed = text.trim().to_ascii_lowercase();
    let bare = typed.strip_suffix(":1").or_else(|| typed.strip_suffix('x'));
    let bare = bare.or_else(|| typed.strip_prefix('x')).unwrap_or(&typed);
    let factor = value(bare, Kind::Ratio).map_err(|_unused| wrong())?;
    if factor <= 0.0 || bare.ends_with('%') {
        return Err(wrong());
    }
    Ok(factor)
}

/// `1%+20mV`, either part alone, in any order: rectangular half-widths.
///
/// # Errors
/// A sentence that names the text and the form expected.
pub fn spread(text: &str) -> Result<Accuracy, String> {
    let wrong = || {
        format!(
            "'{}' is no accuracy; write it like 1%+20mV, 1% or 20mV",
            clean(text)
        )
    };
    let (mut gain, mut offset) = (None, None);
    for term in text.split('+') {
        let term = term.trim();
        let (slot, number) = match term.ends_with('%') {
            true => (&mut gain, value(term, Kind::Ratio)),
            false if term.ends_with('V') => (&mut offset, value(term, Kind::Volt)),
            false => return Err(wrong()),
        };
        let number = number.map_err(|_unused| wrong())?;
        if slot.is_some() || number < 0.0 {
            return Err(wrong());
        }
        *slot = Some(number);
    }
    let accuracy = Accuracy {
        gain: gain.unwrap_or(0.0),
        offset: offset.unwrap_or(0.0),
    };
    if accuracy.gain >= 1.0 {
        Err(wrong())
    } else {
        Ok(accuracy)
    }
}

/// `number` as the trade writes it, short and without loss: `4.7 kΩ`, `47 µF`, `0.4 mA`, `0 V`;
/// [`value`] reads the same number back, but for the last bits. Not finite gives an empty text.
pub fn written(number: f64, kind: Kind) -> String {
    let unit = kind.spellings().get(1).filter(|_| kind == Kind::Ohm);
    let unit = unit.or(kind.spellings().first()).copied().unwrap_or("");
    if !number.is_finite() {
        return String::new();
    }
    let plain = number == 0.0 || kind == Kind::Ratio;
    let (scale, letter) = super::text::PREFIXES
        .into_iter()
        .find(|(scale, _)| !plain && number.abs() >= *scale * (1.0 - 1e-12))
        .unwrap_or((1.0, ""));
    // twelve digits: what was typed, without what binary fractions add to it
    let scaled = number / scale;
    let whole = scaled.abs().log10().floor().clamp(0.0, 11.0) as usize;
    let digits = format!("{scaled:.*}", 11 - whole);
    let short = digits.trim_end_matches('0').trim_end_matches('.');
    format!("{short} {letter}{unit}").trim_end().to_owned()
}

/// An accuracy as [`spread`] reads it: `1%+20mV`.
pub fn written_spread(accuracy: Accuracy) -> String {
    let percent = written(100.0 * accuracy.gain, Kind::Ratio);
    let volts = written(accuracy.offset, Kind::Volt).replace(' ', "");
    match (accuracy.gain > 0.0, accuracy.offset > 0.0) {
        (true, false) => format!("{percent}%"),
        (false, _) => volts,
        (true, true) => format!("{percent}%+{volts}"),
    }
}

fn clean(text: &str) -> String {
    harmless(text, 200)
}

#[cfg(test)]
mod tests;
