//! One edge of a pulse after IEEE 181: the instants at its reference levels, and what it does after.

use crate::data::{KeptEdge, ReferenceLevels};

/// Instants of an edge, as fractional sample positions within the samples that were looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transition {
    /// At the proximal level (10 % unless told).
    pub low: f64,
    /// At the mesial level (50 % unless told).
    pub middle: f64,
    /// At the distal level (90 % unless told).
    pub high: f64,
}

impl Transition {
    /// Transition duration, in samples: from the proximal to the distal instant, or back for a fall.
    pub fn duration(&self) -> f64 {
        (self.high - self.low).abs()
    }

    /// Where the transition ends: at the distal level for a rise, at the proximal one for a fall.
    pub fn end(&self) -> f64 {
        self.low.max(self.high)
    }
}

/// Excursions beyond both states, as shares of the amplitude, 0 or more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aberrations {
    /// Above the upper state.
    pub over: f64,
    /// Below the lower state.
    pub under: f64,
}

/// The instants at which samples that hold one edge cross the reference levels between two states
/// `(lower, upper)`, by linear interpolation (IEEE 181).
///
/// The mesial instant is sought first, the other two outward from it. Where noise crosses a level
/// several times, the mean of the first and the last of these crossings is taken. `None` where one of
/// the levels is not crossed, the states are not apart, or a sample between the instants is NaN.
///
/// ```
/// use firstpulse::data::ReferenceLevels;
/// let rise = [0.0, 0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 10.0];
/// let found = firstpulse::signal::transition(&rise, true, (0.0, 10.0), &ReferenceLevels::default());
/// let found = found.unwrap();
/// assert_eq!((found.low, found.middle, found.high), (1.5, 3.5, 5.5));
/// assert_eq!(found.duration(), 4.0);
/// ```
pub fn transition(
    values: &[f64],
    rises: bool,
    states: (f64, f64),
    reference: &ReferenceLevels,
) -> Option<Transition> {
    let middle = states.0 + reference.middle * (states.1 - states.0);
    let first = Edge { values, rises }.first_crossing(0, middle)?;
    outward(values, rises, states, reference, first)
}

/// The same for an edge that was kept: the mesial instant nearest to its known place counts.
pub fn transition_of(
    edge: &KeptEdge,
    states: (f64, f64),
    reference: &ReferenceLevels,
) -> Option<Transition> {
    let middle = states.0 + reference.middle * (states.1 - states.0);
    let near = edge.position - edge.first as f64;
    let sought = Edge {
        values: &edge.values,
        rises: edge.rises,
    };
    let nearest = sought
        .crossings(middle)
        .min_by(|a, b| (a - near).abs().total_cmp(&(b - near).abs()))?;
    outward(&edge.values, edge.rises, states, reference, nearest)
}

/// The instants around a mesial crossing.
fn outward(
    values: &[f64],
    rises: bool,
    states: (f64, f64),
    reference: &ReferenceLevels,
    middle: f64,
) -> Option<Transition> {
    let amplitude = states.1 - states.0;
    if amplitude.is_nan() || amplitude <= 0.0 {
        return None;
    }
    let level = |share: f64| states.0 + share * amplitude;
    let edge = Edge { values, rises };
    let start = middle as usize;
    let (before, after) = if rises {
        (reference.low, reference.high)
    } else {
        (reference.high, reference.low)
    };
    let from = edge.back_from(start, level(before))?;
    let to = edge.on_from(start, level(after))?;
    let middle = edge.around(start, level(reference.middle), (from, to));
    let whole = from as usize..(to as usize + 2).min(values.len());
    if values[whole].iter().any(|v| v.is_nan()) {
        return None;
    }
    let (low, high) = if rises { (from, to) } else { (to, from) };
    Some(Transition { low, middle, high })
}

