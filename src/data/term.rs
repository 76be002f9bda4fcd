//! One contribution to the uncertainty of a value: its size, its shape, and what it is one error with.

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

    /// What it means, in words.
    pub fn words(self) -> &'static str {
        match self {
            Shape::Normal => "scatters about zero",
            Shape::Rectangular => "anywhere between two bounds",
            Shape::Arcsine => "swings between two bounds",
            Shape::Student { .. } => "from the scatter of few results",
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
    /// Counts of the multimeter in one reading; the number names the range that was tied to it, and the
    /// reading.
    MeterReading(u64, usize),
    /// Counts by which the multimeter is off in all readings that were tied to one range: its zero.
    MeterZero(u64),
    /// Mean of the flat piece that the reading belongs to.
    FlatPiece(u64, usize),
    /// How far the ripple of a channel reaches; the number is that of its range.
    Ripple(u64),
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
    pub(super) fn signed(&self) -> f64 {
        if self.tie.is_some_and(|tie| tie.falls) {
            -self.u
        } else {
            self.u
        }
    }
}
