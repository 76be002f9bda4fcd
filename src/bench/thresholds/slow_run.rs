//! The levels between two events as straight pieces, with slow ripple or without.

use super::ripple;
use super::smooth::{self, Laid};

/// Fewest samples.
const FEWEST: usize = 96;
/// Samples of a mean, in which the frequency is looked for.
const TOGETHER: usize = 4;
/// Cosine and sine that the pieces leave so little of are the pieces.
const LEAST_APART: f64 = 1e-6;
/// Most bends of a course between two events.
const MOST_BENDS: usize = 16;

/// A run with its noise.
pub(super) struct Ready<'a> {
    pub run: &'a [f64],
    sigma: f64,
    /// Means of a few samples each, which end with the run.
    means: Vec<f64>,
}

/// Ripple of one frequency at the end of a run.
pub(super) struct Fit {
    pub amplitude: f64,
    /// What noise leaves open of the amplitude, and of what it gives at an instant by its phase: a standard
    /// uncertainty.
    pub u: f64,
    /// The share of amplitude and phase that the places of the bends leave open: a standard uncertainty.
    pub open: f64,
    /// At the last sample, as of a cosine.
    pub phase: f64,
}

impl<'a> Ready<'a> {
    /// `None` for a short run, one with a gap, and one without any noise.
    pub fn new(run: &'a [f64], code: f64) -> Option<Self> {
        if run.len() < FEWEST || run.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let sigma = ripple::noise_square(run)?.sqrt();
        let sigma = sigma.max(code / 12.0_f64.sqrt());
        let (groups, _) = run[run.len() % TOGETHER..].as_chunks::<TOGETHER>();
        let mean = |group: &[f64; TOGETHER]| group.iter().sum::<f64>() / TOGETHER as f64;
        let means = groups.iter().map(mean).collect();
        (sigma > 0.0).then_some(Ready { run, sigma, means })
    }

    fn sigma_of_means(&self) -> f64 {
        self.sigma / (TOGETHER as f64).sqrt()
    }

    /// Straight pieces beside ripple of so many cycles a sample, or without any.
    fn laid(&self, cycles: Option<f64>) -> Laid {
        let of = |c: f64| waves(c * TOGETHER as f64, self.means.len()).to_vec();
        let shapes = cycles.map_or(Vec::new(), of);
        smooth::laid(&self.means, self.sigma_of_means(), &shapes, MOST_BENDS)
    }

    /// Logarithm of the likelihood of the means, less what bends and ripple cost: amplitude and phase as much as a
    /// bend.
    pub fn said(&self, cycles: Option<f64>) -> f64 {
        let laid = self.laid(cycles);
        let square = smooth::dot(&laid.left, &laid.left) / self.sigma_of_means().powi(2);
        let costs = laid.bends.len() + usize::from(cycles.is_some());
        -0.5 * square - Laid::price(self.means.len()) * costs as f64
    }

    /// Least squares of ripple and straight pieces in all samples; `None` where the pieces could be it.
    pub fn fit(&self, cycles: f64) -> Option<Fit> {
        let samples = self.run.len();
        let from = (samples % TOGETHER) as f64 + 0.5 * (TOGETHER as f64 - 1.0);
        let ramp = |bend: &f64| smooth::ramp(bend * TOGETHER as f64 + from, samples);
        let bends = self.laid(Some(cycles)).bends;
        let ramps: Vec<Vec<f64>> = bends.iter().map(ramp).collect();
        let pieces = smooth::laid(self.run, self.sigma, &ramps, 0);
        let [cosine, sine] = waves(cycles, samples).map(|wave| pieces.without(wave));
        let (cc, cs, ss) = (
            smooth::dot(&cosine, &cosine),
            smooth::dot(&cosine, &sine),
            smooth::dot(&sine, &sine),
        );
        let (c, s) = (smooth::dot(&cosine, self.run), smooth::dot(&sine, self.run));
        let whole = cc * ss - cs * cs;
        let (a, b) = ((ss * c - cs * s) / whole, (cc * s - cs * c) / whole);
        let u = self.sigma * (0.5 * (cc + ss) / whole).sqrt();
        (whole > LEAST_APART * cc * ss).then(|| Fit {
            amplitude: (a * a + b * b - 2.0 * u * u).max(0.0).sqrt(),
            u,
            open: open(bends.len() as f64 / (cycles * samples as f64)),
            phase: b.atan2(a),
        })
    }
}

/// What so many bends a cycle leave open: little at one in two cycles, a tenth at one in each (drawn hands).
fn open(bends_per_cycle: f64) -> f64 {
    (0.07 * bends_per_cycle.powi(2)).min(0.1)
}

/// Cosine and sine of so many cycles a sample, counted back from the last one.
fn waves(cycles: f64, count: usize) -> [Vec<f64>; 2] {
    let turn = |i: usize| std::f64::consts::TAU * cycles * (count - 1 - i) as f64;
    [
        (0..count).map(|i| turn(i).cos()).collect(),
        (0..count).map(|i| turn(i).sin()).collect(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_tells_nothing_is_no_run() {
        assert!(Ready::new(&[8.0; 50], 0.1).is_none());
        assert!(Ready::new(&[8.0; 200], 0.0).is_none());
        let mut gap = [8.0; 200];
        gap[70] = f64::NAN;
        assert!(Ready::new(&gap, 0.1).is_none());
    }
}
