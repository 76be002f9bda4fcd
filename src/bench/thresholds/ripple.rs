//! What of VCC's scatter about the line before an event the comparator saw.

use crate::signal::stats;

use super::tone::Tone;
use super::wave::{Wave, Way};

/// Fewest samples about a line from which ripple can be told from noise.
const FEWEST: usize = 25;

/// Ripple of the rail before one event, above and below its mean, in volts.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(in crate::bench) struct Ripple {
    /// How far it goes above the mean; 0 when it does not stand out.
    pub above_v: f64,
    /// How far it goes below.
    pub below_v: f64,
    /// Half-width within which either is known, the same error at all events.
    pub doubt_v: f64,
    /// Half-width of what is another error at each event.
    pub alone_v: f64,
    /// Amplitude that could hide in the noise of so few samples; 0 when it stands out.
    pub hidden_v: f64,
}

/// The variance of the sample-to-sample noise, from second differences, which slow ripple does not
/// enter: a sixth of theirs. `None` for fewer than [`FEWEST`] samples.
pub(super) fn noise_square(residuals: &[f64]) -> Option<f64> {
    if residuals.len() < FEWEST {
        return None;
    }
    let second = residuals
        .windows(3)
        .map(|w| (w[0] - 2.0 * w[1] + w[2]).powi(2));
    Some(second.sum::<f64>() / (residuals.len() as f64 - 2.0) / 6.0)
}

/// Noise of single samples.
#[derive(Debug, Clone, Copy)]
pub(super) struct Noise {
    /// Its variance, code steps in it.
    pub square: f64,
    /// Samples that tell it.
    pub count: f64,
}

impl Noise {
    /// Of what lies about a line; second differences miss code steps that follow each other slowly, so it is
    /// no less than those of a code. `None` for fewer than [`FEWEST`] samples.
    pub fn of(residuals: &[f64], code: f64) -> Option<Self> {
        let square = noise_square(residuals)?.max(code * code / 12.0);
        let count = residuals.len() as f64;
        Some(Self { square, count })
    }

    /// Of several stretches together.
    pub fn pooled(parts: impl Iterator<Item = Noise>) -> Option<Self> {
        let add = |sum: (f64, f64), n: Noise| (sum.0 + n.square * n.count, sum.1 + n.count);
        let (sum, count) = parts.fold((0.0, 0.0), add);
        (count > 0.0).then(|| Self {
            square: sum / count,
            count,
        })
    }
}

/// What lies about the line before an event.
#[derive(Debug, Clone, Default)]
pub(in crate::bench) struct Scatter {
    /// Without the tone.
    pub clean: Vec<f64>,
    /// With it.
    pub whole: Vec<f64>,
    /// Ripple of one frequency.
    pub tone: Tone,
    /// The same as the comparator saw it.
    pub wave: Option<Wave>,
}

impl Scatter {
    /// Samples in which no tone was looked for.
    pub fn of_one(values: Vec<f64>) -> Self {
        Self {
            whole: values.clone(),
            clean: values,
            ..Self::default()
        }
    }
}

/// A tone whose harmonics hold more than this share of its power is no sine (those of a square wave hold 0.234 of that
/// of their fundamental, those of a triangle 0.015).
const HARMONICS: f64 = 0.2;

/// The part of the scatter about the line that noise does not explain: a tone, else what exceeds the
/// noise.
///
/// `quiet` is the noise where the controller is stopped: pulses that a slow record samples at random scatter
/// like noise, and only a stretch without them tells the two apart.
pub(super) fn find(scatter: &Scatter, quiet: Option<Noise>, code: f64, way: Way) -> Ripple {
    let tone = scatter.tone;
    let Some(here) = Noise::of(&scatter.clean, code) else {
        return of_tone(scatter, way);
    };
    let noise = quiet.filter(|q| q.square < here.square).unwrap_or(here);
    let left = excess(&scatter.clean, noise);
    let sine = 0.5 * tone.amplitude * tone.amplitude;
    match left {
        Some(left) if left > HARMONICS * sine => {
            of_extremes(&scatter.whole, noise.square, left + sine)
        }
        _ => of_tone(scatter, way),
    }
}

