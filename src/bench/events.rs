//! Starts and stops, from the best witness there is: VREF, else RT/CT, else what VCC does by itself
//! or at a start through its feed, OUT or the gate last: their samples alias with the pulses.

use crate::data::{Event, EventKind, InspectedCapture, Pulses, Role, SampleKind, ShotKind};

use super::activity::{self, Activity};
use super::corners;
use super::decay::{decay_start, decay_start_at_end, foot_of_rise, last_before};
use super::gaps;
use super::glimpses;
use super::kinks;
use super::trace::Trace;

/// A VREF that stays below this is down, in volts.
const DOWN_V: f64 = 1.0;

/// The events of capture `index`, in time order; empty when nothing can witness one.
pub fn find(index: usize, shot: &InspectedCapture) -> Vec<Event> {
    let mut events = witnessed(index, shot);
    for event in &mut events {
        if let Some(witness) = Trace::of_role(shot, event.witness) {
            gaps::widen(event, witness.channel);
        }
        let pairs = |t: &Trace<'_>| t.channel.kind == SampleKind::MinMaxPair;
        if let Some(witness) = Trace::of_role(shot, event.witness).filter(pairs) {
            // an extreme may lie anywhere in its interval
            event.within_s += witness.interval_s();
        }
    }
    events
}

fn witnessed(index: usize, shot: &InspectedCapture) -> Vec<Event> {
    for role in [Role::Vref, Role::RtCt] {
        if let Some(witness) = Trace::of_role(shot, role).filter(|t| switches(t, role)) {
            let mut events = from_levels(index, role, &witness);
            events.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
            return events;
        }
    }
    // a VREF that never comes up witnesses nothing: then VCC has to tell by itself
    let vref = Trace::of_role(shot, Role::Vref);
    let comes_up = |t: &Trace<'_>| t.pulses().is_some() || t.true_of(t.facts().mean) > DOWN_V;
    let witnessed = vref.as_ref().is_some_and(comes_up);
    let Some(vcc) = Trace::of_role(shot, Role::Vcc).filter(|_| !witnessed) else {
        return Vec::new();
    };
    let by_itself = corners::events(index, &vcc);
    let starts = by_itself.iter().filter(|e| e.kind == EventKind::Start);
    // beside a VREF that stays down a hand that turns VCC round once is likelier than a single start
    if starts.count() > usize::from(vref.is_some()) {
        return by_itself;
    }
    // where both tell, the surer of the time counts
    let by_step = by_glimpses(index, shot, &vcc, kinks::find(index, &vcc));
    let by_pulses = of_pulses(index, shot, &vcc);
    if by_pulses.is_empty() {
        return by_step;
    }
    if same(&by_step, &by_pulses) {
        return closer(by_step, by_pulses);
    }
    // pulses may stay away while it runs: what VCC shows besides outweighs that in its walk
    let alike = |(a, b): (&Event, &Event)| a.kind == b.kind;
    if by_step.len() == by_pulses.len() && by_step.iter().zip(&by_pulses).all(alike) {
        return by_step;
    }
    by_pulses
}

/// Starts and stops by steps of VCC beside what is seen of OUT, else of the gate; `by_step` where they leave out
/// one of its own.
fn by_glimpses(
    index: usize,
    shot: &InspectedCapture,
    vcc: &Trace<'_>,
    by_step: Vec<Event>,
) -> Vec<Event> {
    let pulses = [Role::Out, Role::Gate].map(|role| Trace::of_role(shot, role));
    let seen = pulses.iter().flatten().find_map(activity::glimpses);
    let found = seen.map(|seen| glimpses::find(index, vcc, &seen));
    // a step that stands out by itself is not talked away
    let has = |found: &[Event], step: &Event| found.iter().any(|event| near(event, step));
    found
        .filter(|found| by_step.iter().all(|step| has(found, step)))
        .unwrap_or(by_step)
}

/// Starts and stops by the bursts of OUT, else of the gate.
fn of_pulses(index: usize, shot: &InspectedCapture, vcc: &Trace<'_>) -> Vec<Event> {
    for role in [Role::Out, Role::Gate] {
        if let Some(Activity::Events(events)) = activity_of(index, shot, role, vcc) {
            return events;
        }
    }
    Vec::new()
}

fn activity_of(
    index: usize,
    shot: &InspectedCapture,
    role: Role,
    vcc: &Trace<'_>,
) -> Option<Activity> {
    let vcc_at = |time_s: f64| {
        let block = vcc.channel.time.index_from(time_s) / vcc.block_size().max(1);
        let volts = vcc.block_mean(block.min(vcc.blocks().checked_sub(1)?));
        volts.is_finite().then_some(volts)
    };
    Trace::of_role(shot, role).map(|trace| activity::find(index, &trace, role, vcc_at))
}

