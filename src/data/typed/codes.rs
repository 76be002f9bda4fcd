//! What is printed on a part: codes of resistors and capacitors, letters of tolerance (IEC 60062:2016,
//! from memory; the two-digit code for 1 % chip resistors is the EIA-96 of the trade, from memory).

use super::{Kind, Series};

/// A tolerance: how far below and above its mark a part may lie, as shares of the mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Share below; 0.05 is 5 %.
    pub minus: f64,
    /// Share above.
    pub plus: f64,
}

impl Tolerance {
    /// The same on both sides.
    pub fn both(share: f64) -> Tolerance {
        Tolerance {
            minus: share,
            plus: share,
        }
    }

    /// `±5 %`, `−20/+80 %`.
    pub fn shown(&self) -> String {
        let percent = |share: f64| super::written(100.0 * share, Kind::Ratio);
        if (self.minus - self.plus).abs() < 1e-12 {
            format!("±{} %", percent(self.plus))
        } else {
            format!("−{}/+{} %", percent(self.minus), percent(self.plus))
        }
    }
}

/// Letters of tolerance with the per cents below and above.
const LETTERS: [(char, f64, f64); 18] = [
    ('E', 0.005, 0.005),
    ('L', 0.01, 0.01),
    ('P', 0.02, 0.02),
    ('W', 0.05, 0.05),
    ('B', 0.1, 0.1),
    ('C', 0.25, 0.25),
    ('D', 0.5, 0.5),
    ('F', 1.0, 1.0),
    ('G', 2.0, 2.0),
    ('H', 3.0, 3.0),
    ('J', 5.0, 5.0),
    ('K', 10.0, 10.0),
    ('M', 20.0, 20.0),
    ('N', 30.0, 30.0),
    ('Q', 10.0, 30.0),
    ('T', 10.0, 50.0),
    ('S', 20.0, 50.0),
    ('Z', 20.0, 80.0),
];

/// Capacitors below 10 pF: the same letters mean picofarads.
const PICOFARADS: [(char, f64); 5] = [('B', 0.1), ('C', 0.25), ('D', 0.5), ('F', 1.0), ('G', 2.0)];

/// What a letter of tolerance says of a part of this value. `None` for a letter without meaning.
pub fn of_letter(letter: char, value: f64, kind: Kind) -> Option<Tolerance> {
    if kind == Kind::Farad && value < 10e-12 * (1.0 - 1e-9) {
        let (_, picofarads) = PICOFARADS.iter().find(|known| known.0 == letter)?;
        return Some(Tolerance::both(picofarads * 1e-12 / value));
    }
    let (_, minus, plus) = LETTERS.iter().find(|known| known.0 == letter)?;
    Some(Tolerance {
        minus: minus / 100.0,
        plus: plus / 100.0,
    })
}

/// A value read from a code, with the tolerance that the code carries and how it was read.
pub(super) type Code = (f64, Option<Tolerance>, String);

/// Three digits on a capacitor, picofarads: two digits and the number of zeros (8 and 9: hundredths and
/// tenths), and a letter of tolerance behind them where there is one.
pub(super) fn capacitor(text: &str) -> Option<Code> {
    let (digits, letter) = match text.chars().last()? {
        last if last.is_ascii_alphabetic() => (&text[..text.len() - 1], Some(last)),
        _ => (text, None),
    };
    let (figures, zeros) = figures(digits, 3)?;
    if figures < 10 {
        return None;
    }
    // F is the unit as well; nobody has a capacitor of 104 farads, but the letter has two meanings
    if letter == Some('F') {
        return None;
    }
    let value = shifted(f64::from(figures), zeros) / 1e12;
    let tolerance = match letter {
        Some(letter) => Some(of_letter(letter, value, Kind::Farad)?),
        None => None,
    };
    let shown = super::written(value, Kind::Farad);
    Some((value, tolerance, format!("code {text}: {shown}")))
}

/// Three or four digits on a resistor, ohms: figures and the number of zeros. `Ok(None)` where the digits
/// are taken as plain ohms: such a resistor is made, or the last digit is 0.
///
/// # Errors
/// A sentence where both readings are parts that are made, or where neither is.
pub(super) fn resistor(text: &str) -> Result<Option<Code>, String> {
    let three = text.len() == 3;
    let Some((digits, zeros)) = figures(text, text.len().clamp(3, 4)) else {
        return Ok(None);
    };
    let plain: f64 = text.parse().unwrap_or(f64::NAN);
    let value = shifted(f64::from(digits), zeros);
    let finest = if three { Series::E24 } else { Series::E192 };
    let made = digits >= if three { 10 } else { 100 } && finest.holds(value);
    if text.ends_with('0') || !made {
        return Ok(None);
    }
    let shown = super::written(value, Kind::Ohm);
    if three && !Series::E24.holds(plain) && !Series::E96.holds(plain) {
        return Ok(Some((value, None, format!("code {text}: {shown}"))));
    }
    let ohms = super::written(plain, Kind::Ohm);
    Err(format!(
        "'{text}' could mean {ohms} or, as the code on a chip resistor, {shown}; write {text}R or {}",
        shown.replace([' ', 'Ω'], "").replace("ohm", "")
    ))
}

/// Two digits and a letter on a 1 % chip resistor. Not `R`, which stands for ohms.
pub(super) fn eia96(text: &str) -> Option<Code> {
    let letter = text.get(2..)?;
    let exponent = match letter {
        "Z" => -3,
        "Y" => -2,
        "X" | "S" => -1,
        "A" => 0,
        "B" | "H" => 1,
        "C" => 2,
        "D" => 3,
        "E" => 4,
        "F" => 5,
        _ => return None,
    };
    let place: usize = text.get(..2)?.parse().ok()?;
    let figure = *Series::E96.values().get(place.checked_sub(1)?)?;
    let value = shifted((figure * 100.0).round(), exponent);
    let shown = super::written(value, Kind::Ohm);
    let told = format!("EIA-96 code {text}: {shown}");
    Some((value, Some(Tolerance::both(0.01)), told))
}

/// Figures and exponent of a code of `count` digits.
fn figures(text: &str, count: usize) -> Option<(u32, i32)> {
    if text.len() != count || !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let (digits, zeros) = text.split_at(count - 1);
    let zeros = match zeros.parse::<i32>().ok()? {
        9 => -1,
        8 => -2,
        zeros => zeros,
    };
    Some((digits.parse().ok()?, zeros))
}

fn shifted(figures: f64, exponent: i32) -> f64 {
    if exponent < 0 {
        figures / 10f64.powi(-exponent)
    } else {
        figures * 10f64.powi(exponent)
    }
}
