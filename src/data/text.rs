//! Numbers and untrusted names as text for a person.

use super::units::Unit;

/// `value` with `digits` significant digits and an SI prefix: `13.14 V`, `67.52 kHz`, `2.36 mA`.
///
/// Ratios are shown in per cent, counts as whole numbers. Non-finite values give `—`.
pub fn engineering(value: f64, unit: Unit, digits: usize) -> String {
    if !value.is_finite() {
        return "—".to_owned();
    }
    match unit {
        Unit::Count => return format!("{}", value.round()),
        Unit::One => return with_unit(&significant(value * 100.0, digits), "%"),
        Unit::Unknown | Unit::Quotient => return significant(value, digits),
        _ => {}
    }
    let (scale, prefix) = prefix_of(value, unit);
    with_unit(
        &significant(value / scale, digits),
        &format!("{prefix}{}", unit.shown()),
    )
}

/// `1 file`, `3 files`.
pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// `value` ± `half_width` written with the same prefix and with decimals that fit the half-width
/// (two significant digits of it): `15.98 ± 0.43 V`.
///
/// A half-width that is zero or not finite gives the value alone.
pub fn plus_minus(value: f64, half_width: f64, unit: Unit) -> String {
    if !value.is_finite() || !half_width.is_finite() || half_width <= 0.0 {
        return engineering(value, unit, 4);
    }
    if unit == Unit::Count {
        return format!("{} ± {}", value.round(), significant(half_width, 2));
    }
    let (scale, symbol) = match unit {
        Unit::One => (0.01, "%".to_owned()),
        Unit::Unknown | Unit::Quotient => (1.0, String::new()),
        _ => {
            let (scale, prefix) = prefix_of(value.abs().max(half_width), unit);
            (scale, format!("{prefix}{}", unit.shown()))
        }
    };
    let decimals = decimals_for(half_width / scale, 2);
    let number = format!(
        "{} ± {}",
        fixed(value / scale, decimals),
        fixed(half_width / scale, decimals)
    );
    with_unit(&number, &symbol)
}

/// A name from a file made fit for screen and terminal: control characters, direction-changing
/// and other invisible characters become `·`, and at most `longest` characters are kept.
pub fn harmless(name: &str, longest: usize) -> String {
    let mut shown: String = name
        .chars()
        .take(longest)
        .map(|c| if is_harmful(c) { '·' } else { c })
        .collect();
    if name.chars().count() > longest {
        shown.push('…');
    }
    shown
}

/// An error with all its causes on one line, each said once, fit for screen and terminal.
pub fn error_chain(error: &(dyn std::error::Error + 'static)) -> String {
    let mut text = error.to_string();
    let mut next = error.source();
    while let Some(cause) = next {
        let more = cause.to_string();
        if !text.ends_with(&more) {
            text = format!("{text}: {more}");
        }
        next = cause.source();
    }
    harmless(&text, usize::MAX)
}

fn is_harmful(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{061C}' | '\u{180E}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}'
            | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF0}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}')
}

fn with_unit(number: &str, symbol: &str) -> String {
    if symbol.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {symbol}")
    }
}

/// SI prefixes with their factors, largest first.
pub(super) const PREFIXES: [(f64, &str); 8] = [
    (1e9, "G"),
    (1e6, "M"),
    (1e3, "k"),
    (1.0, ""),
    (1e-3, "m"),
    (1e-6, "µ"),
    (1e-9, "n"),
    (1e-12, "p"),
];

/// The factor and prefix that put `value` between 1 and 1000; volts stay plain down to 0.1 V.
fn prefix_of(value: f64, unit: Unit) -> (f64, &'static str) {
    let magnitude = value.abs();
    if matches!(unit, Unit::Celsius) || magnitude == 0.0 {
        return (1.0, "");
    }
    if unit == Unit::Volt && (0.0995..1e4).contains(&magnitude) {
        return (1.0, "");
    }
    if unit == Unit::VoltPerSecond && (0.0995..1e5).contains(&magnitude) {
        return (1.0, "");
    }
    PREFIXES
        .into_iter()
        .find(|(scale, _)| magnitude >= scale * 0.9995)
        .unwrap_or((1e-12, "p"))
}

fn significant(value: f64, digits: usize) -> String {
    fixed(value, decimals_for(value, digits))
}

fn decimals_for(value: f64, digits: usize) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let wanted = digits.max(1) as f64 - 1.0 - value.abs().log10().floor();
    wanted.clamp(0.0, 12.0) as usize
}

fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// `14.50 V` as `14.5 V`: a published number carries no digits of ours.
pub fn trimmed(shown: &str) -> String {
    let (number, unit) = shown.split_once(' ').unwrap_or((shown, ""));
    let number = if number.contains('.') {
        number.trim_end_matches('0').trim_end_matches('.')
    } else {
        number
    };
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {unit}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_on_the_bench() {
        assert_eq!(engineering(67522.0, Unit::Hertz, 4), "67.52 kHz");
        assert_eq!(engineering(0.00236, Unit::Ampere, 3), "2.36 mA");
        assert_eq!(engineering(0.486, Unit::One, 3), "48.6 %");
        assert_eq!(engineering(0.25, Unit::Volt, 3), "0.250 V");
        assert_eq!(engineering(-265.6, Unit::VoltPerSecond, 4), "−265.6 V/s");
        assert_eq!(engineering(f64::NAN, Unit::Volt, 3), "—");
        assert_eq!(plus_minus(15.983, 0.434, Unit::Volt), "15.98 ± 0.43 V");
        assert_eq!(plus_minus(0.2248, 0.0011, Unit::Second), "224.8 ± 1.1 ms");
        assert_eq!(plus_minus(-0.0001, 0.01, Unit::Volt), "0 ± 10 mV");
    }

    #[test]
    fn names_from_files_lose_their_teeth() {
        assert_eq!(harmless("CH\u{1b}[31m1\u{202E}", 40), "CH·[31m1·");
        assert_eq!(harmless("abcdef", 3), "abc…");
    }
}