/// Why OUT or the gate does not tell a start or a stop: as the end of a sentence about that pin. `None` where
/// they do, don't pulse, or something better was recorded.
pub fn why_pulses_tell_none(
    shot: &InspectedCapture,
    events: &[Event],
) -> Option<(Role, &'static str)> {
    let vcc = Trace::of_role(shot, Role::Vcc)?;
    let better = |event: &Event| matches!(event.witness, Role::Vref | Role::RtCt);
    if shot.channel_of(Role::Vref).is_some() || events.iter().any(better) {
        return None;
    }
    [Role::Out, Role::Gate]
        .into_iter()
        .find_map(|role| match activity_of(0, shot, role, &vcc)? {
            Activity::CantTell(why) => Some((role, why)),
            Activity::Events(found) if found.is_empty() && events.is_empty() => {
                Some((role, "pulses from the beginning of the record to its end"))
            }
            _ => None,
        })
}

/// Do two witnesses tell the same starts and stops?
fn same(one: &[Event], other: &[Event]) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(a, b)| near(a, b))
}

/// Is it one event?
fn near(a: &Event, b: &Event) -> bool {
    a.kind == b.kind && (a.at_s - b.at_s).abs() <= 3.0 * (a.within_s + b.within_s)
}

/// Of two tellings of each event the one that is surer of the time.
fn closer(one: Vec<Event>, other: Vec<Event>) -> Vec<Event> {
    let nearer = |(a, b): (Event, Event)| if a.within_s <= b.within_s { a } else { b };
    one.into_iter().zip(other).map(nearer).collect()
}

/// A pin that comes up more often than this in a record pulses; it does not start (a hiccup at 20 Hz
/// does so in 25 s).
const MOST_RUNS: usize = 500;

/// A VREF or RT/CT that goes from stopped to running and back has two states; a ramp that runs all
/// the time has none.
fn switches(trace: &Trace<'_>, role: Role) -> bool {
    let seldom = |p: &&Pulses| p.rising.len().max(p.falling.len()) <= MOST_RUNS;
    trace.pulses().filter(seldom).is_some_and(|p| match role {
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
        if kind == EventKind::Stop
            && role == Role::Vref
            && let Some(stop) = decay_start(witness, position, (low, high), 2.0 * spread)
        {
            return stop.event(index, witness);
        }
        let before = match (kind, role) {
            (EventKind::Start, _) => {
                let threshold = (pulses.threshold, pulses.band);
                foot_of_rise(witness, position, (low, spread), threshold)
            }
            // a ramp has no level to fall from: its last sample above the threshold is the last of the run
            (EventKind::Stop, Role::RtCt) => position.floor() as usize,
            (EventKind::Stop, _) => last_before(witness, position, high - 2.0 * spread),
        };
        let late = match kind {
            EventKind::Start => late_by((before, position), spread, pulses.threshold - low),
            EventKind::Stop => 0.0,
        };
        let (t0, t1) = (
            witness.time((before as f64 - late).max(0.0)),
            witness.channel.time.at(before + 1),
        );
        Event {
            capture: index,
            kind,
            at_s: 0.5 * (t0 + t1),
            within_s: 0.5 * (t1 - t0),
            witness: role,
            vcc: None,
            why_no_vcc: None,
        }
    };
    let (rising, falling) = edges(witness, pulses);
    let starts = rising.iter().map(|p| event(EventKind::Start, *p));
    let stops = falling.iter().map(|p| event(EventKind::Stop, *p));
    let mut found: Vec<Event> = starts.chain(stops).collect();
    let up = rising.last().map_or(pulses.starts_high, |rise| {
        falling.last().is_none_or(|fall| fall < rise)
    });
    if up && role == Role::Vref {
        let last = decay_start_at_end(witness, (low, high), 2.0 * spread);
        found.extend(last.map(|stop| stop.event(index, witness)));
    }
    found
}

/// How many samples a slow rise has gone on unseen before its foot: as long as it takes for what noise hides of it, at
/// its mean slope up to the threshold. None where it rises within a few samples.
fn late_by((foot, position): (usize, f64), hidden: f64, way: f64) -> f64 {
    let late = hidden / way * (position - foot as f64);
    if late > 1.0 && late.is_finite() {
        late
    } else {
        0.0
    }
}

/// Rises and falls of a witness, as sample positions. Of an interval in which it falls the lowest stands before
/// the highest: what looks like a fall, a rise and a fall is one fall.
fn edges(witness: &Trace<'_>, pulses: &Pulses) -> (Vec<f64>, Vec<f64>) {
    let (mut rising, mut falling) = (pulses.rising.clone(), pulses.falling.clone());
    if witness.channel.kind == SampleKind::MinMaxPair {
        let sample = |position: &f64| position.floor() as i64;
        let at = |falls: &[f64], wanted: i64| falls.iter().position(|f| sample(f) == wanted);
        rising.retain(|rise| {
            let first = sample(rise); // of an interval, where it is even
            let fall_after = at(&falling, first + 1);
            let seeming = first % 2 == 0 && at(&falling, first - 1).is_some();
            match fall_after.filter(|_| seeming) {
                Some(second) => {
                    falling.remove(second);
                    false
                }
                None => true,
            }
        });
    }
    (rising, falling)
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
