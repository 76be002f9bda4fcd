//! A threshold that scatters, from works-or-dead readings: P(works) = Φ((V − centre) / sigma), by
//! maximum likelihood (Fisher scoring; D. J. Finney, Probit Analysis, 1947).

use crate::data::ProbitFit;
use crate::data::distribution::normal_cumulative;

/// Rounds of scoring at most.
const ROUNDS: usize = 100;
/// Keeps logarithms finite.
const LEAST_P: f64 = 1e-12;

/// Fits readings `(volts, works)`. `None` where they settle no scatter: dead and working ones do not
/// overlap, or it works rather at the lower voltages; also for an empty list.
pub(super) fn fit(readings: &[(f64, bool)]) -> Option<ProbitFit> {
    let count = readings.len() as f64;
    let mean = readings.iter().map(|r| r.0).sum::<f64>() / count;
    let spread = (readings.iter().map(|r| (r.0 - mean).powi(2)).sum::<f64>() / count).sqrt();
    let scattered = spread.is_finite() && spread > 0.0 && overlap(readings);
    if !scattered {
        return None;
    }
    let points: Vec<(f64, bool)> = readings
        .iter()
        .map(|(v, works)| ((v - mean) / spread, *works))
        .collect();
    let (a, b) = climb(&points)?;
    let (waa, wab, wbb, ..) = score(&points, a, b);
    let determinant = waa * wbb - wab * wab;
    if b <= 0.0 || determinant <= 0.0 {
        return None;
    }
    let centre = -a / b;
    // inverse of the information, carried to −a/b
    let variance = (wbb - 2.0 * centre * wab + centre * centre * waa) / determinant / (b * b);
    let fit = ProbitFit {
        centre_v: mean + spread * centre,
        u_v: spread * variance.sqrt(),
        sigma_v: spread / b,
        count: readings.len(),
    };
    (fit.u_v.is_finite() && fit.sigma_v.is_finite() && fit.centre_v.is_finite()).then_some(fit)
}

/// Is the highest dead above the lowest working, and the lowest dead below the highest working?
fn overlap(readings: &[(f64, bool)]) -> bool {
    let of = |works: bool| readings.iter().filter(move |r| r.1 == works).map(|r| r.0);
    let (low, high) = (f64::INFINITY, f64::NEG_INFINITY);
    of(false).fold(high, f64::max) > of(true).fold(low, f64::min)
        && of(false).fold(low, f64::min) < of(true).fold(high, f64::max)
}

/// Intercept and slope of the largest likelihood; the likelihood is concave, so steps are only halved.
fn climb(points: &[(f64, bool)]) -> Option<(f64, f64)> {
    let (mut a, mut b) = (0.0, 1.0);
    let mut best = likelihood(points, a, b);
    for _ in 0..ROUNDS {
        let (waa, wab, wbb, ga, gb) = score(points, a, b);
        let determinant = waa * wbb - wab * wab;
        if determinant.is_nan() || determinant <= 0.0 {
            return None;
        }
        let da = (wbb * ga - wab * gb) / determinant;
        let db = (waa * gb - wab * ga) / determinant;
        let mut share = 1.0;
        while share > 1e-6 && likelihood(points, a + share * da, b + share * db) < best {
            share *= 0.5;
        }
        a += share * da;
        b += share * db;
        best = likelihood(points, a, b);
        if (share * da).abs() + (share * db).abs() < 1e-9 {
            break;
        }
    }
    (a.is_finite() && b.is_finite()).then_some((a, b))
}

fn probability(z: f64) -> f64 {
    normal_cumulative(z, 1.0).clamp(LEAST_P, 1.0 - LEAST_P)
}

fn likelihood(points: &[(f64, bool)], a: f64, b: f64) -> f64 {
    let one = |(x, works): &(f64, bool)| {
        let z = a + b * x;
        probability(if *works { z } else { -z }).ln()
    };
    points.iter().map(one).sum()
}

/// Information (aa, ab, bb) and gradient (a, b).
fn score(points: &[(f64, bool)], a: f64, b: f64) -> (f64, f64, f64, f64, f64) {
    let mut sums = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (x, works) in points {
        let z = a + b * x;
        let p = probability(z);
        let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
        let weight = density * density / (p * (1.0 - p));
        let pull = density * (f64::from(u8::from(*works)) - p) / (p * (1.0 - p));
        sums.0 += weight;
        sums.1 += weight * x;
        sums.2 += weight * x * x;
        sums.3 += pull;
        sums.4 += pull * x;
    }
    sums
}
