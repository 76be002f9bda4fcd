//! Delay from OUT to the gate behind its resistor.

use crate::data::{
    InspectedCapture, Mark, Quantity, ReferenceLevels, Role, ShotKind, Term, TieSource, Value,
};
use crate::signal::{period, stats};

use super::Findings;
use super::frequency::{only_ripples, timed_evenly, unbelievable};
use super::trace::Trace;
use super::train::Train;

/// What two inputs of one scope with alike probes may differ in delay when nobody set it right, in
/// seconds (common practice: a nanosecond for each 20 cm of cable, a few for probes of two kinds).
const SKEW_S: f64 = 5e-9;
/// Delays whose instants are marked in the lane.
const MARKED: usize = 6;

/// Delay from rising OUT to rising gate in a fast record of both.
pub fn measure(shot: &InspectedCapture, reference: ReferenceLevels, found: &mut Findings) {
    let (Some(out), Some(gate)) = (
        Trace::of_role(shot, Role::Out),
        Trace::of_role(shot, Role::Gate),
    ) else {
        return;
    };
    if shot.kind.value != Some(ShotKind::Running) {
        return;
    }
    let quantity = Quantity::GateDelay;
    let channel = gate.index;
    match delay(out, gate, reference) {
        Ok((value, span, marks)) => found.marked(quantity, channel, value, Some(span), marks),
        Err(why) => found.refuse(quantity, channel, why),
    }
}

type Delay = (Value, (f64, f64), Vec<Mark>);

fn delay(out: Trace<'_>, gate: Trace<'_>, reference: ReferenceLevels) -> Result<Delay, String> {
    timed_evenly(&out)?;
    timed_evenly(&gate)?;
    for trace in [&out, &gate] {
        if let Some(why) = unbelievable(trace).or_else(|| only_ripples(trace)) {
            return Err(why);
        }
    }
    let train = |trace| Train::of(trace, reference);
    let (Some(from), Some(to)) = (train(out), train(gate)) else {
        return Err("OUT and gate do not both pulse".to_owned());
    };
    if out.channel.time.len() != gate.channel.time.len()
        || (out.channel.time.start_s() - gate.channel.time.start_s()).abs()
            > 1e-3 * out.interval_s()
    {
        return Err("OUT and gate were not sampled together".to_owned());
    }
    let moved = |train: &Train<'_>| -> Vec<f64> {
        let shift = train.shift(true);
        train.edges(true).iter().map(|p| p + shift).collect()
    };
    let (a, b) = (moved(&from), moved(&to));
    let mut lengths: Vec<f64> = a.windows(2).map(|w| w[1] - w[0]).collect();
    let length = stats::median(&mut lengths);
    // both are rising edges: a gate that leads by what the probes differ must find its own OUT edge
    let early = 0.25 * length;
    let shifted: Vec<f64> = a.iter().map(|p| p - early.floor()).collect();
    let resolved = (from.resolved(true), to.resolved(true));
    let lag = period::lag(&shifted, &b, length, resolved)
        .ok_or("fewer than two OUT pulses that the gate follows")?;
    let samples = lag.samples - early.floor();
    if samples > 0.5 * length {
        return Err("the gate does not follow OUT within half a cycle".to_owned());
    }
    let interval_s = out.interval_s();
    let levels = from.u_shift(true).hypot(to.u_shift(true));
    let seconds = samples * interval_s;
    let terms = vec![
        Term::normal("spread of the edges", lag.u * interval_s),
        Term::within("sample interval", lag.within[0] * interval_s),
        Term::within("sample interval", lag.within[1] * interval_s),
        Term::normal("state levels", levels * interval_s),
        Term::within("delay of the probes (assumed)", SKEW_S),
        Term::within("time base (assumed)", 1e-4 * seconds).tied(TieSource::TimeBase, 1.0),
    ];
    let mut value = Value::from_terms(seconds, terms);
    value.count = lag.singles.len();
    let level = |t: &Train<'_>| {
        let (low, high) = t.states();
        Some(t.trace.true_of(low + t.reference.middle * (high - low)))
    };
    let instant = |t: &Train<'_>, p: &f64| Mark::Instant {
        at_s: t.trace.time(*p),
        level: level(t),
    };
    let marks = b.iter().take(MARKED).map(|p| instant(&to, p)).collect();
    let span = (out.time(a[0]), out.time(a[a.len() - 1]));
    Ok((value, span, marks))
}
