//! The course of VCC up to an event: straight, or with a bend, since a hand does not turn evenly. Bends that
//! are sure are cut off; one that the samples neither show nor exclude is weighed in.

mod bends;

use crate::signal::Line;

use bends::Bend;
pub(super) use bends::Left;

/// A bend of so many standard deviations is sure.
pub(super) const SURE: f64 = 5.0;

/// What scatters so many times wider than noise is no noise alone, and counts as it is.
pub(super) const UNEXPLAINED: f64 = 1.2;

/// Share of the values that their rounding stays below, where a record has no noise.
const LEAST_NOISE: f64 = 1e-9;

/// A hand bends its course about once in two volts …
const BENDS_PER_V: f64 = 0.5;
/// … by about so much of the slope, as a standard deviation (both chosen on drawn records of hands
/// of both kinds, and judged on others).
const BY: f64 = 0.6;

/// What is expected of bends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hand {
    /// How many in a volt.
    pub bends_per_v: f64,
    /// Standard deviation of the change of the slope, as a share of the slope after it.
    pub by: f64,
}

impl Default for Hand {
    fn default() -> Self {
        Self {
            bends_per_v: BENDS_PER_V,
            by: BY,
        }
    }
}

/// Where VCC is at the event (x = 0).
#[derive(Debug, Clone, Copy)]
pub(super) struct Course {
    /// A line through the samples after the likeliest bend.
    pub line: Line,
    /// VCC at the event, bends weighed in, and its standard uncertainty.
    pub value: f64,
    pub u: f64,
}

/// The course of samples that end with an event, each of the standard deviation `sigma`, turned by a hand;
/// `None` below three of them.
pub(super) fn at_event(times: &[f64], values: &[f64], sigma: f64, hand: Hand) -> Option<Course> {
    let finite = |(t, v): (&f64, &f64)| v.is_finite().then_some((*t, *v));
    let all: Vec<(f64, f64)> = times.iter().zip(values).filter_map(finite).collect();
    let largest = all.iter().map(|p| p.1.abs()).fold(0.0, f64::max);
    let sigma = sigma.max(LEAST_NOISE * largest);
    let mut points = &all[..];
    loop {
        let line = Line::fit(points.iter().copied())?;
        let left = Left::of(points, &line, sigma)?;
        match left.surest() {
            Some((index, size)) if size > SURE => points = &points[index..],
            _ if line.scatter > UNEXPLAINED * sigma => {
                let left = Left::of(points, &line, line.scatter)?;
                return weighed(points, line, &left.places(hand.by), line.scatter, hand);
            }
            _ => return weighed(points, line, &left.places(hand.by), sigma, hand),
        }
    }
}

fn weighed(
    points: &[(f64, f64)],
    line: Line,
    bends: &[Bend],
    sigma: f64,
    hand: Hand,
) -> Option<Course> {
    let span_v = line.slope.abs() * (points.last()?.0 - points.first()?.0);
    let none = (-hand.bends_per_v * span_v).exp();
    let each = (1.0 - none) / bends.len().max(1) as f64;
    let straight = (none, line.at(0.0), line.u_at_with(0.0, sigma).powi(2));
    let of_bends = bends.iter().map(|b| (each * b.weight, b.value, b.variance));
    let models: Vec<(f64, f64, f64)> = std::iter::once(straight).chain(of_bends).collect();
    let whole: f64 = models.iter().map(|m| m.0).sum();
    let value = models.iter().map(|m| m.0 * m.1).sum::<f64>() / whole;
    let spread = models.iter().map(|m| m.0 * (m.2 + (m.1 - value).powi(2)));
    let likeliest = bends.iter().max_by(|a, b| a.weight.total_cmp(&b.weight));
    let after = likeliest.filter(|b| models[0].0 < 0.5 * whole && b.weight > 1.0);
    let line = after
        .and_then(|b| Line::fit(points[b.index..].iter().copied()))
        .unwrap_or(line);
    Some(Course {
        line,
        value,
        u: (spread.sum::<f64>() / whole).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::drawn::noise;

    /// Slope 1 V/s, with a bend by half of it some time before the event; noise of a known sequence.
    fn course(bend_s: f64, by: f64, seed: u64) -> Course {
        let mut noise = noise(seed);
        let times: Vec<f64> = (0..400).map(|i| -1.0 + f64::from(i) / 400.0).collect();
        let values: Vec<f64> = times
            .iter()
            .map(|t| t + by * (-bend_s - t).max(0.0) + 0.05 * noise())
            .collect();
        at_event(&times, &values, 0.05, Hand::default()).unwrap()
    }

    /// VCC is at 0 at the event. Half of the courses are straight, half have a bend somewhere, by up to 0.6 of
    /// the slope: what is 95 % of a normal error, two standard uncertainties, holds nine of ten values or more.
    #[test]
    fn bends_are_weighed_as_often_as_they_mislead() {
        let near = |k: &u64| {
            let part = |by: f64| (*k as f64 * by).fract();
            let by = if k.is_multiple_of(2) {
                0.0
            } else {
                1.2 * part(0.618) - 0.6
            };
            let course = course(0.1 + 0.8 * part(0.414), by, 77 * k + 5);
            course.value.abs() < 2.0 * course.u
        };
        let held = (0..400).filter(near).count();
        assert!((360..398).contains(&held), "{held} of 400");
    }

    /// 2 σ/√n for a straight line without any doubt (JCGM 100, H.3); weighing bends in costs less than half
    /// of that again.
    #[test]
    fn a_straight_course_stays_sharp() {
        let mean: f64 = (0..50).map(|k| course(0.5, 0.0, 31 * k + 1).u).sum::<f64>() / 50.0;
        let line = 2.0 * 0.05 / 20.0;
        assert!((line..1.5 * line).contains(&mean), "{mean} {line}");
    }

    /// A record without noise, as a simulator writes it: straight, at rest, and with a bend.
    #[test]
    fn without_noise_the_course_is_what_it_is() {
        let times: Vec<f64> = (0..100).map(|i| -1.0 + f64::from(i) / 100.0).collect();
        for (slope, by) in [(1.0, 0.0), (0.0, 0.0), (1.0, 0.5)] {
            let values: Vec<f64> = times
                .iter()
                .map(|t| 8.0 + slope * t + by * (-0.4 - t).max(0.0))
                .collect();
            let found = at_event(&times, &values, 0.0, Hand::default()).unwrap();
            assert!((found.value - 8.0).abs() < 1e-6, "{found:?}");
            assert!(found.u < 1e-6, "{found:?}");
        }
    }

    #[test]
    fn two_samples_have_no_course() {
        assert!(at_event(&[-0.2, -0.1], &[1.0, 2.0], 0.1, Hand::default()).is_none());
    }
}
