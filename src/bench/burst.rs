//! What a burst of a hiccup takes from the VCC capacitor: its steps at start and stop, and its pulses.

use crate::data::{
    Event, EventKind, InspectedCapture, Mark, Measured, Outcome, Quantity, Role, ShotKind, Term,
    Value,
};
use crate::signal::{Line, stats};

use super::trace::Trace;
use super::{Findings, several};

/// Of so many hiccups the steps are read.
const MOST_HICCUPS: usize = 16;
/// Samples of a flank that are read; of a longer one block means serve.
const MOST_READ: usize = 200;
/// Parts of a flank that a line is laid through: towards its end, and from its beginning, where VREF charges first.
const TOWARDS: (f64, f64) = (0.5, 0.98);
const FROM: (f64, f64) = (0.1, 0.6);
/// Pulses of OUT with fewer samples a period are not counted one by one.
const COUNTED: f64 = 4.0;

/// The steps of VCC at starts and stops, and the pulses in between.
pub fn measure(shot: &InspectedCapture, events: &[Event], found: &mut Findings) {
    let hiccups = events.iter().any(|e| e.kind == EventKind::Stop);
    if shot.kind.value != Some(ShotKind::Start) || !hiccups {
        return;
    }
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return;
    };
    for (quantity, kind) in [
        (Quantity::StepAtStart, EventKind::Start),
        (Quantity::StepAtStop, EventKind::Stop),
    ] {
        if events.iter().any(|e| e.witness == Role::Vcc) {
            let why = format!(
                "VCC itself shows the {}s, and a step there can't be told from its corner; record {} beside it",
                kind.id(),
                Role::Vref.title_with_pin()
            );
            found.refuse(quantity, vcc.index, why);
            continue;
        }
        step(&vcc, events, (quantity, kind), found);
    }
    pulses(shot, events, found);
}

/// A step of VCC at one event, with what it is uncertain by.
struct Step {
    at_s: f64,
    volts: f64,
    u_fit: f64,
    within_v: f64,
}

fn step(
    vcc: &Trace<'_>,
    events: &[Event],
    (quantity, kind): (Quantity, EventKind),
    found: &mut Findings,
) {
    let of_kind = events.windows(3).filter(|w| w[1].kind == kind);
    let steps: Vec<Step> = of_kind
        .take(MOST_HICCUPS)
        .filter_map(|w| one(vcc, w))
        .collect();
    if steps.is_empty() {
        let why = "no hiccup of this capture has enough samples before and after it; record with a faster time base";
        found.refuse(quantity, vcc.index, why);
        return;
    }
    let each: Vec<(f64, f64)> = steps.iter().map(|s| (s.volts, s.u_fit)).collect();
    let (mean, random) = several::joined(&each);
    let within = steps.iter().map(|s| s.within_v).sum::<f64>() / steps.len() as f64;
    let mut terms = vcc.systematic_over(mean);
    terms.extend([
        vcc.resolution_term(),
        Term::within("sample interval", within),
        random,
    ]);
    let instants = steps.iter().map(|s| Mark::Instant {
        at_s: s.at_s,
        level: None,
    });
    let marks = instants.collect();
    let volts = steps.iter().map(|s| s.volts).collect();
    let value = Value::from_terms(mean, terms).with_singles(volts);
    found.marked(quantity, vcc.index, value, None, marks);
}

/// The step at the middle one of three events: lines before and after it, each where they come to at the event.
fn one(vcc: &Trace<'_>, around: &[Event]) -> Option<Step> {
    let [before, event, after] = around else {
        return None;
    };
    let up = line(vcc, (before.at_s, event.at_s), TOWARDS)?;
    let down = line(vcc, (event.at_s, after.at_s), FROM)?;
    let down_by = up.at(event.at_s) - down.at(event.at_s);
    let sign = match event.kind {
        EventKind::Start => 1.0,
        EventKind::Stop => -1.0,
    };
    Some(Step {
        at_s: event.at_s,
        volts: sign * down_by,
        u_fit: up.u_at(event.at_s).hypot(down.u_at(event.at_s)),
        within_v: (up.slope - down.slope).abs() * event.within_s,
    })
}

