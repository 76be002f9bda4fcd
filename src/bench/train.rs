//! The pulses of a pin with two states: their levels, how well its edges are resolved, and its cycles.

use crate::data::{KeptEdge, Pulses, ReferenceLevels};
use crate::signal::{Transition, levels, stats, transition_of};

use super::trace::Trace;

/// Fewest samples from the proximal to the distal level for the instants of an edge to be more than
/// "between two samples": a step with one sample on it shows 1.6 of them.
pub(super) const RESOLVED_SAMPLES: f64 = 1.7;

/// A pin that pulses between two states.
pub(super) struct Train<'a> {
    pub(super) trace: Trace<'a>,
    pub(super) pulses: &'a Pulses,
    pub(super) reference: ReferenceLevels,
}

impl<'a> Train<'a> {
    /// The pulses of a trace; `None` where it has no two states apart from each other.
    pub(super) fn of(trace: Trace<'a>, reference: ReferenceLevels) -> Option<Self> {
        let pulses = trace.pulses().filter(|p| p.gap)?;
        Some(Self {
            trace,
            pulses,
            reference,
        })
    }

    /// State levels in raw values, the lower first.
    pub(super) fn states(&self) -> (f64, f64) {
        (self.pulses.low, self.pulses.high)
    }

    /// Standard uncertainty of either state level apart from gain and offset, in raw values: what the
    /// code step hides, how far the state leans to one side, the noise of so many samples.
    pub(super) fn u_state(&self) -> f64 {
        let facts = self.trace.facts();
        let step = facts.resolution.unwrap_or(0.0);
        let hidden = if facts.noise < 0.4 * step {
            0.5 * step
        } else {
            0.0
        };
        let lean = |level| levels::lean(&facts.histogram, level, facts.noise, facts.resolution);
        let leans = lean(self.pulses.low)
            .abs()
            .max(lean(self.pulses.high).abs());
        let flat = hidden.hypot(leans) / 3.0_f64.sqrt();
        flat.hypot(facts.noise / (self.trace.len() as f64 / 10.0).max(1.0).sqrt())
    }

    /// The edges of one direction around which samples were kept. A negative probe factor turns a
    /// rise of the record into a fall at the pin.
    pub(super) fn kept(&self, rises: bool) -> impl Iterator<Item = &'a KeptEdge> {
        let raw = rises == (self.trace.known.gain > 0.0);
        self.pulses.kept.iter().filter(move |e| e.rises == raw)
    }

    /// Positions of all edges of one direction at the pin.
    pub(super) fn edges(&self, rises: bool) -> &'a [f64] {
        if rises == (self.trace.known.gain > 0.0) {
            &self.pulses.rising
        } else {
            &self.pulses.falling
        }
    }

    /// The transitions of the kept edges between two states, in samples from the first kept one.
    pub(super) fn transitions(
        &self,
        rises: bool,
        states: (f64, f64),
    ) -> Vec<(&'a KeptEdge, Transition)> {
        self.kept(rises)
            .filter_map(|e| Some((e, transition_of(e, states, &self.reference)?)))
            .collect()
    }

    /// Median transition duration of one direction, in samples; NaN where no edge could be followed.
    pub(super) fn median_samples(&self, rises: bool) -> f64 {
        let found = self.transitions(rises, self.states());
        let mut durations: Vec<f64> = found.iter().map(|(_, t)| t.duration()).collect();
        stats::median(&mut durations)
    }

    /// Do the edges of one direction take samples enough to be more than a step between two?
    pub(super) fn resolved(&self, rises: bool) -> bool {
        self.median_samples(rises) >= RESOLVED_SAMPLES
    }

    /// How far the mesial instants lie behind the edges of the facts, where those were taken at another
    /// level, as a mean over the kept edges; 0 where the level is the same, or the edges are steps.
    pub(super) fn shift(&self, rises: bool) -> f64 {
        let (low, high) = self.states();
        let wanted = low + self.reference.middle * (high - low);
        if (wanted - self.pulses.threshold).abs() <= SAME_LEVEL * (high - low) {
            return 0.0;
        }
        let mean = stats::summary(&self.shifts(rises, (low, high))).mean;
        if mean.is_finite() { mean } else { 0.0 }
    }

    fn shifts(&self, rises: bool, states: (f64, f64)) -> Vec<f64> {
        if !self.resolved(rises) {
            return Vec::new();
        }
        let found = self.transitions(rises, states);
        let behind = |(e, t): &(&KeptEdge, Transition)| e.first as f64 + t.middle - e.position;
        found.iter().map(behind).collect()
    }

    /// Standard uncertainty of the mesial instants of one direction as a whole, in samples: by how much
    /// they move when the states are off by theirs, and where they were shifted, how well that is known.
    pub(super) fn u_shift(&self, rises: bool) -> f64 {
        let (low, high) = self.states();
        let u = self.u_state();
        let here = stats::summary(&self.shifts(rises, (low, high)));
        if here.count == 0 {
            return 0.0;
        }
        let moved = |states| stats::summary(&self.shifts(rises, states)).mean - here.mean;
        let by_states = moved((low + u, high)).hypot(moved((low, high + u)));
        let shifted = self.shift(rises).abs() > 0.0;
        let of_mean = if shifted && here.count > 1 {
            here.deviation / (here.count as f64).sqrt()
        } else {
            0.0
        };
        by_states.hypot(of_mean)
    }
}

/// Levels closer than this share of the amplitude are the same.
const SAME_LEVEL: f64 = 1e-6;