/// What the samples reach beyond the states within `window` samples after the end of a transition
/// (IEEE 181 post-transition aberrations; the window has to be stated with the result).
///
/// NaN samples are left out; a window of less than one sample gives no excursion.
pub fn aberrations(
    values: &[f64],
    transition: &Transition,
    states: (f64, f64),
    window: f64,
) -> Aberrations {
    let amplitude = states.1 - states.0;
    let from = (transition.end().ceil().max(0.0) as usize).min(values.len());
    let to = ((transition.end() + window).floor().max(0.0) as usize + 1).clamp(from, values.len());
    let part = values[from..to].iter().filter(|v| v.is_finite());
    let (over, under) = part.fold((0.0_f64, 0.0_f64), |(over, under), v| {
        (over.max(v - states.1), under.max(states.0 - v))
    });
    Aberrations {
        over: over / amplitude,
        under: under / amplitude,
    }
}

/// Mean of edges laid over each other on their own instants at `reference.middle`, in steps of one
/// sample interval: noise averages out of it, and its instants lie at zero.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanEdge {
    /// Mean of the samples whose distance from the edge rounds to `k − before`.
    pub values: Vec<f64>,
    /// Place of the edge in `values`.
    pub before: usize,
    /// Edges laid over each other.
    pub count: usize,
}

/// Lays edges of one direction over each other. `None` below two edges that cross the level.
pub fn mean_edge(
    edges: &[&KeptEdge],
    states: (f64, f64),
    reference: &ReferenceLevels,
) -> Option<MeanEdge> {
    let placed: Vec<(&KeptEdge, f64)> = edges
        .iter()
        .filter_map(|e| Some((*e, transition_of(e, states, reference)?.middle)))
        .collect();
    if placed.len() < 2 {
        return None;
    }
    let reach = |f: fn(f64, f64) -> f64, of: &dyn Fn(&KeptEdge, f64) -> f64| {
        placed
            .iter()
            .map(|(e, at)| of(e, *at))
            .reduce(f)
            .unwrap_or(0.0)
    };
    // only the part that every edge has
    let before = reach(f64::min, &|_, at| at).floor().max(0.0) as usize;
    let after = reach(f64::min, &|e, at| e.values.len() as f64 - 1.0 - at)
        .floor()
        .max(0.0) as usize;
    let mut sums = vec![(0.0, 0_u32); before + after + 1];
    for (edge, at) in &placed {
        for (index, value) in edge.values.iter().enumerate() {
            let place = (index as f64 - at).round() + before as f64;
            if value.is_finite() && place >= 0.0 && (place as usize) < sums.len() {
                let cell = &mut sums[place as usize];
                *cell = (cell.0 + value, cell.1 + 1);
            }
        }
    }
    Some(MeanEdge {
        values: sums.iter().map(|(sum, n)| sum / f64::from(*n)).collect(),
        before,
        count: placed.len(),
    })
}

struct Edge<'a> {
    values: &'a [f64],
    rises: bool,
}

