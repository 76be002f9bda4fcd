//! Starts and stops, from the best witness there is: VREF, else RT/CT, else VCC itself.
//!
//! OUT is no witness: its samples alias with the pulses.

use crate::data::{Event, EventKind, InspectedCapture, Role, ShotKind};

use crate::signal::Line;

use super::corners;
use super::trace::Trace;

/// How far a witness is followed back from its edge to where the change began, in samples.
const FARTHEST_BACK: usize = 4096;

/// The events of capture `index`, in time order; empty when nothing can witness one.
pub fn find(index: usize, shot: &InspectedCapture) -> Vec<Event> {
    for role in [Role::Vref, Role::RtCt] {
        if let Some(witness) = Trace::of_role(shot, role).filter(|t| switches(t, role)) {
            let mut events = from_levels(index, role, &witness);
            events.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
            return events;
        }
    }
    let witnessed = shot.channel_of(Role::Vref).is_some();
    match Trace::of_role(shot, Role::Vcc) {
        Some(vcc) if !witnessed => corners::events(index, &vcc),
        _ => Vec::new(),
    }
}

/// A VREF or RT/CT that goes from stopped to running and back has two states; a ramp that runs all
/// the time has none.
fn switches(trace: &Trace<'_>, role: Role) -> bool {
    trace.pulses().is_some_and(|p| match role {
        Role::RtCt => p.gap && trace.true_of(p.low).abs() < 0.5,
        _ => trace.true_of(p.threshold) > 0.7,
    })
}

fn from_levels(index: usize, role: Role, witness: &Trace<'_>) -> Vec<Event> {
    let Some(pulses) = witness.pulses() else {
        return Vec::new();
    };
    let spread = (5.0 * witness.grain() / witness.known.gain.abs())
        .max(0.02 * (pulses.threshold - witness.facts().min));
    let low = if pulses.gap {
        pulses.low
    } else {
        witness.facts().histogram.quantile(0.005)
    };
    let high = if pulses.gap {
        pulses.high
    } else {
        witness.facts().histogram.quantile(0.995)
    };
    let event = |kind, position: f64| {
        if kind == EventKind::Stop && role == Role::Vref {
            if let Some(stop) = decay_start(witness, position, high, 2.0 * spread) {
                return stop.event(index, witness);
            }
        }
        let before = match (kind, role) {
            (EventKind::Start, _) => {
                foot_of_rise(witness, position, low + spread, pulses.threshold)
            }
            // a ramp has no level to fall from: its last sample above the threshold is the last of the run
            (EventKind::Stop, Role::RtCt) => position.floor() as usize,
            (EventKind::Stop, _) => last_before(witness, position, |v| v >= high - 2.0 * spread),
        };
        let (t0, t1) = (
            witness.channel.time.at(before),
            witness.channel.time.at(before + 1),
        );
        Event {
            capture: index,
            kind,
            at_s: 0.5 * (t0 + t1),
            within_s: 0.5 * (t1 - t0),
            witness: role,
            vcc: None,
        }
    };
    let starts = pulses.rising.iter().map(|p| event(EventKind::Start, *p));
    let stops = pulses.falling.iter().map(|p| event(EventKind::Stop, *p));
    starts.chain(stops).collect()
}

/// Where a decay began, as a sample position, with the half-width within which it lies.
struct DecayStart {
    position: f64,
    within: f64,
}

impl DecayStart {
    fn event(&self, index: usize, witness: &Trace<'_>) -> Event {
        let step = witness.interval_s();
        Event {
            capture: index,
            kind: EventKind::Stop,
            at_s: witness.time(self.position),
            within_s: self.within * step,
            witness: Role::Vref,
            vcc: None,
        }
    }
}

/// VREF falls as its capacitor discharges through some kilohms, so its edge lags the stop. The first
/// part of the decay, `clear` below the level and down to half of it, is fitted by an exponential and
/// followed back to the level. `None` when it is too fast to hold five samples.
fn decay_start(witness: &Trace<'_>, position: f64, high: f64, clear: f64) -> Option<DecayStart> {
    let last = last_before(witness, position, |v| v >= high - clear);
    let raw = witness
        .channel
        .samples
        .slice(last + 1..last + 1 + FARTHEST_BACK);
    let count = raw
        .iter()
        .take_while(|v| **v > 0.5 * high && **v < high - 0.2 * clear)
        .count();
    if count < 5 || high <= 0.0 {
        return None;
    }
    let logs = raw[..count]
        .iter()
        .enumerate()
        .map(|(i, v)| ((last + 1 + i) as f64, (v / high).ln()));
    let line = Line::fit(logs)?;
    if line.slope >= 0.0 {
        return None;
    }
    let at = line.origin - line.at_origin / line.slope;
    // the level itself is known to half a code step and half a bin of its histogram
    let facts = witness.facts();
    let level = 0.5 * (facts.resolution.unwrap_or(0.0) + facts.histogram.width) / high;
    let within = ((2.0 * line.u_at(at) + level) / line.slope.abs()).max(0.5);
    let near = at <= (last + 1) as f64 && at > last as f64 - 20.0 - 0.2 * count as f64;
    near.then_some(DecayStart {
        position: at,
        within,
    })
}

/// The last sample before a rise: the last one at rest, or, where the level has not come to rest
/// since it was last up, the last one that lies no higher than the one before it.
fn foot_of_rise(witness: &Trace<'_>, position: f64, at_rest: f64, threshold: f64) -> usize {
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
fn last_before(witness: &Trace<'_>, position: f64, in_state: impl Fn(f64) -> bool) -> usize {
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

/// Drops what the kind of shot excludes: a fast record of something that runs has no events.
pub fn keep_what_fits(shot: &InspectedCapture, events: &mut Vec<Event>) {
    if shot.kind.value == Some(ShotKind::Running) {
        events.clear();
    }
}

/// Pairs of a start and the next stop, in time order; the last may lack its stop.
pub fn runs(events: &[Event]) -> Vec<(&Event, Option<&Event>)> {
    let mut runs: Vec<(&Event, Option<&Event>)> = Vec::new();
    for event in events {
        match event.kind {
            EventKind::Start => runs.push((event, None)),
            EventKind::Stop => {
                if let Some((_, stop @ None)) = runs.last_mut() {
                    *stop = Some(event);
                }
            }
        }
    }
    runs
}
