//! A measured value with its uncertainty budget, or the reason why there is none.

use super::distribution::Distribution;
use super::quantity::Quantity;
use super::term::{Shape, Term, TieSource};

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
        // a sum of nothing is −0
        let u = terms.iter().fold(0.0, |sum, t| sum + t.u * t.u).sqrt();
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
    /// independent terms. Terms whose effects cancel to less than a millionth are dropped.
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
        let left = shared.into_iter().filter(|s| s.2.abs() > 1e-6 * s.3);
        let joined = left.map(|(source, term, sum, _)| {
            let u = sum.abs();
            Term { u, ..term }.tied(source, sum)
        });
        Self::from_terms(value, joined.chain(own).collect())
    }

    /// The value with those of its terms tied whose source `keeps` says so of; the others are errors of its own.
    ///
    /// ```
    /// use firstpulse::data::{Term, TieSource, Value};
    /// let tied = |source| Term::within("gain", 0.1).tied(source, 1.0);
    /// let value = Value::from_terms(8.0, vec![tied(TieSource::Gain(1)), tied(TieSource::Ripple(1))]);
    /// let loosened = value.loosened(|source| source == TieSource::Gain(1));
    /// assert!(loosened.terms[0].tie.is_some() && loosened.terms[1].tie.is_none());
    /// assert_eq!(loosened.u95, value.u95);
    /// ```
    pub fn loosened(&self, keeps: impl Fn(TieSource) -> bool) -> Self {
        let mut value = self.clone();
        for term in &mut value.terms {
            term.tie = term.tie.filter(|tie| keeps(tie.source));
        }
        value
    }

    /// `function` of other values, its change with each taken over ± that value's standard uncertainty
    /// (JCGM 100:2008, 5.1.3 note 2), terms of one shared error added with their signs. NaN where the
    /// function gives none.
    ///
    /// ```
    /// use firstpulse::data::{Term, Value};
    /// let (a, b) = (Value::from_terms(8.0, vec![Term::normal("a", 0.08)]), Value::from_terms(2.0, vec![]));
    /// let ratio = Value::of(|x| x[0] / x[1], &[&a, &b]);
    /// assert_eq!(ratio.value, 4.0);
    /// assert!((ratio.u - 0.04).abs() < 1e-12);
    /// ```
    pub fn of(function: impl Fn(&[f64]) -> f64, inputs: &[&Value]) -> Self {
        let at: Vec<f64> = inputs.iter().map(|v| v.value).collect();
        let slope = |index: usize| {
            let step = inputs[index].u;
            if step <= 0.0 {
                return 0.0;
            }
            let moved = |by: f64| {
                let mut there = at.clone();
                there[index] += by;
                function(&there)
            };
            (moved(step) - moved(-step)) / (2.0 * step)
        };
        let parts: Vec<(f64, &Value)> = inputs
            .iter()
            .enumerate()
            .map(|(i, v)| (slope(i), *v))
            .collect();
        Self::linear(function(&at), &parts)
    }

    /// The same with the single results that it was made from.
    pub fn with_singles(mut self, singles: Vec<f64>) -> Self {
        self.count = singles.len().max(1);
        self.singles = singles;
        self
    }

    /// The budget as it is read: terms of one name in one line, the largest line first. Terms that are
    /// one error ([`Term::tie`] with the same source) add with their signs, all others as the root of
    /// the sum of squares (JCGM 100:2008, 5.1 and 5.2). Empty where there is no term.
    ///
    /// ```
    /// use firstpulse::data::{Term, Value};
    /// let noise = |u: f64| Term::normal("noise", u);
    /// let value = Value::from_terms(6.0, vec![noise(0.3), Term::within("resolution", 0.1), noise(0.4)]);
    /// let budget = value.budget();
    /// assert_eq!((budget[0].name, budget[0].count, budget.len()), ("noise", 2, 2));
    /// assert!((budget[0].u - 0.5).abs() < 1e-12);
    /// ```
    pub fn budget(&self) -> Vec<BudgetLine> {
        let mut names: Vec<&'static str> = Vec::new();
        for term in &self.terms {
            if !names.contains(&term.name) {
                names.push(term.name);
            }
        }
        let named = |name| self.terms.iter().filter(move |t| t.name == name);
        let mut lines: Vec<BudgetLine> = names
            .into_iter()
            .filter_map(|name| BudgetLine::of(named(name)))
            .collect();
        let all: f64 = lines.iter().map(|line| line.u * line.u).sum();
        for line in &mut lines {
            line.share = line.u * line.u / all;
        }
        lines.sort_by(|a, b| b.u.total_cmp(&a.u));
        lines
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

/// All terms of one name in the budget of a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BudgetLine {
    /// What contributes.
    pub name: &'static str,
    /// Their joint standard uncertainty, in the unit of the value.
    pub u: f64,
    /// Its share of the variance of all lines, 0 to 1.
    pub share: f64,
    /// Shape of their distributions; `None` where they have several.
    pub shape: Option<Shape>,
    /// Is one of them one error with that of other values?
    pub shared: bool,
    /// How many terms.
    pub count: usize,
}

impl BudgetLine {
    /// The line of terms of one name, its share left open; `None` of none.
    fn of<'a>(terms: impl Iterator<Item = &'a Term> + Clone) -> Option<Self> {
        let first = terms.clone().next()?;
        let mut variance = 0.0;
        let mut tied: Vec<(TieSource, f64)> = Vec::new();
        for term in terms.clone() {
            match term.tie {
                None => variance += term.u * term.u,
                Some(tie) => match tied.iter_mut().find(|(source, _)| *source == tie.source) {
                    Some((_, sum)) => *sum += term.signed(),
                    None => tied.push((tie.source, term.signed())),
                },
            }
        }
        variance += tied.iter().map(|(_, sum)| sum * sum).sum::<f64>();
        let same = terms.clone().all(|t| t.shape.id() == first.shape.id());
        Some(Self {
            name: first.name,
            u: variance.sqrt(),
            share: 0.0,
            shape: same.then_some(first.shape),
            shared: !tied.is_empty(),
            count: terms.count(),
        })
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
    /// What should be said beside it, as sentences: outliers left out, a meter that would read another
    /// value.
    pub remarks: Vec<String>,
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
