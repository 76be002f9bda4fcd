//! The RT/CT oscillator: exact relations, their inverse, and the expected frequency.
//!
//! RT charges CT from VREF; at the peak a constant current switches on and pulls CT down to the
//! valley while RT goes on charging (SLUS223G 8.3.6, SLUA257 3.3). Comparator delays and strays
//! are left out, so that the result reads a few per cent high above about 100 kHz.

use crate::data::typed::Tolerance;
use crate::data::{Limit, Status, Unit};

use super::{Profile, widest};

mod inverse;
mod moved;
mod parts;
mod promise;
mod rule;

pub use inverse::{RampConstants, RampSeen};
pub use moved::{MarkedTiming, from_ramp};
pub use parts::{NoOscillation, TimingParts};
pub use promise::{SHORT_FROM_OHM, UNTRIMMED, promise};
pub use rule::{Rule, SourcedRule, rule_of};

/// Ramp peak where a profile gives none, in volts (SLUS223G 8.3.6).
pub const USUAL_PEAK_V: f64 = 2.7;
/// Ramp valley where a profile gives none, in volts (peak minus 1.7 V, SLUS223G 7.5).
pub const USUAL_VALLEY_V: f64 = 1.0;
/// Reference where a profile gives none, in volts.
pub const USUAL_VREF_V: f64 = 5.0;
/// Discharge current where a profile gives none, in amperes (SLUS224F 6.5).
pub const USUAL_DISCHARGE_A: f64 = 8.3e-3;
/// Deviation from the computed frequency below which no part is called drifted (common practice).
pub const FREQUENCY_TOLERANCE: f64 = 0.10;

/// An oscillator with the usual levels of the bipolar family and this RT and CT, in ohms and farads.
pub fn usual_parts(rt_ohm: f64, ct_farad: f64) -> TimingParts {
    TimingParts {
        rt_ohm,
        ct_farad,
        vref_v: USUAL_VREF_V,
        peak_v: USUAL_PEAK_V,
        valley_v: USUAL_VALLEY_V,
        discharge_a: USUAL_DISCHARGE_A,
    }
}

/// The oscillator of one part with its typical levels and this RT and CT, in ohms and farads.
pub fn typical_parts(profile: &Profile, rt_ohm: f64, ct_farad: f64) -> TimingParts {
    let typical = |key: &str, usual: f64| {
        let known = profile.values.get(key).and_then(|limit| limit.typ);
        known.unwrap_or(usual)
    };
    TimingParts {
        rt_ohm,
        ct_farad,
        vref_v: typical("vref", USUAL_VREF_V),
        peak_v: typical("osc_peak", USUAL_PEAK_V),
        valley_v: typical("osc_valley", USUAL_VALLEY_V),
        discharge_a: typical("osc_discharge_current", USUAL_DISCHARGE_A),
    }
}

/// The oscillator frequency that RT (ohms) and CT (farads) dictate: the exact relation with each
/// candidate's typical levels, ±10 %, widest over the candidates.
///
/// The typical value is the middle of the candidates' typical values. `None` without candidates,
/// for parts that are not positive finite numbers, and where no candidate would oscillate.
pub fn expected_frequency(candidates: &[&Profile], rt_ohm: f64, ct_farad: f64) -> Option<Limit> {
    expected_frequency_within(candidates, rt_ohm, ct_farad, None, None)
}

/// As [`expected_frequency`], with tolerances of RT and CT where they are known: where both together
/// allow more than ±10 %, they are the limits.
pub fn expected_frequency_within(
    candidates: &[&Profile],
    rt_ohm: f64,
    ct_farad: f64,
    rt_tolerance: Option<Tolerance>,
    ct_tolerance: Option<Tolerance>,
) -> Option<Limit> {
    let none = Tolerance::both(0.0);
    let (rt, ct) = (rt_tolerance.unwrap_or(none), ct_tolerance.unwrap_or(none));
    let slowest = 1.0 / ((1.0 + rt.plus) * (1.0 + ct.plus));
    let fastest = 1.0 / ((1.0 - rt.minus) * (1.0 - ct.minus));
    let low = slowest.min(1.0 - FREQUENCY_TOLERANCE);
    let high = fastest.max(1.0 + FREQUENCY_TOLERANCE);
    let mut joined = widest::join(candidates, |profile| {
        let parts = typical_parts(profile, rt_ohm, ct_farad);
        let typ = parts.frequency_hz().ok()?;
        Some(frequency_limit(typ, low, high))
    })?;
    joined.typ = Some((joined.min? / low + joined.max? / high) / 2.0);
    Some(joined)
}

fn frequency_limit(typ_hz: f64, low: f64, high: f64) -> Limit {
    let close = |a: f64| a <= FREQUENCY_TOLERANCE + 1e-12;
    let usual = close(1.0 - low) && close(high - 1.0);
    Limit {
        min: Some(typ_hz * low),
        typ: Some(typ_hz),
        max: Some(typ_hz * high),
        unit: Unit::Hertz,
        condition: if usual {
            "±10 % before a part is called drifted (common practice)".to_owned()
        } else {
            format!(
                "{:.1} to {:+.1} % by the tolerances told of RT and CT, at least ±10 %",
                100.0 * (low - 1.0),
                100.0 * (high - 1.0)
            )
        },
        source: "computed from RT and CT: f = 1/(rise + fall), exact exponentials with typical \
                 levels and discharge current"
            .to_owned(),
        status: Status::Derived,
        status_limits: Status::Derived,
    }
}
