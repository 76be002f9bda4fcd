//! Steps of a knob that noise hides from sample to sample, told from a slope by all landings together: how
//! likely are the samples where VCC climbs from landing to landing, and how likely on a smooth course?
//!
//! The landings are a hidden Markov chain of levels and ages: each lasts about as long as the slope needs
//! for a step, each step is about as large as the others. Samples are codes of a level with normal noise, so
//! that a mean between two codes is no level.

use super::chain::{Chain, FINE, Seen};
use super::smooth::{self, Smooth};

/// Groups of samples in a landing of the usual length.
const GROUPS: f64 = 12.0;
/// A landing of fewer samples shows nothing.
const FEWEST_SAMPLES: f64 = 8.0;
/// Fewest landings that make a stair.
const FEWEST_LANDINGS: f64 = 6.0;
/// Groups that are looked at: about 33 landings.
const MOST_GROUPS: usize = 400;
/// Where the hand all but rests a landing lasts no longer than so many usual ones.
const SLOWEST: f64 = 0.3;

/// The smallest step that is looked for, in codes, and how much larger each further one is.
const LEAST_CODES: f64 = 0.6;
const LARGER: f64 = 1.12;
const SIZES: usize = 16;
/// Steps larger than so much noise show in single leaps.
const MOST_NOISE: f64 = 16.0;
/// By the logarithm of the likelihoods a landing can add about half of its samples times the squared step over
/// twelve times the squared noise: below this share the samples say nothing.
const LEAST_SAID: f64 = 0.4;
/// Amplitude, phase and share of a frequency that was looked for, in logarithms of the number of samples.
const OF_RIPPLE: f64 = 1.5;
/// A stretch that a smooth course explains so much better has no steps of that size, and one knob turns in one
/// kind of step: what the others show is ripple then. A step of which half of the stretches or more can say
/// nothing is not looked for: by chance one of them seems to show it.
const DENIED: f64 = -8.0;
/// Two stretches or more may together speak so much for the smooth course, which was fitted to the samples: of drawn
/// records of a steady or uneven hand one in some hundreds comes that near. One stretch says little against steps
/// that are as small as its noise.
const EVEN: f64 = -4.0;
/// So many stretches suffice to tell.
const ENOUGH: usize = 8;

/// Samples before an event.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch<'a> {
    pub values: &'a [f64],
    /// The same without ripple.
    pub plain: &'a [f64],
    /// Was there any?
    pub rippled: bool,
    pub up: bool,
}

/// The steps of a knob.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub step_v: f64,
    /// Level of the last landing of each stretch and its standard uncertainty.
    pub last: Vec<Option<(f64, f64)>>,
}

/// What the samples of a stretch say at one step size.
#[derive(Debug, Clone, Copy)]
struct Said {
    /// Logarithm of the likelihood, over that of the smooth course.
    over: f64,
    level: f64,
    u: f64,
}

/// The steps that VCC comes in; `None` where a smooth course explains the samples clearly better.
pub(super) fn find(stretches: &[Stretch<'_>], code: f64) -> Option<Found> {
    let ready: Vec<Option<Ready<'_>>> = stretches.iter().map(|s| Ready::new(s, code)).collect();
    let mut longest: Vec<&Ready<'_>> = ready.iter().flatten().collect();
    longest.sort_by_key(|r| std::cmp::Reverse(r.values.len()));
    longest.truncate(ENOUGH);
    let least = longest.iter().map(|r| r.least(code)).reduce(f64::min)?;
    let most = longest.iter().map(|r| r.most(code)).reduce(f64::max)?;
    let sizes = (0..SIZES).map(|k| least * LARGER.powi(k as i32));
    let even = if longest.len() > 1 { EVEN } else { 0.0 };
    let weigh = |step: f64| {
        let each: Vec<f64> = longest
            .iter()
            .filter_map(|r| r.said(step))
            .map(|s| s.over)
            .collect();
        let denied = each.iter().any(|over| *over < DENIED);
        let most = 2 * each.len() > longest.len();
        (most && !denied).then(|| (step, each.iter().sum()))
    };
    let said: Vec<(f64, f64)> = sizes.filter(|s| *s <= most).filter_map(weigh).collect();
    let best = said
        .iter()
        .copied()
        .reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    if best.1 <= even {
        return None;
    }
    let share = |s: &(f64, f64)| (s.1 - best.1).exp();
    let whole: f64 = said.iter().map(share).sum();
    let step_v = said.iter().map(|s| s.0 * share(s)).sum::<f64>() / whole;
    let last = |r: &Option<Ready<'_>>| r.as_ref()?.said(best.0).map(|s| (s.level, s.u));
    Some(Found {
        step_v,
        last: ready.iter().map(last).collect(),
    })
}

/// A stretch with its smooth course.
struct Ready<'a> {
    values: &'a [f64],
    plain: &'a [f64],
    up: bool,
    course: Smooth,
    /// Volts from sample to sample, on the whole.
    slope: f64,
    sigma: f64,
    seen: Seen,
    /// What fitting a ripple costs of the logarithm of the likelihood. Bends cost nothing: a stair bends with
    /// the course that it is laid along.
    cost: f64,
}

