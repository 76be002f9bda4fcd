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
    /// Widest empty stretch of the sample interval around it, in samples.
    pub gap: f64,
}

/// Half-width of the stretch around a level that is fitted, as a share of the transition duration: the
/// step response of an RC has its corner at a twentieth of it before the 10 % level, a straight edge
/// at an eighth.
const STRETCH: f64 = 0.05;
/// Half-width of it in empty stretches, where those are wide: so many hold three places at which the
/// edges were sampled, and a parabola needs three.
const STRETCH_GAPS: f64 = 1.5;
/// Widest empty stretch, in samples: edges sampled at two places of the sample interval leave half of it.
const WIDEST_GAP: f64 = 0.6;
/// The same as a share of the transition duration: below it, the error stays under an eighth of the
/// stretch for straight, RC, Gaussian and raised-cosine edges of two samples and more (by simulation).
const WIDEST_SHARE: f64 = 0.15;
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
        let gap = self.gap(guess)?;
        if gap > WIDEST_GAP.min(WIDEST_SHARE * duration) {
            return None;
        }
        let mut at = guess;
        let mut found = None;
        let mut half = (STRETCH * duration).max(STRETCH_GAPS * gap);
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
            found = Some(Instant { at: next, u, gap });
            if (next - at).abs() < 0.1 * half {
                break;
            }
            at = next;
        }
        found
    }

    /// Widest empty stretch of the sample interval around a place, and a tenth on either side of it:
    /// edges sampled in step all show the same few points of it. `None` below the points of a fit.
    fn gap(&self, at: f64) -> Option<f64> {
        const HALF: f64 = 0.6;
        let (from, to) = self.around(at, HALF);
        let places = self.points[from..to].iter().map(|p| p.0 - at);
        let (mut last, mut widest) = (-HALF, 0.0_f64);
        for place in places.chain([HALF]) {
            widest = widest.max(place - last);
            last = place;
        }
        (to - from >= FEWEST).then_some(widest)
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
    /// RC edges of 8.8 samples, sampled at so many places of the sample interval, seven edges each.
    fn in_step(places: u32) -> Vec<KeptEdge> {
        let edge = |k: u32| {
            let begin = 20.0 + 0.3 + f64::from(k % places) / f64::from(places);
            let value = |i: i32| 12.0 * (1.0 - (-(f64::from(i) - begin).max(0.0) / 4.0).exp());
            KeptEdge {
                rises: true,
                position: begin + 4.0 * 2.0_f64.ln(),
                first: 0,
                values: (0..100).map(value).collect(),
            }
        };
        (0..7 * places).map(edge).collect()
    }

    /// Many points at one place of the sample interval tell no more than one: no duration from them.
    /// Closed form of an RC: 10 % at τ ln(1/0.9), 90 % at τ ln 10, half of it at τ ln 2.
    #[test]
    fn edges_sampled_in_step_are_not_dense() {
        let levels = ReferenceLevels::default();
        let duration = 4.0 * 9.0_f64.ln();
        let (low, high) = (4.0 * (0.5_f64 / 0.9).ln(), 4.0 * 5.0_f64.ln());
        for (places, within) in [(1, None), (2, Some(0.05)), (3, Some(0.03)), (5, Some(0.01))] {
            let edges = in_step(places);
            let all: Vec<&KeptEdge> = edges.iter().collect();
            let overlay = Overlay::of(&all, (0.0, 12.0), &levels).unwrap();
            let from = overlay.instant(1.2, low, duration);
            let to = overlay.instant(10.8, high, duration);
            let found = from.zip(to).map(|(from, to)| to.at - from.at - duration);
            assert_eq!(found.is_some(), within.is_some(), "{places}");
            assert!(
                found.unwrap_or(0.0).abs() <= within.unwrap_or(0.0),
                "{places}: {found:?}"
            );
        }
    }
}
