//! The supply's input as typed: `230ac`, `230ac±6%`, `85..265ac`, `48dc`.

use super::{Kind, clean, value};
use crate::data::{Bounded, budget::Feed};

/// Tolerance of mains and direct inputs where none is told (EN 50160: ±10 %).
pub const USUAL: f64 = 0.10;

/// The input that a text means.
///
/// # Errors
/// A sentence that names the text and the forms expected: `ac` or `dc` missing, no voltage, a tolerance of
/// 100 % or more, limits in the wrong order, above 10 kV.
pub fn feed(text: &str) -> Result<Feed, String> {
    let wrong = || {
        format!(
            "'{}' is no input; write it like 230ac, 230ac±6%, 85..265ac, 48dc or 36..72dc",
            clean(text)
        )
    };
    let typed = text.trim().to_ascii_lowercase().replace("+-", "±");
    let (body, tolerance) = match typed.split_once(['±', ' ']) {
        Some((body, rest)) => (body.trim(), rest.trim().trim_start_matches('±').trim()),
        None => (typed.as_str(), ""),
    };
    let ac = body.ends_with("ac");
    let volts = body.strip_suffix("ac").or_else(|| body.strip_suffix("dc"));
    let volts = volts.ok_or_else(wrong)?;
    let number = |text: &str| {
        let volts = text.trim().trim_end_matches('v').trim();
        let found = value(volts, Kind::Volt).ok();
        found.filter(|v| *v > 0.0 && *v <= 10e3)
    };
    if let Some((low, high)) = volts.split_once("..") {
        let (low, high) = (
            number(low).ok_or_else(wrong)?,
            number(high).ok_or_else(wrong)?,
        );
        if high < low || !tolerance.is_empty() {
            return Err(wrong());
        }
        return Ok(Feed {
            ac,
            volts: Bounded::around(0.5 * (low + high), low, high),
            limits_told: true,
        });
    }
    let share = match tolerance.strip_suffix('%') {
        Some(percent) => value(percent, Kind::Ratio).map_err(|_unused| wrong())? / 100.0,
        None if tolerance.is_empty() => USUAL,
        None => return Err(wrong()),
    };
    if !(0.0..1.0).contains(&share) {
        return Err(wrong());
    }
    Ok(Feed {
        ac,
        volts: Bounded::within(number(volts).ok_or_else(wrong)?, share, share),
        limits_told: !tolerance.is_empty(),
    })
}
