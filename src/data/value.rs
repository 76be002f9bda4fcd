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
        let shares = (0..QUANTILES).map(|k| (k as f64 + 0.5) / QUANTILES as f64);
        match self {
            Shape::Student { degrees } => student_quantiles(degrees)
                .into_iter()
                .map(|t| u * t)
                .collect(),
            Shape::Normal => student_quantiles(1e6).into_iter().map(|t| u * t).collect(),
            Shape::Arcsine => shares
                .map(|p| u * 2.0_f64.sqrt() * (std::f64::consts::PI * (p - 0.5)).sin())
                .collect(),
            Shape::Rectangular => shares
                .map(|p| u * 3.0_f64.sqrt() * (2.0 * p - 1.0))
                .collect(),
        }
    }
}

/// Equally probable values that stand for a distribution.
const QUANTILES: usize = 256;

/// The [`QUANTILES`] values of Student's t: the density, which with t = √ν tan θ becomes
/// cos^(ν−1) θ, is summed over θ once and read backwards.
fn student_quantiles(degrees: f64) -> Vec<f64> {
    const STEPS: usize = 8192;
    let step = std::f64::consts::FRAC_PI_2 / STEPS as f64;
    let density = |k: f64| (k * step).cos().max(0.0).powf(degrees - 1.0);
    let mut area = vec![0.0];
    for k in 0..STEPS {
        // Simpson's rule within each step
        let k = k as f64;
        let piece = density(k) + 4.0 * density(k + 0.5) + density(k + 1.0);
        area.push(area[area.len() - 1] + piece);
    }
    let whole = area[STEPS];
    let upper = |p: f64| {
        let wanted = (2.0 * p - 1.0) * whole;
        let above = area.partition_point(|a| *a < wanted).clamp(1, STEPS);
        let part = (wanted - area[above - 1]) / (area[above] - area[above - 1]);
        degrees.sqrt() * ((above as f64 - 1.0 + part) * step).tan()
    };
    let half: Vec<f64> = (QUANTILES / 2..QUANTILES)
        .map(|k| upper((k as f64 + 0.5) / QUANTILES as f64))
        .collect();
    half.iter()
        .rev()
        .map(|t| -t)
        .chain(half.iter().copied())
        .collect()
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
    /// What the contribution is one error with, in other values too; `None` for one of its own.
    pub tie: Option<Tie>,
}

/// One error that acts on several values at once: the gain of a channel, the time base of a record.
///
/// Terms with the same [`Tie::source`] are fully correlated (JCGM 100:2008, 5.2): in a sum or a
/// difference of values they add with their signs, and only then count as one term.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tie {
    /// Which error.
    pub source: TieSource,
    /// Does the value fall when the error rises?
    pub falls: bool,
}

/// An error that several values share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TieSource {
    /// Gain of a scope channel on one range; the number is [`InspectedChannel::range`](super::InspectedChannel::range).
    Gain(u64),
    /// Offset of a scope channel on one range.
    Offset(u64),
    /// The scope's time base.
    TimeBase,
    /// Gain of the multimeter.
    Meter,
}

impl Term {
    /// A Gaussian contribution of standard uncertainty `u`.
    pub fn normal(name: &'static str, u: f64) -> Self {
        Self {
            name,
            u,
            shape: Shape::Normal,
            tie: None,
        }
    }

    /// A contribution that lies anywhere within ±`half_width` (JCGM 100:2008, 4.3.7: u = a/√3).
    pub fn within(name: &'static str, half_width: f64) -> Self {
        Self {
            name,
            u: half_width.abs() / 3.0_f64.sqrt(),
            shape: Shape::Rectangular,
            tie: None,
        }
    }

    /// Student's t of a mean of `count` values whose standard deviation is `deviation`; nothing
    /// below two of them.
    pub fn mean_of(name: &'static str, deviation: f64, count: usize) -> Self {
        let u = if count < 2 {
            0.0
        } else {
            deviation / (count as f64).sqrt()
        };
        let degrees = (count as f64 - 1.0).max(1.0);
        Self {
            name,
            u,
            shape: Shape::Student { degrees },
            tie: None,
        }
    }

    /// The same, being one error with that of other values. `per_error` is what the value gains when
    /// the error rises; only its sign counts.
    pub fn tied(mut self, source: TieSource, per_error: f64) -> Self {
        let falls = per_error < 0.0;
        self.tie = Some(Tie { source, falls });
        self
    }

    /// Its signed standard uncertainty: negative where the value falls when the shared error rises.
    fn signed(&self) -> f64 {
        if self.tie.is_some_and(|tie| tie.falls) {
            -self.u
        } else {
            self.u
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

    /// `value`, whose small changes are the sum of `coefficient × change` over other values
    /// (JCGM 100:2008, 5.1 and 5.2): terms of one shared error add with their signs, the rest as
    /// independent terms. Terms whose effects cancel to less than a billionth are dropped.
    ///
    /// ```
    /// use firstpulse::data::{Term, TieSource, Value};
    /// let gain = |volts: f64| Term::within("gain", 0.02 * volts).tied(TieSource::Gain(1), volts);
    /// let start = Value::from_terms(16.0, vec![gain(16.0)]);
    /// let stop = Value::from_terms(10.0, vec![gain(10.0)]);
    /// // one gain error of 2 % is 2 % of the difference of 6 V, not of both levels
    /// let hysteresis = Value::linear(6.0, &[(1.0, &start), (-1.0, &stop)]);
    /// assert!((hysteresis.u - 0.12 / 3.0_f64.sqrt()).abs() < 1e-12);
    /// ```
    pub fn linear(value: f64, parts: &[(f64, &Value)]) -> Self {
        let mut own = Vec::new();
        let mut shared: Vec<(TieSource, Term, f64, f64)> = Vec::new();
        for (coefficient, part) in parts {
            for term in &part.terms {
                let Some(tie) = term.tie else {
                    let u = term.u * coefficient.abs();
                    own.push(Term { u, ..*term });
                    continue;
                };
                let effect = coefficient * term.signed();
                match shared.iter_mut().find(|s| s.0 == tie.source) {
                    Some((_, _, sum, size)) => {
                        *sum += effect;
                        *size += effect.abs();
                    }
                    None => shared.push((tie.source, *term, effect, effect.abs())),
                }
            }
        }
        let left = shared.into_iter().filter(|s| s.2.abs() > 1e-9 * s.3);
        let joined = left.map(|(source, term, sum, _)| {
            let u = sum.abs();
            Term { u, ..term }.tied(source, sum)
        });
        Self::from_terms(value, joined.chain(own).collect())
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
    /// What to draw in the lane: the levels and instants that the value was taken from.
    pub marks: Vec<Mark>,
}

/// A level or an instant in the record that a value was taken from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mark {
    /// A level, in the unit of the channel, from one time to another in seconds.
    Level {
        /// The level.
        level: f64,
        /// Begin.
        from_s: f64,
        /// End.
        to_s: f64,
    },
    /// An instant, in seconds, and the level there where it has one.
    Instant {
        /// When.
        at_s: f64,
        /// At which level.
        level: Option<f64>,
    },
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
