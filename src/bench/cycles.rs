//! Duty cycle, pulse width and missing pulses of a pin whose edges gave a frequency.

use crate::data::{Mark, Quantity, ReferenceLevels, Role, Term, TieSource, Value};
use crate::signal::{period, stats};

use super::frequency::{Clock, may_alias, only_ripples, timed_evenly};
use super::trace::Trace;
use super::train::Train;
use super::{Findings, count, jitter};

/// Single results that are still listed.
const MOST_LISTED: usize = 64;

/// What the cycles of OUT or the gate show, beyond their frequency.
pub(super) fn measure(
    trace: &Trace<'_>,
    role: Role,
    clocks: &[Clock<'_>],
    reference: ReferenceLevels,
    found: &mut Findings,
) {
    let out = role == Role::Out;
    if out {
        missing(trace, found);
    }
    let duty = if out {
        Quantity::OutDutyCycle
    } else {
        Quantity::GateDutyCycle
    };
    let Some(clock) = clocks.first() else {
        by_share(trace, duty, found);
        return;
    };
    match Train::of(*trace, reference) {
        Some(train) => widths(&train, clock, duty, out, found),
        None => found.refuse(
            duty,
            trace.index,
            "it has no two states to tell a pulse from a pause",
        ),
    }
    if out {
        jitter::measure(trace, clocks, Quantity::OutJitter, found);
    }
}

/// Pulse duration and duty factor (IEEE 181), at the mesial level.
fn widths(train: &Train<'_>, clock: &Clock<'_>, duty: Quantity, out: bool, found: &mut Findings) {
    let trace = &train.trace;
    let resolved = (train.resolved(true), train.resolved(false));
    let moved = |rises: bool| -> Vec<f64> {
        let shift = train.shift(rises);
        train.edges(rises).iter().map(|p| p + shift).collect()
    };
    let (rises, falls) = (moved(true), moved(false));
    let lag = period::lag(&rises, &falls, clock.period.samples, resolved);
    let Some(lag) = lag else {
        found.refuse(
            duty,
            trace.index,
            "fewer than two complete cycles in the record",
        );
        return;
    };
    let levels = train.u_shift(true).hypot(train.u_shift(false));
    let interval_s = trace.interval_s();
    let terms = |per_sample: f64| {
        vec![
            Term::normal("spread of the cycles", lag.u * per_sample),
            Term::within("sample interval", lag.within * per_sample),
            Term::normal("state levels", levels * per_sample),
            Term::within("samples on the edges", ON_EDGE * per_sample),
            Term::within("samples on the edges", ON_EDGE * per_sample),
        ]
    };
    let period = clock.period.samples;
    let share = lag.samples / period;
    let mut of_cycle = terms(1.0 / period);
    of_cycle.push(Term::normal("period", share * clock.period.u / period));
    of_cycle.push(Term::within(
        "period, sample interval",
        share * clock.period.within / period,
    ));
    let (span, marks) = marked(train, &rises, &falls, period);
    let listed = |scale: f64| -> Vec<f64> {
        let few = lag.singles.len() <= MOST_LISTED;
        lag.singles
            .iter()
            .filter(|_| few)
            .map(|s| s * scale)
            .collect()
    };
    let with_count = |value: Value, singles: Vec<f64>| {
        let mut value = value.with_singles(singles);
        value.count = lag.singles.len();
        value
    };
    let value = with_count(Value::from_terms(share, of_cycle), listed(1.0 / period));
    found.marked(duty, trace.index, value, span, marks.clone());
    if out {
        let seconds = lag.samples * interval_s;
        let mut in_time = terms(interval_s);
        in_time.push(
            Term::within("time base (assumed)", 1e-4 * seconds).tied(TieSource::TimeBase, 1.0),
        );
        let value = with_count(Value::from_terms(seconds, in_time), listed(interval_s));
        found.marked(Quantity::OutPulseDuration, trace.index, value, span, marks);
    }
}

/// What straight lines between samples leave of either edge of a pulse, in samples: some hundredths, the
/// same in every cycle where samples and pulses run in step; both edges by themselves.
const ON_EDGE: f64 = 0.02;

/// Share of edges, of those that samples at random instants would show, below which samples run nearly
/// in step with the pulses.
const LEAST_EDGES: f64 = 0.5;

/// What samples that may run with the pulses leave open, as a share of the period: half-width found
/// by modelling records of 1,000 samples whose rate is known to 1 % of the pulse rate.
const IN_STEP: f64 = 0.025;

/// Duty cycle of a record too slow for edges: the share of the samples in the upper state. Given only
/// where neighbours change state about as often as at random instants.
fn by_share(trace: &Trace<'_>, duty: Quantity, found: &mut Findings) {
    let Some(pulses) = trace.pulses().filter(|p| p.gap) else {
        return;
    };
    let facts = trace.facts();
    if timed_evenly(trace).is_err() || only_ripples(trace).is_some() || facts.valid < 500 {
        return;
    }
    let above = super::roles::above(&facts.histogram, pulses.threshold).total() as f64;
    let high = above / facts.valid as f64;
    let share = if trace.known.gain > 0.0 {
        high
    } else {
        1.0 - high
    };
    let by_chance = facts.valid as f64 * share * (1.0 - share);
    if (pulses.rising.len() as f64) < LEAST_EDGES * by_chance {
        let why = "no cycle can be followed, and the samples do not fall on the pulses at random either; record with a faster time base";
        found.refuse(duty, trace.index, why);
        return;
    }
    let terms = vec![
        Term::within("samples that may run with the pulses", IN_STEP),
        Term::normal(
            "number of samples",
            (share * (1.0 - share) / facts.valid as f64).sqrt(),
        ),
    ];
    let span = Some((trace.channel.time.start_s(), trace.channel.time.end_s()));
    found.value(duty, trace.index, Value::from_terms(share, terms), span);
}

/// Begin and end of the first pulses, at the mesial level.
fn marked(
    train: &Train<'_>,
    rises: &[f64],
    falls: &[f64],
    period: f64,
) -> (Option<(f64, f64)>, Vec<Mark>) {
    let trace = &train.trace;
    let (low, high) = train.states();
    let level = Some(trace.true_of(low + train.reference.middle * (high - low)));
    let instant = |p: &f64| Mark::Instant {
        at_s: trace.time(*p),
        level,
    };
    let first = rises.first().copied().unwrap_or(0.0);
    let marks = rises
        .iter()
        .chain(falls)
        .filter(|p| **p >= first && **p < first + 4.0 * period);
    let ends = rises.first().zip(rises.last());
    let span = ends.map(|(a, b)| (trace.time(*a), trace.time(*b)));
    (span, marks.map(instant).collect())
}

/// Gaps between rising edges that hold a whole number of periods above one.
fn missing(trace: &Trace<'_>, found: &mut Findings) {
    let quantity = Quantity::MissingPulses;
    let Some(pulses) = trace
        .pulses()
        .filter(|p| p.gap && p.rising.len() >= 6 && !p.cut)
    else {
        return;
    };
    if timed_evenly(trace).is_err() || only_ripples(trace).is_some() {
        return;
    }
    let mut gaps: Vec<f64> = pulses.rising.windows(2).map(|w| w[1] - w[0]).collect();
    let base = stats::median(&mut gaps);
    let whole = |gap: f64| (gap / base).round();
    let even = gaps
        .iter()
        .filter(|g| whole(**g) >= 1.0 && (*g / base - whole(**g)).abs() < 0.2)
        .count();
    if let Some(why) = may_alias(trace, base) {
        found.refuse(quantity, trace.index, why);
        return;
    }
    if base < 3.0 || even * 20 < gaps.len() * 19 {
        let why = "the pulses come at uneven intervals, so none can be told to be missing";
        found.refuse(quantity, trace.index, why);
        return;
    }
    let missed: f64 = gaps.iter().map(|g| (whole(*g) - 1.0).max(0.0)).sum();
    let ends = (pulses.rising[0], pulses.rising[pulses.rising.len() - 1]);
    let span = Some((trace.time(ends.0), trace.time(ends.1)));
    found.value(quantity, trace.index, count(missed as usize), span);
}
