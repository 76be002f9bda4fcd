//! Edges laid over each other on their mesial instants, sample by sample: many edges that each hold few
//! samples show their shape between the samples.

use crate::data::{KeptEdge, ReferenceLevels};

use super::parabola::Parabola;
use super::transitions::transition_of;

/// Samples of many edges at their distance from the mesial instant, in order of distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// Distance in samples, and value.
    pub points: Vec<(f64, f64)>,
    /// Edges laid over each other.
    pub edges: usize,
    rises: bool,
}

/// An instant of an overlay, in samples from the mesial one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instant {
    /// When.
    pub at: f64,
    /// Standard uncertainty from the scatter of the points around it.
    pub u: f64,
}

/// Half-width of the stretch around a level that is fitted, as a share of the transition duration: the
/// step response of an RC has its corner at a twentieth of it before the 10 % level, a straight edge
/// at an eighth.
const STRETCH: f64 = 0.05;
/// Widest empty stretch among the points of a sample interval.
const WIDEST_GAP: f64 = 0.3;
/// Fewest points of it.
const FEWEST: usize = 8;

impl Overlay {
    /// Lays edges of one direction over each other. `None` below two that cross the levels.
    pub fn of(
        edges: &[&KeptEdge],
        states: (f64, f64),
        reference: &ReferenceLevels,
    ) -> Option<Self> {
        let mut points = Vec::new();
        let mut used = 0;
        for edge in edges {
            let Some(found) = transition_of(edge, states, reference) else {
                continue;
            };
            used += 1;
            let placed = edge
                .values
                .iter()
                .enumerate()
                .filter(|(_, v)| v.is_finite());
            points.extend(placed.map(|(i, v)| (i as f64 - found.middle, *v)));
        }
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        (used >= 2).then_some(Self {
            points,
            edges: used,
            rises: edges.first()?.rises,
        })
    }

    /// The instant at which the edge passes `level`, near `guess`; `duration` is that of the transition.
    /// A parabola through the points around it; `None` where they do not pass the level once, or where the
    /// edges were sampled in step and leave gaps.
    pub fn instant(&self, level: f64, guess: f64, duration: f64) -> Option<Instant> {
        if !self.dense(guess) {
            return None;
        }
        let mut at = guess;
        let mut found = None;
        let mut half = STRETCH * duration;
        // the points nearest to the guess, as many as a fit needs
        for _ in 0..10 {
            let (from, to) = self.around(at, half);
            if to - from < FEWEST {
                half *= 1.5;
                continue;
            }
            let fit = Parabola::fit(&self.points[from..to]);
            let passed = fit.and_then(|fit| {
                let next = fit.crossing(level, at)?;
                let along = (fit.slope(next) > 0.0) == self.rises;
                (along && (next - at).abs() < 3.0 * half + 0.5).then_some((fit, next))
            });
            let Some((fit, next)) = passed else {
                // samples in step with the edges, or much noise: a longer stretch
                half *= 1.5;
                continue;
            };
            let u = fit.scatter / fit.slope(next).abs() * 1.5 / (fit.count as f64).sqrt();
            found = Some(Instant { at: next, u });
            if (next - at).abs() < 0.1 * half {
                break;
            }
            at = next;
        }
        found
    }

    /// Do the edges fill the sample interval around a place? Sampled in step, they all show the same
    /// few points of it.
    fn dense(&self, at: f64) -> bool {
        let (from, to) = self.around(at, 0.6);
        let apart = |w: &[(f64, f64)]| w[1].0 - w[0].0;
        let widest = self.points[from..to]
            .windows(2)
            .map(apart)
            .fold(0.0, f64::max);
        to - from >= FEWEST && widest < WIDEST_GAP
    }

    fn around(&self, at: f64, half: f64) -> (usize, usize) {
        (
            self.points.partition_point(|p| p.0 < at - half),
            self.points.partition_point(|p| p.0 <= at + half),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Straight edges of three samples between the states, each sampled at another phase.
    #[test]
    fn edges_of_few_samples_give_their_duration() {
        let levels = ReferenceLevels::default();
        for length in [2.2, 3.0, 5.0] {
            let edges: Vec<KeptEdge> = (0..24)
                .map(|k| {
                    let begin = 10.0 + (f64::from(k) * 0.618_034).fract();
                    let value = |i: i32| ((f64::from(i) - begin) / length).clamp(0.0, 1.0) * 12.0;
                    KeptEdge {
                        rises: true,
                        position: begin + 0.5 * length,
                        first: 0,
                        values: (0..30).map(value).collect(),
                    }
                })
                .collect();
            let all: Vec<&KeptEdge> = edges.iter().collect();
            let overlay = Overlay::of(&all, (0.0, 12.0), &levels).unwrap();
            let guess = 0.4 * length;
            let from = overlay.instant(1.2, -guess, 0.8 * length).unwrap();
            let to = overlay.instant(10.8, guess, 0.8 * length).unwrap();
            assert!(
                (to.at - from.at - 0.8 * length).abs() < 0.04,
                "{length}: {from:?} {to:?}"
            );
        }
    }
}
