//! Where a figure of a part may lie: published, or assumed from a typical value.

use super::super::oscillator::TimingKind;
use super::super::{Profile, widest};
use crate::data::Limit;

/// Half-width taken where only a typical start threshold is published, as a share of it: the widest that
/// is published, 16 to 20 V around 18 V (NCP1250/D); 9 % in SLUS223G 7.5.
const START_SHARE: f64 = 0.12;
/// The same for the stop threshold: 8.5 to 11.5 V around 10 V (SLUS223G 7.5).
const STOP_SHARE: f64 = 0.15;
/// The same for the lower turning point of the ramp: 0.7 V below 1 V, the only limits that are
/// known (UC3823, from memory).
const VALLEY_SHARE: f64 = 0.30;
/// The same for the height of the ramp and a duty cycle set inside (common practice).
const LEVEL_SHARE: f64 = 0.20;
/// The standby current may be so many times the typical one where no most is published: 20 against 3 µA
/// (OB2263, from memory).
const STANDBY_TIMES: f64 = 7.0;
/// RT and CT can bring the largest duty cycle down to this share of its class: a design note has 33 %
/// with a small RT.
const LEAST_DUTY_SHARE: f64 = 0.3;
/// The same for a reference: 2 % is the total spread of the plainest grade, ±2 % (SLUS223G: 4.9 to
/// 5.1 V at one temperature).
const REFERENCE_SHARE: f64 = 0.02;
/// Supply in the condition of the OUT high level, in volts (SLUS223G 7.5).
const SUPPLY_V: f64 = 15.0;
/// Furthest that a bipolar driver stays below VCC, in volts (SLUS223G 7.5: OUT at least 13 V at 20 mA
/// from 15 V).
const BIPOLAR_HEADROOM_V: (f64, f64) = (0.8, 2.5);
/// A CMOS driver reaches VCC within this, in volts (common practice).
const CMOS_HEADROOM_V: (f64, f64) = (-0.3, 0.5);

/// An interval and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Range {
    pub min: f64,
    pub max: f64,
    pub published: bool,
    pub origin: &'static str,
}

const PUBLISHED: &str = "published";
const ASSUMED: &str = "assumed, only a typical value is published";

impl Range {
    /// Where this figure of a profile may lie; `None` where the profile says nothing about it.
    pub fn of(profile: &Profile, key: &str) -> Option<Range> {
        let limit = |key: &str| profile.values.get(key);
        match key {
            "osc_to_out_divide" => {
                let limit = widest::expected(&[profile], key)?;
                Some(Range::published(limit.min?, limit.max?))
            }
            "out_headroom" => headroom(profile),
            "duty_max" => duty(profile),
            "icc_startup" => {
                let limit = limit(key)?;
                match (limit.max, limit.typ) {
                    (Some(max), _) => Some(Range::published(0.0, max)),
                    (None, Some(typ)) => Some(Range::assumed(0.0, STANDBY_TIMES * typ)),
                    _ => None,
                }
            }
            "vref" => {
                let total = limit("vref_total").filter(|l| l.min.is_some() && l.max.is_some());
                around(total.or_else(|| limit(key))?, REFERENCE_SHARE)
            }
            "osc_valley" => around(limit(key)?, VALLEY_SHARE),
            "osc_amplitude_pp" => around(limit(key)?, LEVEL_SHARE),
            "vcc_stop" => around(limit(key)?, STOP_SHARE),
            _ => around(limit(key)?, START_SHARE),
        }
    }

    /// As that of a class, for a part whose own document does not say.
    pub fn of_class(self) -> Range {
        Range {
            published: false,
            origin: "told for others of its class",
            ..self
        }
    }

    fn published(min: f64, max: f64) -> Range {
        Range {
            min,
            max,
            published: true,
            origin: PUBLISHED,
        }
    }

    fn assumed(min: f64, max: f64) -> Range {
        Range {
            min,
            max,
            published: false,
            origin: ASSUMED,
        }
    }
}

/// The published limits; a missing one lies as far from the typical value as is usual.
fn around(limit: &Limit, share: f64) -> Option<Range> {
    let assumed = limit.typ.map(|typ| typ.abs() * share);
    let min = limit.min.or_else(|| Some(limit.typ? - assumed?))?;
    let max = limit.max.or_else(|| Some(limit.typ? + assumed?))?;
    let both = limit.min.is_some() && limit.max.is_some();
    Some(if both {
        Range::published(min, max)
    } else {
        Range::assumed(min, max)
    })
}

/// Where RT and CT set the dead time, the largest duty cycle may be much less than its class, and a part
/// without a published most reaches its class.
fn duty(profile: &Profile) -> Option<Range> {
    let limit = profile.values.get("duty_max");
    let class = profile.values.get("duty_class").and_then(|l| l.typ);
    let kind = profile.timing.as_ref().map(|timing| timing.kind);
    let inside = matches!(kind, Some(TimingKind::Fixed | TimingKind::OverR { .. }));
    match (limit, inside) {
        (Some(limit), true) => around(limit, LEVEL_SHARE),
        (Some(limit), false) => {
            let whole = profile.divide.map(|divide| 1.0 / f64::from(divide));
            let max = limit.max.or(whole).or(limit.typ)?;
            Some(Range {
                min: LEAST_DUTY_SHARE * max,
                max,
                published: false,
                origin: "published at most; RT and CT set how much less",
            })
        }
        (None, _) => class.map(|class| Range::assumed(LEAST_DUTY_SHARE * class, class)),
    }
}

/// VCC minus OUT high follows from OUT high with 15 V of supply. A CMOS driver, which a BiCMOS part
/// has, reaches its supply.
fn headroom(profile: &Profile) -> Option<Range> {
    let high = profile.values.get("out_high_20mA").and_then(|l| l.typ);
    let bipolar = high.is_some_and(|high| (SUPPLY_V - high - 1.5).abs() < 1.0);
    let band = |(min, max), origin| {
        Some(Range {
            min,
            max,
            published: false,
            origin,
        })
    };
    if bipolar || profile.family.starts_with("bipolar") {
        return band(
            BIPOLAR_HEADROOM_V,
            "usual for a bipolar driver, 1.5 V typical",
        );
    }
    let cmos = profile.family.starts_with("BiCMOS");
    cmos.then(|| band(CMOS_HEADROOM_V, "usual for a CMOS driver, about 0 V"))
        .flatten()
}
