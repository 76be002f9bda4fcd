//! Where the pulse of current sense ends, by its fall.

use crate::signal::Line;

/// The fall behind a pulse as that of the filter of the pin (common practice: one R and one C).
pub(super) struct Decay<'a> {
    /// Means of the parts of a cycle.
    pub means: &'a [f64],
    /// Level between the pulses.
    pub rest: f64,
    /// Standard deviation of a mean.
    pub noise: f64,
    /// Length of a part, in seconds.
    pub part_s: f64,
}

/// How far from what straight lines say an exponential may put the end of a pulse, in parts.
const BESIDE: f64 = 0.5;
/// Half-width that the fall leaves at least, in parts: its shape, and samples that lie beside their part.
const SHAPE: f64 = 0.4;

/// From the first part below the line to one that holds nothing but the fall.
const CLEAR: usize = 2;
/// Most parts that the time constant is taken over, and the share of the level that is left at their end.
const MOST_PARTS: usize = 12;
const LEAST_LEFT: f64 = 0.25;

impl Decay<'_> {
    /// Where it begins, in parts of the cycle, and the half-width within which: the parts after the first that
    /// lie below the line give the time constant, and the exponential is followed back to the line. `None`
    /// where the fall takes too few parts, or straight lines contradict.
    pub fn begin(
        &self,
        line: &Line,
        straight: (f64, f64),
        from: usize,
        below: f64,
    ) -> Option<(f64, f64)> {
        let part = |k: usize| self.means[k % self.means.len()];
        let middle = |k: usize| (k as f64 + 0.5) * self.part_s;
        let first = (from..self.means.len()).find(|k| line.at(middle(*k)) - part(*k) > below)?;
        // each part holds samples that lie up to half a part beside it: the next may not have fallen whole
        let whole = first + CLEAR;
        let level = |k: usize| part(whole + k) - self.rest;
        let near = level(0);
        let low = (8.0 * self.noise).max(LEAST_LEFT * near);
        let far = (1..=MOST_PARTS).take_while(|k| level(*k) > low).last()?;
        let along = (near / level(far)).ln() / far as f64;
        // mean of the exponential over a part, against what it is as the part begins
        let at_begin = near * along / -(-along).exp_m1();
        let mut begin = straight.0;
        let mut back = 0.0;
        for _ in 0..8 {
            let height = line.at(begin * self.part_s) - self.rest;
            back = (height / at_begin).ln() / along;
            begin = whole as f64 - back;
        }
        let of_level = self.noise / near;
        let of_slope = of_level.hypot(self.noise / level(far)) / far as f64;
        let noise = of_level.hypot(back * of_slope) / along;
        let (centre, half) = straight;
        ((begin - centre).abs() <= half + BESIDE)
            .then(|| (begin, SHAPE.hypot(3.0_f64.sqrt() * noise)))
    }
}

/// Where the pulse ends, in parts of the cycle from its begin, and the half-width within which: at the
/// first part that lies well below the line. A fall within one part shows there the share that has
/// passed; one over several parts is followed back to the line.
pub(super) fn end_of(
    means: &[f64],
    line: &Line,
    part_s: f64,
    from: usize,
    below: f64,
) -> (f64, f64) {
    let drop = |k: usize| line.at((k as f64 + 0.5) * part_s) - means[k % means.len()];
    let Some(k) = (from..means.len()).find(|k| drop(*k) > below) else {
        return (means.len() as f64, 0.5);
    };
    let (here, next) = (drop(k), drop(k + 1).max(drop(k)));
    let sudden = k as f64 + 1.0 - here / next;
    let steady = (k as f64 + 0.5 - here / (next - here).max(1e-9 * next)).max(k as f64 - 1.0);
    let (early, late) = (sudden.min(steady), sudden.max(steady));
    (0.5 * (early + late), (0.5 * (late - early)).max(0.25))
}

/// The last part of a circular cycle before its steepest fall (over two parts).
pub(super) fn last_of_fall(means: &[f64]) -> usize {
    let n = means.len();
    let fall = |k: usize| means[k] - means[(k + 2) % n];
    let steepest = (0..n)
        .max_by(|a, b| fall(*a).total_cmp(&fall(*b)))
        .unwrap_or(0);
    // the part from which it falls may still hold some of the fall
    if means[steepest] < means[(steepest + n - 1) % n] {
        (steepest + n - 1) % n
    } else {
        steepest
    }
}
