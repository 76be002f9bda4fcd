//! Rise and fall of a sawtooth as curves over the distance from the falling edge.

use super::SHORT_FALL;
use super::cloud::{Cloud, Points};
use super::corners::Corners;
use crate::signal::parabola::Parabola;

/// Falls above this number of samples show a bend of their own.
const LONG_FALL: f64 = 10.0;
/// How far from a corner points of the fall lie at least, and at most need to, as shares of the fall.
const OFF_FALL: (f64, f64) = (0.15, 0.35);
/// How far from a corner points of the rise lie, in samples and as a share of the period.
const OFF_RISE: (f64, f64) = (1.0, 0.01);
/// Largest rate of the bend, over one period: a rise that comes within 2 % of its asymptote.
const MOST_BEND: f64 = 4.0;
/// Quotient of mean squares (Fisher's, three degrees more) beyond which both halves of the rise are no
/// one curve: with many points chance exceeds it once in a thousand times.
const NOT_ONE: f64 = 5.4;

/// A parabola over (1 − exp(−k·x))/k, which is x itself where k is 0.
#[derive(Debug, Clone, Copy)]
pub(super) struct Curve {
    fit: Fit,
    rate: f64,
    shift: f64,
}

/// What lies over the bent x.
#[derive(Debug, Clone, Copy)]
enum Fit {
    Bent(Parabola),
    Straight(crate::signal::Line),
}

fn bent(rate: f64, x: f64) -> f64 {
    if rate.abs() < f64::MIN_POSITIVE {
        x
    } else {
        -(-rate * x).exp_m1() / rate
    }
}

fn all_bent(points: &[(f64, f64)], rate: f64) -> Vec<(f64, f64)> {
    points.iter().map(|p| (bent(rate, p.0), p.1)).collect()
}

impl Curve {
    fn parabola(points: &[(f64, f64)], rate: f64) -> Option<Self> {
        let fit = Fit::Bent(Parabola::fit(&all_bent(points, rate))?);
        Some(Self {
            fit,
            rate,
            shift: 0.0,
        })
    }

    fn straight(points: &[(f64, f64)], rate: f64) -> Option<Self> {
        let line = crate::signal::Line::fit(all_bent(points, rate).into_iter())?;
        Some(Self {
            fit: Fit::Straight(line),
            rate,
            shift: 0.0,
        })
    }

    /// The same curve, begun `shift` later.
    fn shifted(self, shift: f64) -> Self {
        Self { shift, ..self }
    }

    pub(super) fn at(&self, x: f64) -> f64 {
        let u = bent(self.rate, x + self.shift);
        match &self.fit {
            Fit::Bent(p) => p.at(u),
            Fit::Straight(l) => l.at(u),
        }
    }

    /// Standard uncertainty of [`Curve::at`].
    pub(super) fn u_at(&self, x: f64) -> f64 {
        let u = bent(self.rate, x + self.shift);
        match &self.fit {
            Fit::Bent(p) => p.u_at(u),
            Fit::Straight(l) => l.u_at(u),
        }
    }

    /// Standard uncertainty of the difference between the values at two places.
    pub(super) fn u_between(&self, from: f64, to: f64) -> f64 {
        let [a, b] = [from, to].map(|x| bent(self.rate, x + self.shift));
        match &self.fit {
            Fit::Bent(p) => p.u_between(a, b),
            Fit::Straight(l) => l.u_slope() * (b - a).abs(),
        }
    }

    pub(super) fn slope(&self, x: f64) -> f64 {
        let x = x + self.shift;
        let u = bent(self.rate, x);
        let inner = match &self.fit {
            Fit::Bent(p) => p.slope(u),
            Fit::Straight(l) => l.slope,
        };
        inner * (-self.rate * x).exp()
    }

    pub(super) fn scatter(&self) -> f64 {
        match &self.fit {
            Fit::Bent(p) => p.scatter,
            Fit::Straight(l) => l.scatter,
        }
    }
}

/// The end of the rise before a fall, the fall, and the begin of the rise after it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shapes {
    pub(super) before: Curve,
    /// `None` where falls are steps.
    pub(super) fall: Option<Curve>,
    pub(super) after: Curve,
}

impl Shapes {
    /// Standard deviation of the samples about the rise.
    pub(super) fn noise(&self) -> f64 {
        self.before.scatter().max(self.after.scatter())
    }

