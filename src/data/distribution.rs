//! The distribution of a measured value, from the terms of its uncertainty budget.
//!
//! JCGM 101:2008 propagates distributions; for a sum of independent terms the result is their
//! convolution, computed here on a grid instead of by drawing. `u95` is the half-width of the
//! interval centred on the value that holds 95 % of it, so it is not a fixed multiple of `u`.

use super::term::{Shape, Term};

/// Grid points of the numerical convolution; the error of a probability stays below 1e-4.
const POINTS: usize = 2049;

/// Deviation of the true value from the measured one, as a distribution centred on zero.
#[derive(Debug, Clone)]
pub struct Distribution {
    half_span: f64,
    /// Cumulative probability at equally spaced deviations from −half_span to +half_span.
    cumulative: Vec<f64>,
}

impl Distribution {
    /// The sum of independent terms. Terms with `u` zero or not finite add nothing.
    pub fn of_terms(terms: &[Term]) -> Self {
        let live: Vec<&Term> = terms
            .iter()
            .filter(|t| t.u.is_finite() && t.u > 0.0)
            .collect();
        let gaussian = live
            .iter()
            .filter(|t| t.shape == Shape::Normal)
            .map(|t| t.u * t.u)
            .sum::<f64>()
            .sqrt();
        let half_span = live
            .iter()
            .map(|t| t.shape.reach(t.u))
            .sum::<f64>()
            .max(f64::MIN_POSITIVE);
        let mut result = Self {
            half_span,
            cumulative: Vec::with_capacity(POINTS),
        };
        result.cumulative = (0..POINTS)
            .map(|i| normal_cumulative(result.deviation(i), gaussian))
            .collect();
        for term in live.iter().filter(|t| t.shape != Shape::Normal) {
            result = match term.shape {
                Shape::Rectangular => result.smeared_by_rectangle(term.u * 3.0_f64.sqrt()),
                other => result.smeared_by_quantiles(&other.quantiles(term.u)),
            };
        }
        result
    }

    /// Probability that the deviation is at most `deviation`.
    pub fn cumulative(&self, deviation: f64) -> f64 {
        if deviation == f64::INFINITY || deviation >= self.half_span {
            return 1.0;
        }
        if deviation < -self.half_span || deviation.is_nan() {
            return 0.0;
        }
        let position = (deviation + self.half_span) / (2.0 * self.half_span) * (POINTS - 1) as f64;
        let index = (position as usize).min(POINTS - 2);
        let part = position - index as f64;
        self.cumulative[index] + part * (self.cumulative[index + 1] - self.cumulative[index])
    }

    /// Probability that a value measured as `value` lies between the limits; a missing side is infinite.
    pub fn probability_within(&self, value: f64, min: Option<f64>, max: Option<f64>) -> f64 {
        let upper = max.map_or(1.0, |max| self.cumulative(max - value));
        let lower = min.map_or(0.0, |min| self.cumulative(min - value));
        (upper - lower).clamp(0.0, 1.0)
    }

    /// Half-width of the centred interval that holds the share `p` (0 to 1).
    pub fn half_width(&self, p: f64) -> f64 {
        let held = |half: f64| self.cumulative(half) - self.cumulative(-half);
        let (mut low, mut high) = (0.0, self.half_span);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if held(middle) < p {
                low = middle
            } else {
                high = middle
            }
        }
        high
    }

    fn deviation(&self, index: usize) -> f64 {
        self.half_span * (2.0 * index as f64 / (POINTS - 1) as f64 - 1.0)
    }

    /// Convolution with a rectangle of half-width `half`: the mean of the cumulative over ±half.
    fn smeared_by_rectangle(&self, half: f64) -> Self {
        let step = 2.0 * self.half_span / (POINTS - 1) as f64;
        if half < step * 1e-3 {
            return self.clone();
        }
        let mut area = vec![0.0; POINTS];
        for i in 1..POINTS {
            area[i] = area[i - 1] + 0.5 * step * (self.cumulative[i - 1] + self.cumulative[i]);
        }
        let area_to = |x: f64| {
            if x <= -self.half_span {
                return 0.0;
            }
            if x >= self.half_span {
                return area[POINTS - 1] + (x - self.half_span);
            }
            let position = (x + self.half_span) / step;
            let index = (position as usize).min(POINTS - 2);
            let part = position - index as f64;
            let (a, b) = (self.cumulative[index], self.cumulative[index + 1]);
            area[index] + step * part * (a + 0.5 * part * (b - a))
        };
        let cumulative = (0..POINTS)
            .map(|i| {
                let x = self.deviation(i);
                ((area_to(x + half) - area_to(x - half)) / (2.0 * half)).clamp(0.0, 1.0)
            })
            .collect();
        Self {
            half_span: self.half_span,
            cumulative,
        }
    }

    fn smeared_by_quantiles(&self, shifts: &[f64]) -> Self {
        let cumulative = (0..POINTS)
            .map(|i| {
                let x = self.deviation(i);
                shifts
                    .iter()
                    .map(|shift| self.cumulative(x - shift))
                    .sum::<f64>()
                    / shifts.len() as f64
            })
            .collect();
        Self {
            half_span: self.half_span,
            cumulative,
        }
    }
}

