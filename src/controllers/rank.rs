//! Which controllers fit what was measured.
//!
//! A class is as probable beforehand as it has makers, and its part may lie anywhere within the widest
//! limits of the class (`class.rs` has the reasons). A figure that a profile does not publish is that of
//! others of its class; one that nobody of the class publishes neither helps nor hurts: it counts as
//! probable as it is, on average, for those that publish it.

use std::collections::BTreeMap;

use super::Profile;
use crate::data::text::engineering;
use crate::data::{ControllerFits, Unit};

mod class;
mod fits;
mod normal;
mod range;
mod separate;

use class::Class;
use normal::normal_cdf;
use range::Range;

/// Smallest share of the value taken as standard uncertainty: no bench reading is better.
const SMALLEST_SHARE: f64 = 1e-4;
/// Profiles below this share of all are left out.
const LEAST_SHARE: f64 = 1e-6;
/// So are those with a figure less probable than this.
const LEAST_WITHIN: f64 = 1e-4;
/// Below this probability a figure lies surely outside, as for verdicts.
const SURELY_OUTSIDE: f64 = 0.025;
/// From this probability it lies surely within.
const SURELY_WITHIN: f64 = 0.975;

/// A figure by which controllers are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RankedBy {
    /// The key in [`Seen`].
    pub key: &'static str,
    /// Id of the quantity that measures it.
    pub quantity: &'static str,
    /// Name shown.
    pub title: &'static str,
    /// Its unit.
    pub unit: Unit,
}

const fn by(
    key: &'static str,
    quantity: &'static str,
    title: &'static str,
    unit: Unit,
) -> RankedBy {
    RankedBy {
        key,
        quantity,
        title,
        unit,
    }
}

/// The figures that profiles are ranked by. `out_headroom` and `osc_to_out_divide` are no keys of
/// profiles: the first follows from OUT high at 15 V, the second is the ratio of the part.
#[rustfmt::skip]
pub const RANKED_BY: &[RankedBy] = &[
    by("vcc_start", "start_threshold", "start threshold", Unit::Volt),
    by("vcc_stop", "stop_threshold", "stop threshold", Unit::Volt),
    by("osc_to_out_divide", "oscillator_to_out_ratio", "oscillator to OUT ratio", Unit::Quotient),
    by("osc_amplitude_pp", "ramp_amplitude", "ramp height", Unit::Volt),
    by("osc_valley", "ramp_valley", "ramp valley", Unit::Volt),
    by("out_headroom", "out_headroom", "VCC minus OUT high level", Unit::Volt),
    by("vref", "vref_voltage", "VREF", Unit::Volt),
    by("duty_max", "out_duty_cycle", "largest duty cycle", Unit::One),
    by("icc_startup", "standby_current", "standby current", Unit::Ampere),
];

/// One measured figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// A key of [`RANKED_BY`].
    pub key: &'static str,
    /// The best estimate, in SI base units.
    pub value: f64,
    /// Its standard uncertainty, in the same unit.
    pub u: f64,
}

/// One controller with how well it fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked<'a> {
    /// The profile.
    pub profile: &'a Profile,
    /// Its class in a word: `x844`, or its first part where it is in none.
    pub class: String,
    /// Share among all profiles, 0 to 1; the shares of a list add up to 1.
    pub weight: f64,
    /// What it rests on, a part a figure.
    pub why: String,
    /// Figures that lie surely outside, a sentence each.
    pub against: Vec<String>,
    /// Thresholds were seen, and each lies surely within published limits.
    pub surely: bool,
}

/// What is known of the figures, and which can be used.
fn usable(seen: &[Seen]) -> Vec<(&'static RankedBy, Seen)> {
    let one = |by: &'static RankedBy| {
        let found = seen.iter().find(|s| s.key == by.key)?;
        let finite = found.value.is_finite() && found.u.is_finite() && found.u >= 0.0;
        let u = found.u.max(SMALLEST_SHARE * found.value.abs()).max(1e-12);
        finite.then_some((by, Seen { u, ..*found }))
    };
    RANKED_BY.iter().filter_map(one).collect()
}

/// See [`super::Library::rank_by`]; `named` are ids that stay in the list with weight 0.
///
/// A figure that is not finite makes the list empty.
pub(super) fn rank<'a>(
    profiles: &'a [Profile],
    seen: &[Seen],
    named: &[String],
) -> Vec<Ranked<'a>> {
    let figures = usable(seen);
    if figures.is_empty()
        || seen
            .iter()
            .any(|s| !(s.value.is_finite() && s.u.is_finite()))
    {
        return Vec::new();
    }
    let all: Vec<Candidate> = class::classes(profiles)
        .iter()
        .flat_map(|class| candidates(class, &figures))
        .collect();
    let usual: Vec<f64> = figures
        .iter()
        .enumerate()
        .map(|(at, (_, seen))| usual_density(&all, at, seen))
        .collect();
    let mut ranked: Vec<Ranked> = all
        .iter()
        .filter_map(|one| one.ranked(&figures, &usual))
        .collect();
    let total: f64 = ranked.iter().map(|one| one.weight).sum();
    let kept = |one: &Ranked| total > 0.0 && one.weight > LEAST_SHARE * total;
    ranked.retain(|one| kept(one) || named.contains(&one.profile.id));
    let total: f64 = ranked.iter().map(|one| one.weight).sum();
    for one in ranked.iter_mut().filter(|_| total > 0.0) {
        one.weight /= total;
    }
    by_class(&mut ranked);
    ranked
}