impl<'a> Ready<'a> {
    fn new(stretch: &Stretch<'a>, code: f64) -> Option<Self> {
        let values = stretch.values;
        let enough = values.len() as f64 >= FEWEST_SAMPLES * FEWEST_LANDINGS;
        if !enough || values.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let square = smooth::noise_square(stretch.plain) - code * code / 12.0;
        let sigma = square.max((0.15 * code).powi(2)).sqrt();
        let course = smooth::fit(stretch.plain, sigma);
        let whole = course.values[values.len() - 1] - course.values[0];
        let slope = whole / (values.len() as f64 - 1.0);
        (sigma > 0.0 && slope != 0.0 && (slope > 0.0) == stretch.up).then(|| Ready {
            values,
            plain: stretch.plain,
            up: stretch.up,
            course,
            slope: slope.abs(),
            sigma,
            seen: Seen::new(sigma, code),
            cost: if stretch.rippled {
                OF_RIPPLE * (values.len() as f64).ln()
            } else {
                0.0
            },
        })
    }

    /// The smallest step of which the samples can say something.
    fn least(&self, code: f64) -> f64 {
        let shown = (12.0 * LEAST_SAID * self.sigma * self.sigma * self.slope).cbrt();
        shown
            .max(LEAST_CODES * code)
            .max(FEWEST_SAMPLES * self.slope)
    }

    fn most(&self, code: f64) -> f64 {
        let whole = self.slope * self.values.len() as f64;
        (whole / FEWEST_LANDINGS).min(MOST_NOISE * self.sigma + 2.0 * code)
    }

    /// Likelihood of a stair of such steps over that of the smooth course.
    fn said(&self, step: f64) -> Option<Said> {
        let length = step / self.slope;
        let size = ((length / GROUPS).round() as usize).max(1);
        let groups = (self.values.len() / size).min(MOST_GROUPS);
        if length < FEWEST_SAMPLES || (groups * size) as f64 / length < FEWEST_LANDINGS {
            return None;
        }
        let from = self.values.len() - groups * size;
        let mut chain = Chain::new(step / FINE as f64, self.up);
        for begin in (from..self.values.len()).step_by(size) {
            let course = &self.course.values[begin..begin + size];
            let middle = course.iter().sum::<f64>() / size as f64;
            let slope = (self.course.slopes[begin]).abs().max(SLOWEST * self.slope);
            let group = &self.values[begin..begin + size];
            chain.climb(group, middle, step / slope / size as f64, &self.seen);
        }
        let pairs = self.plain[from..].iter().zip(&self.course.values[from..]);
        let smooth: f64 = pairs.map(|(v, c)| self.seen.ln(v - c)).sum();
        let (level, u) = chain.last()?;
        Some(Said {
            over: chain.ln - (smooth - self.cost),
            level,
            u,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise of 0.6 codes on what `of` gives sample by sample, rounded to codes of 1.
    fn coded(of: impl Fn(usize) -> f64, seed: u64) -> Vec<f64> {
        let mut state = seed;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / f64::from(1 << 24) - 0.5
        };
        let mut one = |i| (of(i) + 0.6 * (0..12).map(|_| next()).sum::<f64>()).round();
        (0..800).map(&mut one).collect()
    }

    fn found(values: &[f64]) -> Option<Found> {
        let stretch = Stretch {
            values,
            plain: values,
            rippled: false,
            up: true,
        };
        find(&[stretch], 1.0)
    }

    /// A step of 1.3 codes every 50 samples: the last of 16 landings lies at 19.5 codes. Its mean is known to
    /// 0.66/√50 = 0.1 codes.
    #[test]
    fn landings_show_their_step_and_level() {
        for seed in 0..10 {
            let found = found(&coded(|i| 1.3 * (i / 50) as f64, seed)).unwrap();
            assert!((found.step_v - 1.3).abs() < 0.1, "{found:?}");
            let (level, u) = found.last[0].unwrap();
            assert!((level - 19.5).abs() < 4.0 * u && u < 0.2, "{found:?}");
        }
    }

    /// A stair before one event of three, and courses so steep before the others that a landing of that size
    /// would last four samples: one stretch alone proves no knob.
    #[test]
    fn what_most_can_say_nothing_of_is_not_taken_for_steps() {
        let stair = coded(|i| 1.3 * (i / 50) as f64, 3);
        let steep = [4, 5].map(|seed| coded(|i| 0.32 * i as f64, seed));
        let all: Vec<Stretch<'_>> = [&stair, &steep[0], &steep[1]]
            .map(|values| Stretch {
                values,
                plain: values,
                rippled: false,
                up: true,
            })
            .to_vec();
        assert!(find(&all[..1], 1.0).is_some());
        assert!(find(&all, 1.0).is_none());
    }

    /// The same slope, even and with bends.
    #[test]
    fn a_smooth_course_has_none() {
        let bent = |i: usize| {
            let t = i as f64;
            0.026 * t + 0.02 * (t - 220.0).max(0.0) - 0.03 * (t - 510.0).max(0.0)
        };
        for seed in 0..20 {
            assert!(found(&coded(|i| 0.026 * i as f64, seed)).is_none());
            assert!(found(&coded(bent, 100 + seed)).is_none());
        }
    }

    /// A slow course of 400 samples before a single event, noise of one and a half codes on it: steps as small
    /// can't be excluded, and nothing speaks for them.
    #[test]
    fn a_single_slow_course_has_none() {
        let mut noise = [0, 1].map(crate::bench::drawn::noise);
        for slope in [0.01, 0.05] {
            for k in 0..12 {
                let one = |i: usize| (slope * i as f64 + 1.5 * noise[k % 2]()).round();
                let values: Vec<f64> = (0..400).map(one).collect();
                assert!(found(&values).is_none(), "{slope} {k}");
            }
        }
    }

    #[test]
    fn what_falls_or_rests_is_no_stair_up() {
        assert!(found(&coded(|i| -1.3 * (i / 50) as f64, 1)).is_none());
        assert!(found(&[2.0; 400]).is_none());
        assert!(found(&[f64::NAN; 400]).is_none());
    }
}
