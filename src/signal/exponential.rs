//! An exponential approach to a level, by least squares.

/// `V = asymptote − step·exp(−x/tau)`, with standard uncertainties from the scatter of the points.
///
/// Asymptote and time constant hang together the more, the shorter the part of the approach that is
/// seen; the uncertainties say so, and where they exceed what was seen there is no fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exponential {
    /// Level that is approached.
    pub asymptote: f64,
    /// Standard uncertainty of it.
    pub u_asymptote: f64,
    /// What is missing to it at x = 0; negative for a fall.
    pub step: f64,
    /// Time constant, in the unit of x.
    pub tau: f64,
    /// Standard uncertainty of it.
    pub u_tau: f64,
    /// Standard deviation of the points about the curve, with n − 3.
    pub scatter: f64,
    /// Points.
    pub count: usize,
}

/// Shortest and longest time constant looked for, as shares of the span of x.
const SHARES: (f64, f64) = (0.02, 50.0);
/// Places looked at between them, before the minimum is closed in.
const PLACES: usize = 60;

/// Fits points with finite coordinates. `None` below six of them, where x does not move, where the best
/// time constant lies at an end of what is looked for (points on a straight line, or a step), or where
/// it is not known to within half of itself.
///
/// For each time constant the other two follow from linear least squares (variable projection, Golub
/// and Pereyra 1973), so that one number is sought and no first guess is needed.
pub fn fit(points: &[(f64, f64)]) -> Option<Exponential> {
    let good: Vec<(f64, f64)> = points
        .iter()
        .copied()
        .filter(|(x, y)| x.is_finite() && y.is_finite())
        .collect();
    let (from, to) = good
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |a, p| {
            (a.0.min(p.0), a.1.max(p.0))
        });
    let span = to - from;
    if good.len() < 6 || span.is_nan() || span <= 0.0 {
        return None;
    }
    let log_of = |place: usize| {
        let part = place as f64 / (PLACES - 1) as f64;
        (span * SHARES.0).ln() + part * (SHARES.1 / SHARES.0).ln()
    };
    let cost = |log: f64| linear(&good, from, log.exp()).map_or(f64::INFINITY, |l| l.squares);
    let best = (0..PLACES).min_by(|a, b| cost(log_of(*a)).total_cmp(&cost(log_of(*b))))?;
    if best == 0 || best == PLACES - 1 {
        return None;
    }
    let log = closed_in(&cost, log_of(best - 1), log_of(best + 1));
    finished(&good, from, log.exp())
}

/// Golden section within a bracket.
fn closed_in(cost: &dyn Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_a, mut at_b) = (cost(a), cost(b));
    for _ in 0..60 {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - golden * (high - low);
            at_a = cost(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + golden * (high - low);
            at_b = cost(b);
        }
    }
    0.5 * (low + high)
}

/// Asymptote and step at `from` for one time constant.
struct Linear {
    asymptote: f64,
    step: f64,
    squares: f64,
}

fn linear(points: &[(f64, f64)], from: f64, tau: f64) -> Option<Linear> {
    let n = points.len() as f64;
    let decay = |x: f64| (-(x - from) / tau).exp();
    let (mut e, mut y) = (0.0, 0.0);
    for point in points {
        e += decay(point.0);
        y += point.1;
    }
    let (e, y) = (e / n, y / n);
    let (mut ee, mut ey) = (0.0, 0.0);
    for point in points {
        let d = decay(point.0) - e;
        ee += d * d;
        ey += d * (point.1 - y);
    }
    if ee <= 0.0 {
        return None;
    }
    let step = -ey / ee;
    let asymptote = y + step * e;
    let squares = points
        .iter()
        .map(|p| (p.1 - asymptote + step * decay(p.0)).powi(2))
        .sum();
    Some(Linear {
        asymptote,
        step,
        squares,
    })
}

/// Covariance from the normal matrix of all three parameters at the minimum.
fn finished(points: &[(f64, f64)], from: f64, tau: f64) -> Option<Exponential> {
    let found = linear(points, from, tau)?;
    let mut normal = [[0.0; 3]; 3];
    for (x, _) in points {
        let t = x - from;
        let decay = (-t / tau).exp();
        let row = [1.0, -decay, -found.step * decay * t / (tau * tau)];
        for (i, a) in row.iter().enumerate() {
            for (j, b) in row.iter().enumerate() {
                normal[i][j] += a * b;
            }
        }
    }
    let inverse = inverse_diagonal(&normal)?;
    let scatter = (found.squares / (points.len() as f64 - 3.0)).sqrt();
    let result = Exponential {
        asymptote: found.asymptote,
        u_asymptote: scatter * inverse[0].sqrt(),
        step: found.step * (from / tau).exp(),
        tau,
        u_tau: scatter * inverse[2].sqrt(),
        scatter,
        count: points.len(),
    };
    let known = result.u_tau < 0.5 * tau && result.u_asymptote.is_finite();
    known.then_some(result)
}

/// Diagonal of the inverse of a symmetric 3 × 3 matrix; `None` where there is none.
fn inverse_diagonal(m: &[[f64; 3]; 3]) -> Option<[f64; 3]> {
    let minor = |a: usize, b: usize| m[a][a] * m[b][b] - m[a][b] * m[b][a];
    let determinant = m[0][0] * minor(1, 2) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
    let diagonal = [
        minor(1, 2) / determinant,
        minor(0, 2) / determinant,
        minor(0, 1) / determinant,
    ];
    diagonal
        .iter()
        .all(|d| d.is_finite() && *d > 0.0)
        .then_some(diagonal)
}