/// The tone that this event shows, or the others do: beside one of them a few samples are enough.
fn of_tone(scatter: &Scatter, way: Way) -> Ripple {
    match &scatter.wave {
        Some(wave) => of_wave(wave, &scatter.tone, way),
        None => Ripple {
            hidden_v: scatter.tone.hidden,
            ..Ripple::default()
        },
    }
}

/// A sine acts where it stood when VCC with it was first at the threshold, or, where its samples do not
/// show that, with its crest.
fn of_wave(wave: &Wave, tone: &Tone, way: Way) -> Ripple {
    let (early, late) = wave.furthest();
    let followed = way.followed;
    let lower = 0.5 * (early + late) - tone.amplitude;
    let acts = tone.amplitude + followed * lower;
    let as_followed = (0.5 * (late - early)).powi(2) + 3.0 * tone.u_phase.powi(2);
    Ripple {
        above_v: acts,
        below_v: acts,
        // one way or the other, it acted so at all events
        doubt_v: (3.0_f64.sqrt() * tone.u).hypot(of_two(followed) * lower.abs()),
        alone_v: (followed * as_followed).sqrt(),
        hidden_v: 0.0,
    }
}

/// Half-width about the mean of two values one apart, of which one has such a chance: as a rectangle it holds 95 %,
/// with the further value where that is no rare exception.
fn of_two(chance: f64) -> f64 {
    let rarer = chance.min(1.0 - chance);
    if rarer > 0.05 {
        (1.0 - rarer) / 0.95
    } else {
        (3.0 * rarer * (1.0 - rarer)).sqrt()
    }
}

/// The variance beyond that of the noise. One is known to √(2/n) of itself, the other to √(35/9n) of its own
/// samples; `None` unless they differ by [`BEYOND`] times that. Their logarithms are compared: of few samples
/// a variance is often far too low, seldom as far too high.
fn excess(residuals: &[f64], noise: Noise) -> Option<f64> {
    let count = residuals.len() as f64;
    let square = stats::summary(residuals).deviation.powi(2);
    let u = (2.0 / count + 35.0 / 9.0 / noise.count).sqrt();
    ((square / noise.square).ln() > BEYOND * u).then_some(square - noise.square)
}

/// So many standard deviations of both variances noise alone exceeds less than once in a thousand events.
const BEYOND: f64 = 3.5;

