//! Where VREF begins to rise or to fall: its edges lag the start and the stop.

use crate::data::{Event, EventKind, Role};
use crate::signal::{Line, stats};

use super::trace::Trace;

/// How far a witness is followed back from its edge to where the change began, in samples.
const FARTHEST_BACK: usize = 4096;

/// Samples before a fall over which the level that it falls from is read.
const LEVEL_SAMPLES: usize = 64;

/// Where a decay began, as a sample position, with the half-width within which it lies.
pub(super) struct DecayStart {
    position: f64,
    within: f64,
}

impl DecayStart {
    pub(super) fn event(&self, index: usize, witness: &Trace<'_>) -> Event {
        Event {
            capture: index,
            kind: EventKind::Stop,
            at_s: witness.time(self.position),
            within_s: self.within * witness.interval_s(),
            witness: Role::Vref,
            vcc: None,
        }
    }
}

/// VREF falls as its capacitor discharges through some kilohms, so its edge lags the stop. The first
/// part of the decay, from `clear` below the level down to half of it, is fitted by an exponential
/// towards `rest` and followed back to the level. `None` when it is too fast to hold five samples.
/// All in raw values.
pub(super) fn decay_start(
    witness: &Trace<'_>,
    position: f64,
    (rest, high): (f64, f64),
    clear: f64,
) -> Option<DecayStart> {
    let samples = &witness.channel.samples;
    let last = last_before(witness, position, |v| v >= high - clear);
    let mut before = samples.slice((last + 1).saturating_sub(LEVEL_SAMPLES)..last + 1);
    before.retain(|v| *v > high - 2.0 * clear && *v < high + 2.0 * clear);
    let count_before = before.len().max(1) as f64;
    let level = stats::median(&mut before) - rest;
    let raw = samples.slice(last + 1..last + 1 + FARTHEST_BACK);
    let falling = |v: &&f64| **v - rest > 0.5 * level && **v - rest < level - 0.2 * clear;
    let count = raw.iter().take_while(falling).count();
    if count < 5 || level.is_nan() || level <= 0.0 {
        return None;
    }
    let logs = raw[..count].iter().enumerate();
    let line = Line::fit(logs.map(|(i, v)| ((last + 1 + i) as f64, ((v - rest) / level).ln())))?;
    if line.slope >= 0.0 {
        return None;
    }
    let at = line.origin - line.at_origin / line.slope;
    // the level is known to half a code step, and to the noise of what it was read from
    let facts = witness.facts();
    let doubt = 0.5 * facts.resolution.unwrap_or(0.0) + 2.5 * facts.noise / count_before.sqrt();
    let within = ((2.0 * line.u_at(at) + doubt / level) / line.slope.abs()).max(0.5);
    let near = at <= (last + 1) as f64 && at > last as f64 - 20.0 - 0.2 * count as f64;
    near.then_some(DecayStart {
        position: at,
        within,
    })
}

/// The last sample before a rise: the last one at rest, or, where the level has not come to rest
/// since it was last up, the last one that lies no higher than the one before it.
pub(super) fn foot_of_rise(
    witness: &Trace<'_>,
    position: f64,
    at_rest: f64,
    threshold: f64,
) -> usize {
    let edge = position.floor() as usize;
    let begin = (edge + 1).saturating_sub(FARTHEST_BACK);
    let raw = witness.channel.samples.slice(begin..edge + 1);
    let rest = raw.iter().rposition(|v| *v <= at_rest);
    let up = raw.iter().rposition(|v| *v > threshold);
    match (rest, up) {
        (Some(rest), None) => begin + rest,
        (Some(rest), Some(up)) if rest > up => begin + rest,
        _ => {
            let step = 3.0 * witness.facts().noise;
            let falls = |i: &usize| raw[i - 1] >= raw[*i] - step;
            begin + (1..raw.len()).rev().find(falls).unwrap_or(0)
        }
    }
}

/// The last sample at or before `position` that still is in the state; the edge itself if none is
/// near.
pub(super) fn last_before(
    witness: &Trace<'_>,
    position: f64,
    in_state: impl Fn(f64) -> bool,
) -> usize {
    let edge = position.floor() as usize;
    let mut from = edge + 1;
    while from > 0 && edge + 1 - from < FARTHEST_BACK {
        let begin = from.saturating_sub(64);
        let raw = witness.channel.samples.slice(begin..from);
        if let Some(found) = raw.iter().rposition(|v| in_state(*v)) {
            return begin + found;
        }
        from = begin;
    }
    edge
}
