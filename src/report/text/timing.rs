//! The oscillator on a terminal.

use super::Page;
use crate::data::text::engineering;
use crate::data::{Bounded, FromRamp, Timing, Unit};

/// What RT and CT promise.
pub(super) fn timing(page: &mut Page, timing: &Timing) {
    page.heading("OSCILLATOR");
    let rows: [(&str, Option<Bounded>, Unit); 7] = [
        ("  RT", timing.rt_ohm, Unit::Ohm),
        ("  CT", timing.ct_farad, Unit::Farad),
        ("  charge", timing.rise_s, Unit::Second),
        ("  dead time", timing.fall_s, Unit::Second),
        ("  oscillator", timing.frequency_hz, Unit::Hertz),
        ("  OUT", timing.out_frequency_hz, Unit::Hertz),
        ("  largest duty", timing.max_duty, Unit::One),
    ];
    for (label, value, unit) in rows {
        if let Some(value) = value {
            page.hanging(label, 18, &shown(value, unit));
        }
    }
    if let (Some(hz), Some(error)) = (timing.short_hz, timing.short_error) {
        let text = format!(
            "{} by 1.72/(RT·CT), {:+.0} % off the exact relation",
            engineering(hz, Unit::Hertz, 4),
            100.0 * error
        );
        page.hanging("  short formula", 18, &text);
    }
    if timing.frequency_hz.is_some() {
        let text = format!(
            "{} ({}, {})",
            timing.rule,
            timing.source,
            timing.status.id()
        );
        page.hanging("  by", 18, &text);
    }
    for (what, why) in &timing.why_not {
        page.hanging("  -", 4, &format!("no {}: {why}", what.replace('_', " ")));
    }
    for remark in &timing.remarks {
        page.hanging("  -", 4, remark);
    }
}

/// What a measured ramp gives away.
pub(super) fn from_ramp(page: &mut Page, found: &FromRamp) {
    page.heading("FROM THE RAMP");
    page.hanging(
        "  RT × CT",
        18,
        &engineering(found.rt_ct_s, Unit::Second, 4),
    );
    let drop = engineering(found.discharge_drop_v, Unit::Volt, 4);
    page.hanging("  discharge × RT", 18, &drop);
    if let Some(leak) = found.leak_ohm {
        page.hanging("  leak", 18, &engineering(leak, Unit::Ohm, 3));
    }
    page.hanging("  so", 18, &found.because);
    for fix in &found.fixes {
        page.hanging("  -", 4, fix);
    }
}

/// `13.00 kΩ (12.87 kΩ … 13.13 kΩ)`.
pub(super) fn shown(value: Bounded, unit: Unit) -> String {
    let number = |v: f64| match v {
        v if v.is_finite() => engineering(v, unit, 4),
        _ => "without end".to_owned(),
    };
    if value.high <= value.low {
        return number(value.typ);
    }
    let (low, high) = (number(value.low), number(value.high));
    format!("{} ({low} … {high})", number(value.typ))
}