/// Peaks of ripple of any shape: those of a sine of the same power, or, where it is large beside the
/// noise, the third highest and third lowest sample, less what noise adds to such a one (found by
/// simulating sines, triangles and dips of a tenth of the period).
fn of_extremes(residuals: &[f64], noise_square: f64, square: f64) -> Ripple {
    let peak = (2.0 * square).sqrt();
    let sigma = noise_square.sqrt();
    let by_extremes = 0.6 * sigma + 0.03 * peak;
    if 0.25 * peak < by_extremes {
        return Ripple {
            above_v: peak,
            below_v: peak,
            doubt_v: 0.25 * peak,
            ..Ripple::default()
        };
    }
    let mut sorted = residuals.to_vec();
    sorted.sort_by(f64::total_cmp);
    let added = 0.45 * (residuals.len() as f64 / 20.0).ln() * sigma;
    Ripple {
        above_v: (sorted[sorted.len() - 3] - added).max(0.0),
        below_v: (-sorted[2] - added).max(0.0),
        doubt_v: by_extremes,
        ..Ripple::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A known pseudo-random sequence, uniform in ±1.
    fn scatter(n: usize) -> Vec<f64> {
        let mut state = 1_u64;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / f64::from(u32::MAX >> 1) * 2.0 - 1.0
        };
        (0..n)
            .map(|_| (0..12).map(|_| next()).sum::<f64>() / 2.0)
            .collect()
    }

    #[test]
    fn noise_alone_has_no_ripple() {
        let found = find(&Scatter::of_one(scatter(400)), None, 0.0, Way::CREST);
        assert_eq!((found.above_v, found.below_v), (0.0, 0.0));
    }

    /// Dips of 0.9 V within each pulse, sampled at random: far below the mean, a little above.
    #[test]
    fn dips_reach_below_and_not_above() {
        let noise = scatter(800);
        let mut values: Vec<f64> = (0..400)
            .map(|i| 0.02 * noise[i] - if noise[400 + i] > 1.6 { 0.9 } else { 0.0 })
            .collect();
        let mean = values.iter().sum::<f64>() / 400.0;
        values.iter_mut().for_each(|v| *v -= mean);
        let quiet = Noise {
            square: 0.02_f64.powi(2),
            count: 400.0,
        };
        let found = find(&Scatter::of_one(values), Some(quiet), 0.0, Way::CREST);
        assert!(
            (found.below_v - (0.9 + mean)).abs() < found.doubt_v + 0.02,
            "{found:?} {mean}"
        );
        assert!(found.above_v < 0.15, "{found:?}");
    }

    /// Too few samples for their noise, but the other events of the record show the tone.
    #[test]
    fn a_tone_that_others_show_counts_for_few_samples_too() {
        let tone = Tone {
            amplitude: 0.19,
            ..Tone::default()
        };
        let wave = Wave {
            slope: 3.0,
            amplitude: 0.19,
            hertz: 100.0,
            phase: 0.0,
            within_s: 1e-3,
            u: 0.02,
        };
        let scatter = Scatter {
            tone,
            wave: Some(wave),
            ..Scatter::of_one(vec![0.1, -0.1, 0.05, 0.0, -0.05, 0.1])
        };
        let found = find(&scatter, None, 0.0, Way::CREST);
        assert_eq!((found.above_v, found.below_v), (0.19, 0.19));
    }

    /// The noise where the controller is stopped is known by 30 samples, which show a third less than they
    /// should: one in five such estimates does (35/9n of the square).
    #[test]
    fn a_low_estimate_of_noise_makes_no_ripple() {
        let quiet = Noise {
            square: 0.6,
            count: 30.0,
        };
        let found = find(&Scatter::of_one(scatter(400)), Some(quiet), 0.0, Way::CREST);
        assert_eq!((found.above_v, found.below_v), (0.0, 0.0));
    }

    /// Codes of a slow rise without noise: a sawtooth of one code, of which second differences see nothing.
    #[test]
    fn codes_of_a_slow_rise_are_no_ripple() {
        let sawtooth = |i: usize| i as f64 / 90.0 - (i as f64 / 90.0).floor() - 0.5;
        let values: Vec<f64> = (0..600).map(sawtooth).collect();
        let found = find(&Scatter::of_one(values), None, 1.0, Way::CREST);
        assert_eq!((found.above_v, found.below_v), (0.0, 0.0));
    }

    /// Ripple that acted with its crest or 0.1 V lower: with the likelier of the two where the other is a rare
    /// exception, else with both within 95 % of the half-width.
    #[test]
    fn one_of_two_ways_is_held_with_the_other() {
        for percent in 6..95 {
            let chance = f64::from(percent) / 100.0;
            let further = 0.1 * chance.max(1.0 - chance);
            assert!(0.95 * 0.1 * of_two(chance) > further - 1e-12, "{chance}");
        }
        assert!(of_two(0.01) < 0.2 && of_two(0.0) <= 0.0);
        let tone = Tone {
            amplitude: 0.2,
            u: 0.001,
            ..Tone::default()
        };
        let wave = Wave {
            slope: 3.0,
            amplitude: 0.2,
            hertz: 100.0,
            phase: 1.5,
            within_s: 1e-4,
            u: 0.002,
        };
        let (early, late) = wave.furthest();
        let as_shown = 0.5 * (early + late);
        let halfway = of_wave(&wave, &tone, Way { followed: 0.5 });
        assert!((halfway.above_v - 0.5 * (0.2 + as_shown)).abs() < 1e-12);
        assert!(halfway.doubt_v >= 0.5 * (0.2 - as_shown), "{halfway:?}");
        let crest = of_wave(&wave, &tone, Way::CREST);
        assert!(crest.doubt_v < 0.002 && crest.alone_v <= 0.0, "{crest:?}");
    }

    #[test]
    fn few_samples_tell_nothing() {
        assert_eq!(
            find(&Scatter::of_one(vec![0.5, -0.5]), None, 0.0, Way::CREST),
            Ripple::default()
        );
    }
}