/// Cumulative of a normal distribution of standard deviation `sigma`; a step when `sigma` is zero.
pub fn normal_cumulative(x: f64, sigma: f64) -> f64 {
    if sigma <= 0.0 {
        return if x > 0.0 {
            1.0
        } else if x < 0.0 {
            0.0
        } else {
            0.5
        };
    }
    0.5 * complementary_error(-x / (sigma * std::f64::consts::SQRT_2))
}

/// Complementary error function by its continued fraction and series; absolute error below 1e-13.
pub fn complementary_error(x: f64) -> f64 {
    if x < 0.0 {
        return 2.0 - complementary_error(-x);
    }
    if x < 2.5 {
        let (mut term, mut sum) = (x, x);
        for n in 1..200 {
            term *= -x * x / f64::from(n);
            let add = term / f64::from(2 * n + 1);
            sum += add;
            if add.abs() < 1e-17 {
                break;
            }
        }
        return 1.0 - 2.0 / std::f64::consts::PI.sqrt() * sum;
    }
    let mut fraction = 0.0;
    for n in (1..=60).rev() {
        fraction = f64::from(n) / 2.0 / (x + fraction);
    }
    (-x * x).exp() / std::f64::consts::PI.sqrt() / (x + fraction)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn term(u: f64, shape: Shape) -> Term {
        Term {
            name: "test",
            u,
            shape,
            tie: None,
        }
    }

    #[test]
    fn one_shape_alone_gives_its_textbook_interval() {
        let normal = Distribution::of_terms(&[term(1.0, Shape::Normal)]);
        assert!((normal.half_width(0.95) - 1.959_964).abs() < 2e-3);
        // a rectangle of half-width √3 (u = 1) holds 95 % within 0.95 √3
        let rectangle = Distribution::of_terms(&[term(1.0, Shape::Rectangular)]);
        assert!((rectangle.half_width(0.95) - 0.95 * 3.0_f64.sqrt()).abs() < 2e-3);
        // arcsine of half-width √2 (u = 1): sin(0.95 π/2) √2
        let arcsine = Distribution::of_terms(&[term(1.0, Shape::Arcsine)]);
        let exact = (0.95 * std::f64::consts::FRAC_PI_2).sin() * 2.0_f64.sqrt();
        assert!(
            (arcsine.half_width(0.95) - exact).abs() < 0.01,
            "{}",
            arcsine.half_width(0.95)
        );
    }

    #[test]
    fn two_equal_rectangles_make_a_triangle() {
        // triangular on ±2: P(|x| ≤ h) = 1 − (1 − h/2)²
        let a = 1.0 / 3.0_f64.sqrt();
        let sum =
            Distribution::of_terms(&[term(a, Shape::Rectangular), term(a, Shape::Rectangular)]);
        let exact = 2.0 * (1.0 - 0.05_f64.sqrt());
        assert!(
            (sum.half_width(0.95) - exact).abs() < 3e-3,
            "{} {exact}",
            sum.half_width(0.95)
        );
    }

    #[test]
    fn student_factors_agree_with_gum_table_g2() {
        // JCGM 100:2008 table G.2, 95 %: ν 3 → 3.182, 5 → 2.571, 10 → 2.228
        for (nu, factor) in [(3.0, 3.182), (5.0, 2.571), (10.0, 2.228)] {
            let t = Distribution::of_terms(&[term(1.0, Shape::Student { degrees: nu })]);
            assert!(
                (t.half_width(0.95) / factor - 1.0).abs() < 0.01,
                "ν {nu}: {}",
                t.half_width(0.95)
            );
        }
    }

    #[test]
    fn error_function_matches_known_values() {
        // Abramowitz & Stegun table 7.1
        assert!((complementary_error(0.5) - 0.479_500_122_186_953).abs() < 1e-13);
        assert!((complementary_error(2.0) - 0.004_677_734_981_047_27).abs() < 1e-13);
        assert!((complementary_error(3.0) - 2.209_049_699_858_54e-5).abs() < 1e-15);
    }
}