impl Edge<'_> {
    /// Is the sample past a level, in the direction of the edge?
    fn past(&self, index: usize, level: f64) -> bool {
        if self.rises {
            self.values[index] >= level
        } else {
            self.values[index] <= level
        }
    }

    fn between(&self, index: usize, level: f64) -> f64 {
        let (a, b) = (self.values[index], self.values[index + 1]);
        index as f64 + ((level - a) / (b - a)).clamp(0.0, 1.0)
    }

    /// First crossing in the direction of the edge at or after `from`.
    fn first_crossing(&self, from: usize, level: f64) -> Option<f64> {
        (from..self.values.len().saturating_sub(1))
            .find(|i| !self.past(*i, level) && self.past(i + 1, level))
            .map(|i| self.between(i, level))
    }

    /// All crossings in the direction of the edge.
    fn crossings(&self, level: f64) -> impl Iterator<Item = f64> {
        (0..self.values.len().saturating_sub(1))
            .filter(move |i| !self.past(*i, level) && self.past(i + 1, level))
            .map(move |i| self.between(i, level))
    }

    /// The crossing of `level` before the mesial one: mean of the last one and the first of the same
    /// bout of noise.
    fn back_from(&self, start: usize, level: f64) -> Option<f64> {
        let last = (0..=start)
            .rev()
            .find(|i| !self.past(*i, level) && self.past(i + 1, level))?;
        Some(self.around(last, level, (0.0, self.values.len() as f64)))
    }

    /// The crossing of `level` after the mesial one.
    fn on_from(&self, start: usize, level: f64) -> Option<f64> {
        let first = self.first_crossing(start, level)?;
        Some(self.around(first as usize, level, (0.0, self.values.len() as f64)))
    }

    /// Mean of the first and the last crossing of a level near sample `index`: noise may cross it
    /// several times in a row. A bout ends where three samples in a row stay on one side.
    fn around(&self, index: usize, level: f64, (from, to): (f64, f64)) -> f64 {
        let crosses = |i: usize| !self.past(i, level) && self.past(i + 1, level);
        let low = from.max(0.0) as usize;
        let high = (to.ceil() as usize).min(self.values.len().saturating_sub(1));
        let (mut first, mut last) = (index, index);
        let mut i = index;
        while i > low && first - i < 4 {
            i -= 1;
            if crosses(i) {
                first = i;
            }
        }
        i = index;
        while i + 1 < high && i - last < 4 {
            i += 1;
            if crosses(i) {
                last = i;
            }
        }
        0.5 * (self.between(first, level) + self.between(last, level))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEN_NINETY: ReferenceLevels = ReferenceLevels {
        low: 0.1,
        middle: 0.5,
        high: 0.9,
    };

    #[test]
    fn a_fall_is_a_rise_backwards() {
        let rise: Vec<f64> = (0..200)
            .map(|i| 5.0 / (1.0 + (-(f64::from(i) - 80.3) / 6.0).exp()))
            .collect();
        let fall: Vec<f64> = rise.iter().rev().copied().collect();
        let up = transition(&rise, true, (0.0, 5.0), &TEN_NINETY).unwrap();
        let down = transition(&fall, false, (0.0, 5.0), &TEN_NINETY).unwrap();
        // linear interpolation is off by Ts² y″ / (8 y′) at most: 0.8/6/8 at either end
        assert!((up.middle - 80.3).abs() < 1e-3);
        assert!(
            (up.duration() - 12.0 * 9.0_f64.ln()).abs() < 0.035,
            "{up:?}"
        );
        assert!((down.middle - (199.0 - up.middle)).abs() < 1e-9);
        assert!((down.duration() - up.duration()).abs() < 1e-9);
    }

    #[test]
    fn levels_that_are_not_crossed_and_missing_samples_give_none() {
        let half: Vec<f64> = (0..50).map(|i| f64::from(i) * 0.02).collect();
        assert_eq!(transition(&half, true, (0.0, 5.0), &TEN_NINETY), None);
        assert_eq!(transition(&half, true, (1.0, 1.0), &TEN_NINETY), None);
        assert_eq!(transition(&[], true, (0.0, 1.0), &TEN_NINETY), None);
        let mut gap: Vec<f64> = (0..50).map(f64::from).collect();
        gap[20] = f64::NAN;
        assert_eq!(transition(&gap, true, (0.0, 49.0), &TEN_NINETY), None);
    }

    #[test]
    fn overshoot_counts_only_within_its_window() {
        let mut values = vec![0.0, 0.0, 1.0, 1.0, 1.0, 1.3, 1.0, 1.0, 1.0, 1.0, 1.5, 1.0];
        let found = transition(&values, true, (0.0, 1.0), &TEN_NINETY).unwrap();
        let seen = aberrations(&values, &found, (0.0, 1.0), 5.0);
        assert!((seen.over - 0.3).abs() < 1e-12 && seen.under.abs() < 1e-12);
        values[3] = f64::NAN;
        assert!((aberrations(&values, &found, (0.0, 1.0), 9.0).over - 0.5).abs() < 1e-12);
    }
}
