//! How much each place of a driven VCC speaks for a step there: the course on both sides of it,
//! with the bends that a hand may make there.

use crate::data::EventKind;
use crate::signal::Line;

use super::super::course::{self, Course, Hand};

/// Points that a step may take: it settles with the VCC capacitor (1 ms for 22 Ω and 47 µF).
pub(super) const WIDTH: usize = 2;
/// Most points on each side that the course is laid through …
const SIDE: usize = 60;
/// … and fewest.
const LEAST: usize = 5;
/// Near a turning point a hand bends its course more often, and by more, than on its way.
const TURNING: Hand = Hand {
    bends_per_v: 1.0,
    by: 1.5,
};
/// Volts that a step may have: what 5 mA to 50 mA give through 22 Ω, and a diode (common practice).
const SIZES_V: (f64, f64) = (0.1, 1.5);
/// A direction of the sweep has to stand so many times out of its uncertainty.
const SURE_SLOPE: f64 = 3.0;
/// Scatter of second differences of white noise, and the mean size of a normal deviate, the largest 2 % left out.
const SECOND: f64 = 2.449_489_742_783_178;
const MEAN_SIZE: f64 = 0.7598;

/// Codes that are rounded alike over several points err together: by so much of a code while VCC crosses none …
const ROUNDED: f64 = 0.3;
/// … and by half as much once it crosses so many (both from drawn lines with noise of 0 to 0.3 codes).
const CROSSED: f64 = 3.0;

/// Gain of the logarithm of the likelihood by a step, of a start at the first point that may be after it, of a
/// stop at the first that surely is: OUT may be high from the one on and before the other. 0 where none can
/// be, or none is looked for near the ends.
#[derive(Debug, Clone)]
pub(super) struct Evidence {
    starts: Vec<f64>,
    stops: Vec<f64>,
}

impl Evidence {
    /// Of evenly spaced means of VCC, in volts, with a code step of `code_v` (0 where none shows).
    pub fn of(means: &[f64], code_v: f64) -> Self {
        let sigma = noise(means).max(code_v / 12.0_f64.sqrt()).max(1e-6);
        let mut found = Self {
            starts: vec![0.0; means.len()],
            stops: vec![0.0; means.len()],
        };
        for at in LEAST..means.len().saturating_sub(WIDTH + LEAST) {
            match step_at(means, at, (sigma, code_v)) {
                Some((EventKind::Start, gain)) => found.starts[at] = gain,
                Some((EventKind::Stop, gain)) => found.stops[at + WIDTH] = gain,
                None => {}
            }
        }
        found
    }

    /// Takes away what can't be.
    pub fn keep(&mut self, fits: impl Fn(EventKind, usize) -> bool) {
        let take = |gains: &mut Vec<f64>, kind| {
            let each = gains.iter_mut().enumerate();
            each.filter(|(at, _)| !fits(kind, *at))
                .for_each(|(_, gain)| *gain = 0.0);
        };
        take(&mut self.starts, EventKind::Start);
        take(&mut self.stops, EventKind::Stop);
    }

    /// Adds what else speaks for an event at a point.
    pub fn add(&mut self, of: impl Fn(EventKind, usize) -> f64) {
        let add = |gains: &mut Vec<f64>, kind| {
            let each = gains.iter_mut().enumerate();
            each.for_each(|(at, gain)| *gain += of(kind, at));
        };
        add(&mut self.starts, EventKind::Start);
        add(&mut self.stops, EventKind::Stop);
    }

    /// Nothing but these, for tests of what is made of it.
    #[cfg(test)]
    pub fn made(points: usize, gains: &[(EventKind, usize, f64)]) -> Self {
        let mut made = Self {
            starts: vec![0.0; points],
            stops: vec![0.0; points],
        };
        for (kind, at, gain) in gains {
            match kind {
                EventKind::Start => made.starts[*at] = *gain,
                EventKind::Stop => made.stops[*at] = *gain,
            }
        }
        made
    }

    /// By how many points the middle of where a step lies is off the point that stands for it.
    pub fn off(kind: EventKind) -> f64 {
        let middle = 0.5 * (WIDTH as f64 - 1.0);
        match kind {
            EventKind::Start => middle,
            EventKind::Stop => middle - WIDTH as f64,
        }
    }

