//! Which controllers fit a measured start and stop.

use super::Profile;
use crate::data::Limit;
use crate::data::text::engineering;

/// Half-width taken where only a typical value is published, as a share of it: the start limits of
/// the commercial 16 V parts are 9 % away from their typical value (SLUS223G 7.5).
const ASSUMED_SHARE: f64 = 0.10;
/// Smallest standard uncertainty taken, in volts; below it no bench reading is.
const SMALLEST_U_V: f64 = 1e-3;

/// One controller with how well it fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked<'a> {
    /// The profile.
    pub profile: &'a Profile,
    /// Share among all profiles, 0 to 1; the shares of a list add up to 1.
    pub weight: f64,
    /// What it rests on.
    pub why: String,
}

/// Ranks profiles by how probable a measured start and stop (volts, with standard uncertainty
/// `u_v`) are for a part whose thresholds lie anywhere within its limits, each profile being
/// equally probable beforehand.
///
/// A profile without start or stop is left out; so is one that can't give these values. Empty for
/// values that are not finite. A start and a stop alone seldom leave one name: 15.2 V and 9.6 V
/// fit several families.
pub(super) fn rank(profiles: &[Profile], start_v: f64, stop_v: f64, u_v: f64) -> Vec<Ranked<'_>> {
    if ![start_v, stop_v, u_v].iter().all(|value| value.is_finite()) {
        return Vec::new();
    }
    let u_v = u_v.max(SMALLEST_U_V);
    let mut ranked: Vec<Ranked> = profiles
        .iter()
        .filter_map(|profile| {
            let start = Fit::of(profile.values.get("vcc_start")?, start_v, u_v)?;
            let stop = Fit::of(profile.values.get("vcc_stop")?, stop_v, u_v)?;
            Some(Ranked {
                profile,
                weight: start.density * stop.density,
                why: format!("start {}; stop {}", start.words, stop.words),
            })
        })
        .collect();
    let total: f64 = ranked.iter().map(|one| one.weight).sum();
    ranked.retain(|one| total > 0.0 && one.weight > 1e-6 * total);
    let kept: f64 = ranked.iter().map(|one| one.weight).sum();
    for one in &mut ranked {
        one.weight /= kept;
    }
    ranked.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    ranked
}

/// How one threshold fits.
struct Fit {
    density: f64,
    words: String,
}

impl Fit {
    fn of(limit: &Limit, seen_v: f64, u_v: f64) -> Option<Fit> {
        let assumed = limit.typ.map(|typ| typ * ASSUMED_SHARE);
        let min = limit.min.or_else(|| Some(limit.typ? - assumed?))?;
        let max = limit.max.or_else(|| Some(limit.typ? + assumed?))?;
        let within = normal_cdf((max - seen_v) / u_v) - normal_cdf((min - seen_v) / u_v);
        let volts = |value| engineering(value, limit.unit, 4);
        let place = if (min..=max).contains(&seen_v) {
            "within"
        } else {
            "outside"
        };
        let kind = if limit.has_limits() {
            "published"
        } else {
            "assumed, only a typical value is published"
        };
        let (min_shown, max_shown) = (volts(min), volts(max));
        Some(Fit {
            density: within / (max - min).max(u_v),
            words: format!(
                "{} {place} {min_shown} … {max_shown} ({kind})",
                volts(seen_v)
            ),
        })
    }
}

/// Normal distribution function, error below 1e-7 (Abramowitz and Stegun 7.1.26).
fn normal_cdf(z: f64) -> f64 {
    let x = z.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let coefficients = [
        1.061_405_429,
        -1.453_152_027,
        1.421_413_741,
        -0.284_496_736,
        0.254_829_592,
    ];
    let polynomial = coefficients.iter().fold(0.0, |sum, c| (sum + c) * t);
    let tail = 0.5 * polynomial * (-x * x).exp();
    if z > 0.0 { 1.0 - tail } else { tail }
}

#[cfg(test)]
mod tests {
    use super::normal_cdf;

    #[test]
    fn the_normal_distribution_has_its_known_values() {
        for (z, p) in [
            (0.0, 0.5),
            (1.0, 0.841_344_746),
            (-1.96, 0.024_997_895),
            (3.0, 0.998_650_102),
        ] {
            assert!((normal_cdf(z) - p).abs() < 2e-7, "{z}");
        }
    }
}
