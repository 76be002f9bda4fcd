//! Values as the trade types them: `220k`, `4k7`, `0R47`, `47u`, `1nF`, `0,47`, `14V`, `0.4mA`, `1%`.
//!
//! A text that could mean two numbers is refused, never guessed.

/// What a value is measured in, with the letters that may be typed for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Ohm,
    Farad,
    Volt,
    Ampere,
    Henry,
    Coulomb,
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
            Kind::Ratio => &[],
        }
    }

    /// Forms that are understood, for a message.
    pub(super) fn forms(self) -> &'static str {
        match self {
            Kind::Ohm => "220k, 4k7, 0R47 or 0.47",
            Kind::Farad => "47u, 4n7 or 100nF",
            Kind::Volt => "14V, 5V1 or 300mV",
            Kind::Ampere => "0.4mA or 12m",
            Kind::Henry => "620u or 1mH",
            Kind::Coulomb => "35n or 35nC",
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
/// Errors are sentences that name the text and the forms expected.
pub(super) fn value(text: &str, kind: Kind) -> Result<f64, String> {
    let wrong = || {
        format!(
            "'{}' is no value; write it like {}",
            super::clean(text),
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

#[cfg(test)]
mod tests {
    use super::*;

    fn near(text: &str, kind: Kind, wanted: f64) {
        let got = value(text, kind).unwrap();
        assert!(
            (got - wanted).abs() <= 1e-12 * wanted.abs(),
            "{text}: {got} for {wanted}"
        );
    }

    #[test]
    fn values_are_understood_as_the_trade_types_them() {
        for (text, kind, wanted) in [
            ("220k", Kind::Ohm, 220e3),
            ("4k7", Kind::Ohm, 4700.0),
            ("4K7", Kind::Ohm, 4700.0),
            ("0R47", Kind::Ohm, 0.47),
            ("220R", Kind::Ohm, 220.0),
            ("1M5", Kind::Ohm, 1.5e6),
            ("13 kΩ", Kind::Ohm, 13e3),
            ("13kohm", Kind::Ohm, 13e3),
            ("470mΩ", Kind::Ohm, 0.47),
            ("0.47", Kind::Ohm, 0.47),
            ("0,47", Kind::Ohm, 0.47),
            ("0,047", Kind::Ohm, 0.047),
            ("47u", Kind::Farad, 47e-6),
            ("47µF", Kind::Farad, 47e-6),
            ("47μF", Kind::Farad, 47e-6),
            ("1n", Kind::Farad, 1e-9),
            ("4n7", Kind::Farad, 4.7e-9),
            ("4n7F", Kind::Farad, 4.7e-9),
            ("100pF", Kind::Farad, 100e-12),
            ("104", Kind::Farad, 104.0),
            ("14V", Kind::Volt, 14.0),
            ("5V1", Kind::Volt, 5.1),
            ("300mV", Kind::Volt, 0.3),
            ("-0.2V", Kind::Volt, -0.2),
            ("−0.2V", Kind::Volt, -0.2),
            ("0.4mA", Kind::Ampere, 0.4e-3),
            ("12m", Kind::Ampere, 12e-3),
            ("620uH", Kind::Henry, 620e-6),
            ("35nC", Kind::Coulomb, 35e-9),
            ("61.25%", Kind::Ratio, 0.6125),
            ("1M", Kind::Ohm, 1e6),
            ("1m", Kind::Ohm, 1e-3),
        ] {
            near(text, kind, wanted);
        }
    }

    #[test]
    fn what_is_no_value_or_two_is_refused() {
        for (text, kind) in [
            ("", Kind::Ohm),
            ("k", Kind::Ohm),
            ("4.7k7", Kind::Ohm),
            ("4k7k", Kind::Ohm),
            ("4.7.1", Kind::Ohm),
            ("1,000", Kind::Ohm),
            ("1-2", Kind::Ohm),
            ("1e3", Kind::Ohm),
            ("47uF", Kind::Ohm),
            ("14A", Kind::Volt),
            ("14%", Kind::Volt),
            ("inf", Kind::Volt),
            ("NaN", Kind::Volt),
            ("1F2F", Kind::Farad),
        ] {
            assert!(value(text, kind).is_err(), "{text}");
        }
        assert_eq!(
            value("4x7", Kind::Ohm).unwrap_err(),
            "'4x7' is no value; write it like 220k, 4k7, 0R47 or 0.47"
        );
    }

    proptest::proptest! {
        #[test]
        fn an_infix_letter_is_a_decimal_point(whole in 0_u32..1000, part in 0_u32..1000) {
            let infix = value(&format!("{whole}k{part:03}"), Kind::Ohm).unwrap();
            let plain = value(&format!("{whole}.{part:03}k"), Kind::Ohm).unwrap();
            proptest::prop_assert_eq!(infix.to_bits(), plain.to_bits());
        }

        #[test]
        fn no_text_brings_it_down(text in "\\PC{0,12}") {
            for kind in [Kind::Ohm, Kind::Volt, Kind::Ratio] {
                if let Ok(number) = value(&text, kind) {
                    proptest::prop_assert!(number.is_finite());
                }
            }
        }
    }
}
