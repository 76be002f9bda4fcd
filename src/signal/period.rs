//! Mean period of equally spaced edges, and the mean distance from one kind of edge to another.
//!
//! Two cases. Edges that take samples to pass are instants with noise on them: a straight line by
//! least squares through their positions over their numbers. Edges faster than a sample are known to
//! lie between two samples and no better: the set of all periods that fit every such interval is
//! found, which shrinks with every edge and is right also where samples and pulses run in step.

use super::line::Line;
use super::stats;

/// A period with what leaves it open, in sample intervals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Period {
    /// Mean period.
    pub samples: f64,
    /// Standard uncertainty from the scatter of the edges.
    pub u: f64,
    /// Half-width within which the sampling leaves it.
    pub within: f64,
    /// Standard deviation of the edges about equal spacing.
    pub deviation: f64,
    /// Edges.
    pub count: usize,
}

/// Mean distance from one kind of edge to another, in sample intervals.
#[derive(Debug, Clone, PartialEq)]
pub struct Lag {
    /// Mean distance.
    pub samples: f64,
    /// Standard uncertainty from the scatter.
    pub u: f64,
    /// Half-widths within which the sampling leaves its two ends, each by itself.
    pub within: [f64; 2],
    /// Were its ends placed by the intervals that they lie in? Else by lines between samples.
    pub by_interval: [bool; 2],
    /// Standard deviation of the single distances.
    pub deviation: f64,
    /// The single distances.
    pub singles: Vec<f64>,
}

/// Room that is left to edges which fit by chance only, as a share of what n edges without jitter leave:
/// about one sample over n for a place, over n² for a period.
const CHANCE: f64 = 0.25;

/// Edges beyond this number are thinned for the search of fitting intervals.
const MOST_EDGES: usize = 20_000;

/// Correlation of neighbours beyond which it is not believed to be larger.
const MOST_CORRELATION: f64 = 0.9;

/// Fits edges at equal spacing, some of which may be missing; `None` below three of them. `resolved`: do
/// they take samples to pass?
pub fn fit(edges: &[f64], resolved: bool) -> Option<Period> {
    let mut gaps: Vec<f64> = edges.windows(2).map(|w| w[1] - w[0]).collect();
    let usual = stats::median(&mut gaps);
    let points = numbers(edges, usual);
    let line = Line::fit(points.iter().copied())?;
    let residuals: Vec<f64> = points.iter().map(|(k, p)| p - line.at(*k)).collect();
    let scattered = Period {
        samples: line.slope,
        u: scatter_of_mean(&points, &residuals, &line),
        within: 0.0,
        deviation: line.scatter,
        count: edges.len(),
    };
    if resolved {
        return Some(scattered);
    }
    let Some((low, high)) = fitting(edges, line.slope) else {
        // no period fits all intervals: the edges jitter by more than a sample
        return Some(scattered);
    };
    let within = 0.5 * (high - low);
    let n = edges.len() as f64;
    // hardly any room left: the edges jitter, and only just fit by chance
    let chance = within < CHANCE / (n * n);
    if chance {
        return Some(scattered);
    }
    if holding_samples(edges) > 0.5 {
        let cycles = points[points.len() - 1].0 - points[0].0;
        let shape = if steps_along(edges) {
            ON_EDGE / cycles
        } else {
            0.0
        };
        if scattered.u.hypot(shape / 3.0_f64.sqrt()) < within / 3.0_f64.sqrt() {
            return Some(Period {
                within: shape,
                ..scattered
            });
        }
    }
    Some(Period {
        samples: 0.5 * (low + high),
        u: 0.0,
        within,
        ..scattered
    })
}

/// How far an instant may be from the middle between two samples and say no more than that the edge lies
/// between them, in samples.
const MIDDLE: f64 = 0.1;

/// What straight lines between samples leave of an instant where most edges hold a sample, in samples: of a
/// straight edge over one sample interval, (½ − L)·(1 − 1/(1 − L)) with a sample at its level L, which is
/// 0.09 at most, and as much where two edges are compared.
const ON_EDGE: f64 = 0.18;

/// Share of the edges that hold a sample, by their positions in samples: without one a straight line passes
/// half-way in the middle of the interval. A straight edge over one sample interval shows 0.75 of them;
/// NaN without edges.
pub fn holding_samples(edges: &[f64]) -> f64 {
    let off = |p: &&f64| (p.rem_euclid(1.0) - 0.5).abs() > MIDDLE;
    edges.iter().filter(off).count() as f64 / edges.len() as f64
}

