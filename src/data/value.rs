//! A measured value with its uncertainty budget, or the reason why there is none.

use super::distribution::Distribution;
use super::quantity::Quantity;

/// Shape of the distribution behind one term of a budget.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Gaussian.
    Normal,
    /// Uniform between two bounds (JCGM 100:2008, 4.3.7).
    Rectangular,
    /// U-shaped, as of a sine of known amplitude and unknown phase.
    Arcsine,
    /// Student's t of a mean of few values; `u` is the standard deviation of the mean, s/√n.
    Student {
        /// Degrees of freedom, n − 1, at least 1.
        degrees: f64,
    },
}

impl Shape {
    /// The word used in JSON and in the budget shown.
    pub fn id(self) -> &'static str {
        match self {
            Shape::Normal => "normal",
            Shape::Rectangular => "rectangular",
            Shape::Arcsine => "arcsine",
            Shape::Student { .. } => "t",
        }
    }

    /// Half-width that holds all, or all but a negligible part, of a term of this `u`.
    pub(super) fn reach(self, u: f64) -> f64 {
        match self {
            Shape::Normal => 6.0 * u,
            Shape::Rectangular => u * 3.0_f64.sqrt(),
            Shape::Arcsine => u * 2.0_f64.sqrt(),
            Shape::Student { .. } => self.quantiles(u).last().copied().unwrap_or(0.0) * 1.05,
        }
    }

    /// Equally probable deviations that stand for a shape which has no quick convolution.
    pub(super) fn quantiles(self, u: f64) -> Vec<f64> {
        const COUNT: usize = 256;
        (0..COUNT)
            .map(|k| {
                let p = (k as f64 + 0.5) / COUNT as f64;
                match self {
                    Shape::Arcsine => u * 2.0_f64.sqrt() * (std::f64::consts::PI * (p - 0.5)).sin(),
                    Shape::Student { degrees } => u * student_quantile(p, degrees),
                    Shape::Rectangular => u * 3.0_f64.sqrt() * (2.0 * p - 1.0),
                    Shape::Normal => u * student_quantile(p, 1e6),
                }
            })
            .collect()
    }
}

/// Quantile of Student's t by numerical integration and bisection; relative error below 1e-3 for
/// the central 99.6 %.
fn student_quantile(p: f64, degrees: f64) -> f64 {
    if (p - 0.5).abs() < 1e-12 {
        return 0.0;
    }
    if p < 0.5 {
        return -student_quantile(1.0 - p, degrees);
    }
    // substitute t = √ν tan θ: the density becomes cos^(ν−1) θ, integrable on a finite range
    let power = degrees - 1.0;
    let area = |to: f64| {
        let steps = 400;
        let h = to / f64::from(steps);
        let f = |x: f64| x.cos().max(0.0).powf(power);
        let inner: f64 = (1..steps)
            .map(|i| f(f64::from(i) * h) * if i % 2 == 1 { 4.0 } else { 2.0 })
            .sum();
        h / 3.0 * (f(0.0) + inner + f(to))
    };
    let full = area(std::f64::consts::FRAC_PI_2);
    let (mut low, mut high) = (0.0, std::f64::consts::FRAC_PI_2);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if 0.5 + 0.5 * area(middle) / full < p {
            low = middle
        } else {
            high = middle
        }
    }
    degrees.sqrt() * (0.5 * (low + high)).tan()
}

/// One independent contribution to the uncertainty of a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// What contributes: `noise`, `resolution`, `gain (assumed)` …
    pub name: &'static str,
    /// Standard uncertainty, in the unit of the value.
    pub u: f64,
    /// Shape of its distribution.
    pub shape: Shape,
}

impl Term {
    /// A Gaussian contribution of standard uncertainty `u`.
    pub fn normal(name: &'static str, u: f64) -> Self {
        Self {
            name,
            u,
            shape: Shape::Normal,
        }
    }

    /// A contribution that lies anywhere within ±`half_width` (JCGM 100:2008, 4.3.7: u = a/√3).
    pub fn within(name: &'static str, half_width: f64) -> Self {
        Self {
            name,
            u: half_width.abs() / 3.0_f64.sqrt(),
            shape: Shape::Rectangular,
        }
    }
}

/// A value with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// Best estimate, in the unit of its quantity.
    pub value: f64,
    /// Standard uncertainty.
    pub u: f64,
    /// Half-width of the centred interval that holds 95 % of the propagated distribution.
    pub u95: f64,
    /// The budget: independent terms.
    pub terms: Vec<Term>,
    /// How many single results went into it.
    pub count: usize,
    /// The single results, where there are several and few enough to list.
    pub singles: Vec<f64>,
}

impl Value {
    /// A value from its budget; `u` and `u95` follow from the terms.
    pub fn from_terms(value: f64, terms: Vec<Term>) -> Self {
        let terms: Vec<Term> = terms
            .into_iter()
            .filter(|t| t.u.is_finite() && t.u > 0.0)
            .collect();
        let u = terms.iter().map(|t| t.u * t.u).sum::<f64>().sqrt();
        let u95 = if u > 0.0 {
            Distribution::of_terms(&terms).half_width(0.95)
        } else {
            0.0
        };
        Self {
            value,
            u,
            u95,
            terms,
            count: 1,
            singles: Vec::new(),
        }
    }

    /// The same with the single results that it was made from.
    pub fn with_singles(mut self, singles: Vec<f64>) -> Self {
        self.count = singles.len().max(1);
        self.singles = singles;
        self
    }

    /// Effective degrees of freedom by the Welch-Satterthwaite formula (JCGM 100:2008, G.4); infinite
    /// when no term stands for a mean of few values.
    pub fn effective_degrees(&self) -> f64 {
        let share = |term: &Term| match term.shape {
            Shape::Student { degrees } => term.u.powi(4) / degrees,
            _ => 0.0,
        };
        self.u.powi(4) / self.terms.iter().map(share).sum::<f64>()
    }

    /// Probability that the quantity lies within the limits (a missing side is infinite), from the
    /// whole distribution, not from `u` alone.
    pub fn probability_within(&self, min: Option<f64>, max: Option<f64>) -> f64 {
        Distribution::of_terms(&self.terms).probability_within(self.value, min, max)
    }
}

/// What measuring gave.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A value.
    Value(Value),
    /// No value, and why: a sentence for the user.
    NotMeasurable(String),
}

/// One quantity measured on one capture (or read by hand).
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Which quantity.
    pub quantity: Quantity,
    /// Index of the capture in the inspection; `None` for a hand reading.
    pub capture: Option<usize>,
    /// Index of the channel in the capture; `None` for a hand reading.
    pub channel: Option<usize>,
    /// The value or the reason.
    pub outcome: Outcome,
    /// Where in the record, from and to, in seconds.
    pub span_s: Option<(f64, f64)>,
}

impl Measured {
    /// The value, if there is one.
    pub fn value(&self) -> Option<&Value> {
        match &self.outcome {
            Outcome::Value(value) => Some(value),
            Outcome::NotMeasurable(_) => None,
        }
    }
}