    /// From points chosen by their levels: near the corners noise has a say in the choice.
    pub(super) fn rough(cloud: &Cloud) -> Option<Self> {
        let length = cloud.mean_length();
        let fall = if length < SHORT_FALL {
            None
        } else if length > LONG_FALL {
            Some(Curve::parabola(&cloud.fall, 0.0)?)
        } else {
            Some(Curve::straight(&cloud.fall, 0.0)?)
        };
        Some(Self {
            before: Curve::parabola(&cloud.before, 0.0)?,
            fall,
            after: Curve::parabola(&cloud.after, 0.0)?,
        })
    }

    /// From points chosen by their distance from corners that are known roughly.
    pub(super) fn between(cloud: &Cloud, corners: &Corners, period: f64) -> Option<Self> {
        let (up, down) = halves(cloud, corners, period);
        let (before, after, rate) = rises(&up, &down, period)?;
        if cloud.mean_length() < SHORT_FALL {
            return Some(Self {
                before,
                fall: None,
                after,
            });
        }
        let (from, to) = (corners.peak.x, corners.valley.x);
        let length = to - from;
        let off = (OFF_FALL.0 * length)
            .max(3.0 * corners.u_edge)
            .min(OFF_FALL.1 * length);
        let points = cloud.within(from + off, to - off);
        let fall = if length > LONG_FALL {
            Curve::parabola(&points, rate)?
        } else {
            Curve::straight(&points, rate)?
        };
        Some(Self {
            before,
            fall: Some(fall),
            after,
        })
    }
}

/// The points of the rise as one, from the valley on.
pub(super) fn rise(cloud: &Cloud, corners: &Corners, period: f64) -> Vec<(f64, f64)> {
    let (before, mut after) = halves(cloud, corners, period);
    after.extend(before.into_iter().map(|(x, y)| (x + period, y)));
    after
}

/// Points of the rise before the peak and after the valley.
fn halves(cloud: &Cloud, corners: &Corners, period: f64) -> (Points, Points) {
    let (peak, valley) = (&corners.peak, &corners.valley);
    let off = OFF_RISE.0 + OFF_RISE.1 * period + 3.0 * corners.u_edge;
    // the rising edges were found where noise carried a sample past their level
    let steepness = (peak.level - valley.level) / (period - valley.x + peak.x);
    let (first, last) = cloud.reach();
    let of_edge = |half: f64| (1.0 + 4.0 * corners.noise / steepness).min(0.5 * half.abs());
    (
        cloud.within(first + of_edge(first), peak.x - off),
        cloud.within(valley.x + off, last - of_edge(last)),
    )
}

/// Both halves of the rise by one curve, where one fits them; else each by its own.
fn rises(before: &[(f64, f64)], after: &[(f64, f64)], period: f64) -> Option<(Curve, Curve, f64)> {
    let mut whole = after.to_vec();
    whole.extend(before.iter().map(|(x, y)| (x + period, *y)));
    let mut rate = 0.0;
    for _ in 0..3 {
        rate = rate_of(&Parabola::fit(&all_bent(&whole, rate))?, rate, period);
    }
    let one = Parabola::fit(&all_bent(&whole, rate))?;
    let (a, b) = (Parabola::fit(before), Parabola::fit(after));
    if let (Some(a), Some(b)) = (a, b) {
        let (apart, free) = (a.squares() + b.squares(), (whole.len() - 6) as f64);
        if (one.squares() - apart) / 3.0 > NOT_ONE * apart / free {
            return Some((
                Curve::parabola(before, 0.0)?,
                Curve::parabola(after, 0.0)?,
                0.0,
            ));
        }
    }
    let curve = Curve::parabola(&whole, rate)?;
    Some((curve.shifted(period), curve, rate))
}

/// 1/τ of a curve, −y″/y′ half a period after the valley, from a parabola over x bent by another rate.
fn rate_of(fit: &Parabola, rate: f64, period: f64) -> f64 {
    let x = 0.5 * period;
    let slope = fit.slope(bent(rate, x));
    let found = rate - fit.bend() / slope * (-rate * x).exp();
    if found.is_finite() {
        found.clamp(0.0, MOST_BEND / period)
    } else {
        0.0
    }
}