/// Do the samples run in step with the edges, so that all of them fall on one half of a sample interval?
/// Then their scatter says nothing of how far they may be off together.
fn steps_along(edges: &[f64]) -> bool {
    let mut phases: Vec<f64> = edges.iter().map(|p| p.rem_euclid(1.0)).collect();
    phases.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (phases.first(), phases.last()) else {
        return true;
    };
    let around = 1.0 - last + first;
    let widest = phases
        .windows(2)
        .map(|w| w[1] - w[0])
        .fold(around, f64::max);
    phases.len() < 8 || widest > 0.5
}

/// Ratio of von Neumann below which edges wander: the errors of single periods add up. Above it
/// neighbours only share a part of their scatter.
const WANDERS: f64 = 0.6;

/// Edges with their cycle numbers, each counted on from the one before by the nearest whole number of
/// usual periods.
fn numbers(edges: &[f64], usual: f64) -> Vec<(f64, f64)> {
    let mut number = 0.0;
    let mut last = edges.first().copied().unwrap_or(0.0);
    let numbered = edges.iter().map(|p| {
        number += ((p - last) / usual).round();
        last = *p;
        (number, *p)
    });
    numbered.collect()
}

/// Standard uncertainty of the period.
///
/// Edges that scatter one by one about equal spacing: that of the slope of the line. Where neighbours
/// scatter together (mean square of successive differences over twice the variance, the ratio of von
/// Neumann (1941), well below 1), the periods themselves are what scatters, and the line knows their
/// mean to √(6/5) of their deviation over √n.
fn scatter_of_mean(points: &[(f64, f64)], residuals: &[f64], line: &Line) -> f64 {
    let n = residuals.len() as f64;
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    if n < 8.0 || squares <= 0.0 {
        return line.u_slope();
    }
    let successive: f64 = residuals.windows(2).map(|w| (w[1] - w[0]).powi(2)).sum();
    let ratio = 0.5 * successive / squares * n / (n - 1.0);
    if ratio > 1.0 - 2.0 / n.sqrt() {
        return line.u_slope();
    }
    if ratio > WANDERS {
        let shared = 1.0 - ratio;
        return line.u_slope() * ((1.0 + shared) / (1.0 - shared)).sqrt();
    }
    let span = points[points.len() - 1].0 - points[0].0;
    let of_period = (successive / (n - 1.0)).sqrt();
    (1.2_f64.sqrt() * of_period / span.sqrt()).max(line.u_slope())
}

/// Mean distance from each of `from` to the next of `to`, both spaced by about `period`; distances
/// beyond one and a half periods belong to no pair. `None` below two pairs.
pub fn lag(from: &[f64], to: &[f64], period: f64, resolved: (bool, bool)) -> Option<Lag> {
    let pairs: Vec<(f64, f64)> = from
        .iter()
        .filter_map(|a| {
            let b = *to.get(to.partition_point(|b| b < a))?;
            (b - a < 1.5 * period).then_some((*a, b))
        })
        .collect();
    if pairs.len() < 2 {
        return None;
    }
    let singles: Vec<f64> = pairs.iter().map(|(a, b)| b - a).collect();
    let summary = stats::summary(&singles);
    let centred: Vec<f64> = singles.iter().map(|s| s - summary.mean).collect();
    let scattered = Lag {
        samples: summary.mean,
        u: summary.deviation / (singles.len() as f64).sqrt() * inflation(&centred),
        within: [0.0; 2],
        by_interval: [false; 2],
        deviation: summary.deviation,
        singles,
    };
    if resolved == (true, true) {
        return Some(scattered);
    }
    let begins: Vec<f64> = pairs.iter().map(|p| p.0).collect();
    let ends: Vec<f64> = pairs.iter().map(|p| p.1).collect();
    Some(
        in_step(&begins, &ends, period, resolved, &scattered).unwrap_or_else(|| {
            // sampling in step repeats one error in every cycle instead of averaging it
            let hidden = if scattered.deviation < 0.2 { 0.5 } else { 0.0 };
            Lag {
                within: [hidden; 2],
                ..scattered
            }
        }),
    )
}

/// Periods of the fitting range that are looked at.
const PLACES: u32 = 9;