fn line(vcc: &Trace<'_>, (from_s, to_s): (f64, f64), part: (f64, f64)) -> Option<Line> {
    let at = |share: f64| {
        let time_s = from_s + share * (to_s - from_s);
        vcc.channel.time.index_from(time_s).min(vcc.len())
    };
    let (first, end) = (at(part.0), at(part.1));
    if end - first.min(end) > MOST_READ {
        let blocks = vcc.blocks_within(first as f64, end as f64 - 1.0);
        return Line::fit(blocks.map(|b| (vcc.time(vcc.block_middle(b)), vcc.block_mean(b))));
    }
    let times = (first..end).map(|i| vcc.channel.time.at(i));
    let values = vcc.values(first..end);
    Line::fit(times.zip(values.iter().copied()))
}

/// Rises of OUT from each start to its stop, where its pulses are followed.
fn pulses(shot: &InspectedCapture, events: &[Event], found: &mut Findings) {
    let out = [Role::Out, Role::Gate]
        .into_iter()
        .find_map(|role| Trace::of_role(shot, role));
    let Some((out, pulses)) = out.and_then(|out| Some((out, out.pulses()?))) else {
        return;
    };
    let mut gaps: Vec<f64> = pulses.rising.windows(2).map(|w| w[1] - w[0]).collect();
    if gaps.is_empty() || stats::median(&mut gaps) < COUNTED {
        return;
    }
    let rises: Vec<f64> = pulses.rising.iter().map(|p| out.time(*p)).collect();
    let bursts = events
        .windows(2)
        .filter(|w| (w[0].kind, w[1].kind) == (EventKind::Start, EventKind::Stop));
    let counts: Vec<f64> = bursts
        .map(|w| {
            let from = rises.partition_point(|t| *t < w[0].at_s - w[0].within_s);
            let to = rises.partition_point(|t| *t <= w[1].at_s + w[1].within_s);
            (to - from.min(to)) as f64
        })
        .collect();
    if counts.is_empty() {
        return;
    }
    let spread = stats::summary(&counts);
    let mut terms = vec![Term::within("first and last pulse", 1.0)];
    if counts.len() > 1 {
        terms.push(Term::mean_of("spread", spread.deviation, counts.len()));
    }
    let value = Value::from_terms(spread.mean, terms).with_singles(counts);
    found.value(Quantity::PulsesPerBurst, out.index, value, None);
}

/// Pulses of a burst by the rate of OUT from another shot of the run, where no shot lets them be counted.
pub fn add(measured: &mut Vec<Measured>) {
    let of = |quantity| {
        let all = measured.iter().filter(move |m| m.quantity == quantity);
        all.filter(|m| m.value().is_some())
    };
    if of(Quantity::PulsesPerBurst).next().is_some() {
        return;
    }
    let u = |m: &&Measured| m.value().map_or(f64::INFINITY, |v| v.u);
    let rates = of(Quantity::OutFrequency).chain(of(Quantity::GateFrequency));
    let Some(rate) = rates.min_by(|a, b| u(a).total_cmp(&u(b))) else {
        return;
    };
    let one = |period: &Measured| {
        let here = |m: &&Measured| m.capture == period.capture;
        let ratio = of(Quantity::HiccupRatio).find(here)?;
        let inputs = [rate.value()?, period.value()?, ratio.value()?];
        let value = Value::of(|x| x[0] * x[1] / (1.0 + x[2]), &inputs);
        let from = rate.capture.map_or(0, |c| c + 1);
        Some(Measured {
            quantity: Quantity::PulsesPerBurst,
            outcome: Outcome::Value(value),
            marks: Vec::new(),
            remarks: vec![format!(
                "Not counted: the rate of shot {from} times the length of a burst."
            )],
            ..period.clone()
        })
    };
    let made: Vec<Measured> = of(Quantity::HiccupPeriod).filter_map(one).collect();
    measured.extend(made);
}