/// The heaviest class first, in each the heaviest profile.
fn by_class(ranked: &mut [Ranked]) {
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    for one in ranked.iter() {
        *sums.entry(one.class.clone()).or_default() += one.weight;
    }
    let of_class = |one: &Ranked| sums.get(&one.class).copied().unwrap_or_default();
    ranked.sort_by(|a, b| {
        let classes = of_class(b).total_cmp(&of_class(a));
        let names = || a.class.cmp(&b.class);
        classes
            .then_with(names)
            .then_with(|| b.weight.total_cmp(&a.weight))
    });
}

/// See [`super::Library::fits`].
pub(super) fn fits(
    profiles: &[Profile],
    seen: &[Seen],
    named: &[String],
) -> Option<ControllerFits> {
    fits::find(profiles, seen, named)
}

/// A profile with how each figure fits it.
struct Candidate<'a> {
    profile: &'a Profile,
    class: String,
    share: f64,
    fits: Vec<Option<Fit>>,
}

/// The members of a class, each with how the figures fit it.
fn candidates<'a>(class: &Class<'a>, figures: &[(&'static RankedBy, Seen)]) -> Vec<Candidate<'a>> {
    let ranges: Vec<Option<Range>> = figures.iter().map(|(by, _)| class.range(by.key)).collect();
    let one = |profile: &&'a Profile| {
        let fit = |((by, seen), range): (&(&RankedBy, Seen), &Option<Range>)| {
            let range = range.as_ref()?;
            let own = Range::of(profile, by.key);
            let width = range.max - range.min;
            Some(Fit::of(own.as_ref().unwrap_or(range), width, by, seen))
        };
        Candidate {
            profile,
            class: class.word.clone(),
            share: class.share,
            fits: figures.iter().zip(&ranges).map(fit).collect(),
        }
    };
    class.members.iter().map(one).collect()
}

impl<'a> Candidate<'a> {
    /// `None` where nothing of it, or no threshold though one was seen, is known.
    fn ranked(&self, figures: &[(&'static RankedBy, Seen)], usual: &[f64]) -> Option<Ranked<'a>> {
        let threshold = |by: &RankedBy| matches!(by.key, "vcc_start" | "vcc_stop");
        let (mut thresholds, mut known) = (0, 0);
        let mut ranked = Ranked {
            profile: self.profile,
            class: self.class.clone(),
            weight: self.share,
            why: String::new(),
            against: Vec::new(),
            surely: figures.iter().any(|(by, _)| threshold(by)),
        };
        let mut words = Vec::new();
        for ((fit, (by, _)), usual) in self.fits.iter().zip(figures).zip(usual) {
            thresholds += usize::from(threshold(by));
            let Some(fit) = fit else {
                ranked.surely &= !threshold(by);
                ranked.weight *= usual;
                continue;
            };
            if fit.within < LEAST_WITHIN {
                ranked.weight = 0.0;
            }
            ranked.weight *= fit.density;
            if fit.within <= SURELY_OUTSIDE {
                ranked.against.push(format!("{} {}", by.title, fit.words));
            }
            known += usize::from(threshold(by));
            if threshold(by) && (fit.within < SURELY_WITHIN || !fit.published) {
                ranked.surely = false;
            }
            words.push(format!("{} {}", by.title, fit.words));
        }
        ranked.why = words.join("; ");
        (!words.is_empty() && (known > 0 || thresholds == 0)).then_some(ranked)
    }
}

/// How probable a figure is where nothing is known of it: as on average for those of whom it is known, and
/// at least as if it could lie anywhere up to ten times the reading.
fn usual_density(all: &[Candidate], at: usize, seen: &Seen) -> f64 {
    let known = || {
        let fit = |one: &Candidate| Some((one.share, one.fits.get(at)?.as_ref()?.density));
        all.iter().filter_map(fit)
    };
    let shares: f64 = known().map(|(share, _)| share).sum();
    let sum: f64 = known().map(|(share, density)| share * density).sum();
    let anywhere = 0.1 / seen.value.abs().max(seen.u);
    match shares > 0.0 {
        true => (sum / shares).max(anywhere),
        false => anywhere,
    }
}

/// How one figure fits one profile.
#[derive(Debug, Clone)]
struct Fit {
    density: f64,
    within: f64,
    published: bool,
    words: String,
}

impl Fit {
    /// A figure in the range of a profile, of which the class is so wide.
    fn of(range: &Range, class_width: f64, by: &RankedBy, seen: &Seen) -> Fit {
        let (min, max) = (range.min, range.max);
        let within =
            normal_cdf((max - seen.value) / seen.u) - normal_cdf((min - seen.value) / seen.u);
        let shown = |value| engineering(value, by.unit, 4);
        let place = if (min..=max).contains(&seen.value) {
            "within"
        } else {
            "outside"
        };
        Fit {
            density: within / class_width.max(seen.u),
            within,
            published: range.published,
            words: format!(
                "{} {place} {} … {} ({})",
                shown(seen.value),
                shown(min),
                shown(max),
                range.origin
            ),
        }
    }
}