/// The distance from the intervals that fit every edge, where they all fit one period: all distances
/// that any such period allows.
fn in_step(
    begins: &[f64],
    ends: &[f64],
    period: f64,
    resolved: (bool, bool),
    scattered: &Lag,
) -> Option<Lag> {
    let (a, b) = (fitting(begins, period), fitting(ends, period));
    let (low, high) = match (resolved, a, b) {
        ((false, false), Some(a), Some(b)) => (a.0.max(b.0), a.1.min(b.1)),
        ((false, true), Some(a), _) => a,
        ((true, false), _, Some(b)) => b,
        _ => return None,
    };
    let (mut nearest, mut farthest) = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut u, mut room) = (0.0_f64, [0.0_f64; 2]);
    for place in 0..PLACES {
        let period = low + (high - low) * f64::from(place) / f64::from(PLACES - 1);
        // both are numbered from the same cycle
        let (from, to) = (
            place_of(begins, period, resolved.0),
            place_of(ends, period, resolved.1),
        );
        // at either end of the range rounding may leave nothing
        if from.0 <= from.1 + 1e-9 && to.0 <= to.1 + 1e-9 {
            nearest = nearest.min(to.0 - from.1);
            farthest = farthest.max(to.1 - from.0);
            u = from.2.hypot(to.2);
            room = [room[0].max(from.1 - from.0), room[1].max(to.1 - to.0)];
        }
    }
    let free = |edges: &[f64], resolved: bool| resolved || !steps_along(edges);
    let within = 0.5 * (farthest - nearest);
    let chance = within < CHANCE / begins.len() as f64;
    let scatter_counts = chance || scattered.u < within / 3.0_f64.sqrt();
    if free(begins, resolved.0) && free(ends, resolved.1) && scatter_counts {
        return Some(scattered.clone());
    }
    // what the range of periods adds moves both ends: it stays with the wider one
    let more = (within - 0.5 * (room[0] + room[1])).max(0.0);
    let [begin, end] = room.map(|width| 0.5 * width);
    let begin_is_wider = begin > end;
    (nearest <= farthest).then(|| Lag {
        samples: 0.5 * (nearest + farthest),
        u,
        within: if begin_is_wider {
            [begin + more, end]
        } else {
            [begin, end + more]
        },
        by_interval: [!resolved.0, !resolved.1],
        ..scattered.clone()
    })
}

/// Where the edge of cycle 0 lies for a period, from and to, and the standard uncertainty of that.
fn place_of(edges: &[f64], period: f64, resolved: bool) -> (f64, f64, f64) {
    if !resolved {
        let (low, high) = offsets(edges, period);
        return (low, high, 0.0);
    }
    let shifts: Vec<f64> = numbered(edges, period)
        .map(|(k, p)| p - k * period)
        .collect();
    let summary = stats::summary(&shifts);
    let u = summary.deviation / (shifts.len() as f64).sqrt();
    (summary.mean, summary.mean, u)
}

/// Equal spacing that fits edges which are steps between two samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Lattice {
    first: f64,
    period: f64,
    /// Half-width within which all places lie together.
    pub(super) within: f64,
}

impl Lattice {
    /// `None` where no equal spacing fits, but by chance.
    pub(super) fn of(edges: &[f64]) -> Option<Self> {
        let mut gaps: Vec<f64> = edges.windows(2).map(|w| w[1] - w[0]).collect();
        let (low, high) = fitting(edges, stats::median(&mut gaps))?;
        let period = 0.5 * (low + high);
        let (from, to) = offsets(edges, period);
        // hardly any room left: the edges jitter, and only just fit by chance
        let by_chance = 0.5 * (to - from) < CHANCE / edges.len() as f64;
        (!by_chance).then_some(Self {
            first: 0.5 * (from + to),
            period,
            within: 0.5 * (to - from),
        })
    }

    /// The place nearest to a position.
    pub(super) fn nearest(&self, position: f64) -> f64 {
        self.first + ((position - self.first) / self.period).round() * self.period
    }
}

/// Edges with their cycle numbers for a period that is known well, counted from the first.
fn numbered(edges: &[f64], period: f64) -> impl Iterator<Item = (f64, f64)> {
    let first = edges.first().copied().unwrap_or(0.0);
    edges
        .iter()
        .map(move |p| (((p - first) / period).round(), *p))
}

/// The interval between two samples in which a fast edge lies.
fn interval(position: f64) -> (f64, f64) {
    (position.floor(), position.floor() + 1.0)
}

/// Where the edge of cycle 0 may lie, for a period: from the largest lower to the smallest upper bound.
fn offsets(edges: &[f64], period: f64) -> (f64, f64) {
    numbered(edges, period).fold((f64::NEG_INFINITY, f64::INFINITY), |(low, high), (k, p)| {
        let (a, b) = interval(p);
        (low.max(a - k * period), high.min(b - k * period))
    })
}

