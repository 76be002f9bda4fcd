//! Figures as they are spoken at the bench: no digits that say nothing.

/// `18 V`, `0.5 V`, `20 mV`; a dash for what is not finite.
pub(super) fn volts(volts: f64) -> String {
    if volts.abs() < 0.1 && volts.abs() > 0.0 {
        return format!("{} mV", digits(volts * 1e3));
    }
    format!("{} V", digits(volts))
}

/// `5 s`, `200 ms`, `5 µs`.
pub(super) fn seconds(seconds: f64) -> String {
    let (scale, unit) = match seconds.abs() {
        s if s >= 1.0 => (1.0, "s"),
        s if s >= 1e-3 => (1e3, "ms"),
        s if s >= 1e-6 => (1e6, "µs"),
        _ => (1e9, "ns"),
    };
    format!("{} {unit}", digits(seconds * scale))
}

/// At most three decimals, none of them a zero at the end; minus as a minus sign.
pub(super) fn digits(value: f64) -> String {
    if !value.is_finite() {
        return "—".to_owned();
    }
    let rounded = (value * 1e3).round() / 1e3;
    let sign = if rounded < 0.0 { "−" } else { "" };
    format!("{sign}{}", rounded.abs())
}
