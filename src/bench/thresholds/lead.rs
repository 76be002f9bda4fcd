//! The stretch of VCC before an event.

use crate::data::{Event, EventKind};
use crate::signal::stats;

use super::gap::{self, Gap};
use super::sampled::Sampled;
use super::spikes::{self, Spikes};
use super::stairs::{self, Stair};
use super::tone::Tone;

/// Volts over which VCC counts as straight before an event.
const STRAIGHT_V: f64 = 1.0;
/// Volts over which ripple is looked for.
const LOOKED_V: f64 = 2.5;
/// Samples whose median stands for VCC there: dips within pulses are no move of it.
const MEDIAN_OF: usize = 15;

/// VCC before one event.
#[derive(Debug, Clone)]
pub(super) struct Lead {
    pub kind: EventKind,
    pub at_s: f64,
    /// Half-width of the interval in which the event lies, in seconds.
    pub within_s: f64,
    /// Time between levels, in seconds.
    pub interval_s: f64,
    /// Levels before the event, in volts, as far back as ripple is looked for.
    pub longer: Vec<f64>,
    /// So many of the last ones lie straight …
    pub straight: usize,
    /// … at these times before the event.
    pub times: Vec<f64>,
    /// The straight ones without their tone: all of them, or the end of them that shares it.
    pub clean: Vec<f64>,
    pub tone: Tone,
    /// Mean half of what lies between the extremes of an interval, and its standard uncertainty.
    pub half: Option<(f64, f64)>,
    pub stair: Option<Stair>,
    /// The landings that VCC leaps between at the event itself.
    pub leap: Option<Stair>,
    /// Spikes that were left out of the levels.
    pub spikes: Option<Spikes>,
    /// What the straightening of a charge leaves open at the event, in volts: a standard uncertainty.
    pub u_bent: f64,
}

impl Lead {
    /// The levels over which VCC is straight.
    pub fn straight(&self) -> &[f64] {
        &self.longer[self.longer.len() - self.straight..]
    }
}

/// The stretch between the event before and this one, of `most` levels at most; `None` where fewer than
/// `fewest` lie straight.
pub(super) fn before(
    sampled: &Sampled<'_>,
    event: &Event,
    gap: Option<&Gap>,
    previous_s: f64,
    (fewest, most): (usize, usize),
) -> Option<Lead> {
    let step = sampled.interval_s();
    let end = end(sampled, event);
    let begin = end
        .saturating_sub(most)
        .max(sampled.from(previous_s + 2.0 * step));
    if begin >= end {
        return None;
    }
    let mut longer = sampled.values(begin..end);
    let leap =
        gap.and_then(|gap| gap::leap(gap, event.kind, &longer, (sampled.grain(), sampled.code())));
    let straight = tail(&longer, STRAIGHT_V, sampled.grain());
    longer.drain(..longer.len() - tail(&longer, LOOKED_V, sampled.grain()));
    if straight < fewest {
        return None;
    }
    let spikes = if sampled.pairs() {
        None
    } else {
        spikes::take_out(&mut longer, sampled.noise(), sampled.code())
    };
    let first = end - straight;
    let halves = sampled.halves(first..end);
    Some(Lead {
        kind: event.kind,
        at_s: event.at_s,
        within_s: event.within_s + if sampled.pairs() { 0.5 * step } else { 0.0 },
        interval_s: step,
        times: (first..end).map(|i| sampled.at(i) - event.at_s).collect(),
        clean: longer[longer.len() - straight..].to_vec(),
        longer,
        straight,
        tone: Tone::default(),
        half: mean(&halves),
        stair: stairs::find(sampled, event, previous_s, most),
        leap,
        spikes,
        u_bent: 0.0,
    })
}

/// The event is certain to lie after the levels up to this one.
pub(super) fn end(sampled: &Sampled<'_>, event: &Event) -> usize {
    sampled.until(event.at_s - event.within_s + 0.25 * sampled.vcc.interval_s())
}

fn mean(values: &[f64]) -> Option<(f64, f64)> {
    let good: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let found = stats::summary(&good);
    let u = found.deviation / (good.len() as f64).sqrt();
    (good.len() > 3).then_some((found.mean, u))
}

/// How many of the last values VCC moves over by at most so many volts.
fn tail(values: &[f64], volts: f64, grain: f64) -> usize {
    let median = stats::median_of_finite;
    let last = median(&values[values.len().saturating_sub(MEDIAN_OF)..]);
    let allowed = volts + 4.0 * grain;
    let near = |chunk: &&[f64]| (median(chunk) - last).abs() <= allowed;
    values
        .rchunks(MEDIAN_OF)
        .take_while(near)
        .map(<[f64]>::len)
        .sum()
}

/// Leads for tests.
#[cfg(test)]
pub(super) mod made {
    use super::*;

    /// Straight levels before an event, one a second.
    pub fn lead(kind: EventKind, levels: Vec<f64>) -> Lead {
        Lead {
            kind,
            at_s: 0.0,
            within_s: 0.0,
            interval_s: 1.0,
            straight: levels.len(),
            times: Vec::new(),
            clean: levels.clone(),
            longer: levels,
            tone: Tone::default(),
            half: None,
            stair: None,
            leap: None,
            spikes: None,
            u_bent: 0.0,
        }
    }
}