/// The shortest and the longest period with which every edge lies in its interval; `None` where there
/// is none. `near` is close to it. The room left is a concave function of the period: its top is
/// sought, then both sides where it becomes zero.
fn fitting(edges: &[f64], near: f64) -> Option<(f64, f64)> {
    let stride = edges.len().div_ceil(MOST_EDGES).max(1);
    let numbers: Vec<(f64, f64)> = numbered(edges, near).step_by(stride).collect();
    let span = numbers.last()?.0 - numbers.first()?.0;
    if span < 1.0 {
        return None;
    }
    let room = |period: f64| {
        let (low, high) =
            numbers
                .iter()
                .fold((f64::NEG_INFINITY, f64::INFINITY), |(low, high), (k, p)| {
                    let (a, b) = interval(*p);
                    (low.max(a - k * period), high.min(b - k * period))
                });
        high - low
    };
    let (mut left, mut right) = (near - 2.0 / span, near + 2.0 / span);
    for _ in 0..80 {
        let (a, b) = (left + (right - left) / 3.0, right - (right - left) / 3.0);
        if room(a) < room(b) {
            left = a
        } else {
            right = b
        }
    }
    let top = 0.5 * (left + right);
    if room(top) < 0.0 {
        return None;
    }
    let side = |mut outside: f64| {
        let mut inside = top;
        for _ in 0..60 {
            let middle = 0.5 * (inside + outside);
            if room(middle) < 0.0 {
                outside = middle
            } else {
                inside = middle
            }
        }
        inside
    };
    Some((side(near - 4.0 / span), side(near + 4.0 / span)))
}

/// By how much the mean of correlated values scatters more than that of independent ones:
/// √((1+ρ)/(1−ρ)) for a first-order process with the correlation ρ of neighbours; 1 for ρ below 0.
fn inflation(residuals: &[f64]) -> f64 {
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    if residuals.len() < 8 || squares <= 0.0 {
        return 1.0;
    }
    let products: f64 = residuals.windows(2).map(|w| w[0] * w[1]).sum();
    let correlation = (products / squares).clamp(0.0, MOST_CORRELATION);
    // what chance alone may show is not counted
    let chance = 2.0 / (residuals.len() as f64).sqrt();
    let correlation = if correlation < chance {
        0.0
    } else {
        correlation
    };
    ((1.0 + correlation) / (1.0 - correlation)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sampled(period: f64, phase: f64, count: usize) -> Vec<f64> {
        // an edge faster than a sample shows at the middle between two samples
        (0..count)
            .map(|k| (phase + k as f64 * period).floor() + 0.5)
            .collect()
    }

    #[test]
    fn fast_edges_give_a_period_that_shrinks_faster_than_the_record_grows() {
        for period in [20.37, 20.0, 7.001, 133.333] {
            for phase in [0.1, 0.5, 0.83] {
                let short = fit(&sampled(period, phase, 10), false).unwrap();
                let long = fit(&sampled(period, phase, 1000), false).unwrap();
                for found in [short, long] {
                    assert!(
                        (found.samples - period).abs() <= found.within + 1e-9,
                        "{period} {phase} {found:?}"
                    );
                }
                assert!(long.within < short.within / 50.0, "{long:?} {short:?}");
            }
        }
    }

    #[test]
    fn pulses_in_step_with_the_samples_keep_their_doubt() {
        let rises = sampled(20.0, 0.3, 400);
        let falls = sampled(20.0, 9.9, 400);
        let found = lag(&rises, &falls, 20.0, (false, false)).unwrap();
        let within = |lag: &Lag| lag.within[0] + lag.within[1];
        assert!((found.samples - 9.6).abs() <= within(&found));
        assert!(within(&found) > 0.8, "{found:?}");
        let free = lag(
            &sampled(20.37, 0.3, 400),
            &sampled(20.37, 9.9, 400),
            20.37,
            (false, false),
        )
        .unwrap();
        assert!((free.samples - 9.6).abs() <= within(&free));
        assert!(within(&free) < 0.04, "{free:?}");
    }

    #[test]
    fn too_few_edges_give_none() {
        assert_eq!(fit(&[1.0, 2.0], true), None);
        assert_eq!(lag(&[1.0], &[1.5], 2.0, (true, true)), None);
    }
}