    /// Of steps of one kind, by point.
    pub fn of_kind(&self, kind: EventKind) -> &[f64] {
        match kind {
            EventKind::Start => &self.starts,
            EventKind::Stop => &self.stops,
        }
    }
}

/// Standard deviation of what changes from point to point; the few largest changes are left out.
fn noise(means: &[f64]) -> f64 {
    let second = means.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]).abs());
    let mut sizes: Vec<f64> = second.filter(|d| d.is_finite()).collect();
    sizes.sort_by(f64::total_cmp);
    sizes.truncate(sizes.len() - sizes.len() / 50);
    let mean = sizes.iter().sum::<f64>() / sizes.len().max(1) as f64;
    mean / (SECOND * MEAN_SIZE)
}

/// What speaks for a step against the direction of the sweep between points `at - 1` and `at + WIDTH`, with
/// the standard deviation of noise and the code step.
fn step_at(means: &[f64], at: usize, (sigma, code_v): (f64, f64)) -> Option<(EventKind, f64)> {
    let middle = at as f64 + 0.5 * (WIDTH as f64 - 1.0);
    let first = at.saturating_sub(SIDE);
    let last = (at + WIDTH + SIDE).min(means.len());
    let before = side(first..at, |i| i as f64 - middle, means, sigma)?;
    let after = side(
        (at + WIDTH..last).rev(),
        |i| middle - i as f64,
        means,
        sigma,
    )?;
    // a last piece may be too short to tell
    let whole = Line::fit((first..at).map(|i| (i as f64, means[i])))?;
    let sure = |line: &&Line| line.slope.abs() > SURE_SLOPE * line.u_slope_with(sigma);
    let swept = [&before.line, &whole].into_iter().find(sure)?;
    let (kind, sign) = if swept.slope > 0.0 {
        (EventKind::Start, -1.0)
    } else {
        (EventKind::Stop, 1.0)
    };
    // seen from behind a course that goes on falls where it rose; a hand that turns round makes no step
    if sure(&&after.line) && after.line.slope * sign < 0.0 {
        return None;
    }
    let against = sign * (after.value - before.value);
    let rounding = |course: &Course| rounding(&course.line, code_v);
    let rounded = rounding(&before).hypot(rounding(&after));
    let u = before.u.hypot(after.u).hypot(rounded);
    // a step smaller or larger than it can be explains less of what is seen
    let likely = against.clamp(SIZES_V.0, SIZES_V.1);
    let gain = 0.5 * (against.powi(2) - (against - likely).powi(2)) / u.powi(2);
    (gain > 0.0 && against > 0.0).then_some((kind, gain))
}

/// Standard uncertainty of the end of a line through points one apart, from codes that are rounded alike.
fn rounding(line: &Line, code_v: f64) -> f64 {
    let crossed = line.slope.abs() * (line.count as f64 - 1.0);
    ROUNDED * code_v * code_v / (code_v + crossed / CROSSED).max(f64::MIN_POSITIVE)
}

/// The course towards a step from one side of it.
fn side(
    points: impl Iterator<Item = usize>,
    place: impl Fn(usize) -> f64,
    means: &[f64],
    sigma: f64,
) -> Option<Course> {
    let (times, values): (Vec<f64>, Vec<f64>) = points.map(|i| (place(i), means[i])).unzip();
    course::at_event(&times, &values, sigma, TURNING)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::drawn::noise;

    const SIGMA: f64 = 0.1;

    /// Levels with these slopes, volts a point, 120 points each but for a rest of five, and a step before the
    /// point `at`.
    fn levels(slopes: &[f64], (at, step): (usize, f64), seed: u64) -> Vec<f64> {
        let mut noise = noise(seed);
        let mut level = 12.0;
        let pieces = slopes
            .iter()
            .flat_map(|s| vec![*s; if *s == 0.0 { 5 } else { 120 }]);
        let one = |(i, slope): (usize, f64)| {
            level += slope + if i == at { step } else { 0.0 };
            level + SIGMA * noise()
        };
        pieces.enumerate().map(one).collect()
    }

    fn highest(gains: &[f64]) -> (usize, f64) {
        let each = gains.iter().copied().enumerate();
        each.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap()
    }

    /// 14 mA through 22 ohms and a diode make 0.4 V (common practice). A line through n points says its end
    /// within 2 sigma/sqrt(n) (JCGM 100, H.3), so no step can speak louder than half the square of what it
    /// measures in that of two lines of 60 points; doubt of bends takes less than nine tenths of it.
    #[test]
    fn a_step_against_the_sweep_is_found_where_it_is() {
        let most = 0.5 * (0.4_f64 / SIGMA).powi(2) / (2.0 * 4.0 / 60.0);
        for (sign, kind) in [(1.0, EventKind::Start), (-1.0, EventKind::Stop)] {
            for seed in 0..20 {
                let levels = levels(&[0.03 * sign, 0.03 * sign], (120, -0.4 * sign), seed);
                let found = Evidence::of(&levels, 0.0);
                let (at, gain) = highest(found.of_kind(kind));
                let there = 119.5 - Evidence::off(kind);
                assert!((at as f64 - there).abs() <= 2.0, "{seed}: {at} {gain}");
                assert!(
                    (0.1 * most..1.8 * most).contains(&gain),
                    "{seed}: {gain} {most}"
                );
            }
        }
    }

    /// Levels `smooth(i)` as an analogue-to-digital converter of the step `code` says them.
    fn coded(count: usize, code: f64, smooth: impl Fn(usize) -> f64) -> Vec<f64> {
        (0..count)
            .map(|i| (smooth(i) / code).round() * code)
            .collect()
    }

    fn loud(levels: &[f64], code: f64) -> bool {
        let found = Evidence::of(levels, code);
        let kinds = [EventKind::Start, EventKind::Stop];
        kinds.iter().any(|k| highest(found.of_kind(*k)).1 > 9.0)
    }

    /// A hand that turns round: in five of a hundred or fewer something speaks for a step as loud as one of 4.2
    /// standard deviations, with noise, and with codes of 0.31 V that no noise carries across.
    #[test]
    fn a_turning_point_is_no_step() {
        let (mut with_noise, mut with_codes) = (0, 0);
        for seed in 0..100_u64 {
            let sign = if seed.is_multiple_of(2) { 1.0 } else { -1.0 };
            let slope = sign * (0.005 + 0.0004 * seed as f64);
            let noisy = levels(&[slope, 0.0, -slope], (0, 0.0), seed);
            with_noise += usize::from(loud(&noisy, 0.0));
            let smooth = |i: usize| 12.0 + slope * (120.0 - (i as f64 - 120.0).abs());
            with_codes += usize::from(loud(&coded(245, 0.31, smooth), 0.31));
        }
        assert!(
            with_noise <= 5 && with_codes <= 1,
            "{with_noise} {with_codes}"
        );
    }

    /// Of codes that no noise carries across, a step of four is still seen where it is.
    #[test]
    fn a_step_of_some_codes_is_found() {
        for k in 0..20 {
            let slope = 0.02 + 0.001 * f64::from(k);
            let smooth = |i: usize| 12.0 + slope * i as f64 - if i < 120 { 0.0 } else { 0.4 };
            let found = Evidence::of(&coded(240, 0.1, smooth), 0.1);
            let (at, gain) = highest(found.of_kind(EventKind::Start));
            let off = (at as f64 - 119.5 + Evidence::off(EventKind::Start)).abs();
            assert!(gain > 9.0 && off <= 4.0, "{slope}: {at} {gain}");
        }
    }

    #[test]
    fn a_step_with_the_sweep_or_of_no_sweep_is_none() {
        let with = levels(&[0.03, 0.03], (120, 0.4), 3);
        let still = levels(&[1e-9, 1e-9], (120, -0.4), 3);
        for levels in [
            with,
            still,
            vec![5.0; 300],
            vec![f64::NAN; 300],
            vec![5.0; 3],
        ] {
            let found = Evidence::of(&levels, 0.0);
            let loudest = highest(found.of_kind(EventKind::Start)).1;
            assert!(loudest < 9.0, "{loudest}");
        }
    }
}
