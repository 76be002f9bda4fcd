//! Duty cycle, pulse width and missing pulses of a pin whose edges gave a frequency.

use crate::data::{Mark, Quantity, ReferenceLevels, Role, Term, TieSource, Value};
use crate::signal::period::{self, Lag, Period};
use crate::signal::stats;

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
        // pulses that miss leave those that come as wide as they are
        let gaps = whole_gaps(trace)
            .and_then(Result::ok)
            .filter(|g| out && g.missed > 0);
        if let Some((train, gaps)) = Train::of(*trace, reference).zip(gaps)
            && let Some(pulse) = Pulse::of(&train, gaps.period)
        {
            pulse.duration(&train, gaps.period, found);
        }
        return;
    };
    match Train::of(*trace, reference) {
        Some(train) => widths(&train, &clock.period, duty, out, found),
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
fn widths(train: &Train<'_>, period: &Period, duty: Quantity, out: bool, found: &mut Findings) {
    let index = train.trace.index;
    let Some(pulse) = Pulse::of(train, period.samples) else {
        let why = "fewer than two complete cycles in the record";
        found.refuse(duty, index, why);
        return;
    };
    let share = pulse.lag.samples / period.samples;
    let mut terms = pulse.terms(train, 1.0 / period.samples);
    terms.push(Term::normal("period", share * period.u / period.samples));
    terms.push(Term::within(
        "period, sample interval",
        share * period.within / period.samples,
    ));
    let value = pulse.counted(Value::from_terms(share, terms), 1.0 / period.samples);
    let (span, marks) = pulse.marked(train, period.samples);
    found.marked(duty, index, value, span, marks);
    if out {
        pulse.duration(train, period.samples, found);
    }
}

/// From the rises of a pin to the falls after them.
struct Pulse {
    rises: Vec<f64>,
    falls: Vec<f64>,
    lag: Lag,
}

impl Pulse {
    /// `None` with fewer than two pulses.
    fn of(train: &Train<'_>, period: f64) -> Option<Self> {
        let resolved = (train.resolved(true), train.resolved(false));
        let moved = |rises: bool| -> Vec<f64> {
            let shift = train.shift(rises);
            train.edges(rises).iter().map(|p| p + shift).collect()
        };
        let (rises, falls) = (moved(true), moved(false));
        let lag = period::lag(&rises, &falls, period, resolved)?;
        Some(Self { rises, falls, lag })
    }

    /// What is open in the distance, in a unit that a sample interval is so much of.
    fn terms(&self, train: &Train<'_>, per_sample: f64) -> Vec<Term> {
        let levels = train.u_shift(true).hypot(train.u_shift(false));
        let mut terms = vec![
            Term::normal("spread of the cycles", self.lag.u * per_sample),
            Term::normal("state levels", levels * per_sample),
        ];
        for (within, by_interval) in self.lag.within.iter().zip(self.lag.by_interval) {
            terms.push(Term::within("sample interval", within * per_sample));
            if !by_interval {
                terms.push(Term::within("samples on the edges", ON_EDGE * per_sample));
            }
        }
        terms
    }

    fn counted(&self, value: Value, per_sample: f64) -> Value {
        let singles = &self.lag.singles;
        let listed = singles.iter().filter(|_| singles.len() <= MOST_LISTED);
        let mut value = value.with_singles(listed.map(|s| s * per_sample).collect());
        value.count = singles.len();
        value
    }

    fn duration(&self, train: &Train<'_>, period: f64, found: &mut Findings) {
        let interval_s = train.trace.interval_s();
        let seconds = self.lag.samples * interval_s;
        let mut terms = self.terms(train, interval_s);
        let time_base = Term::within("time base (assumed)", 1e-4 * seconds);
        terms.push(time_base.tied(TieSource::TimeBase, 1.0));
        let value = self.counted(Value::from_terms(seconds, terms), interval_s);
        let (span, marks) = self.marked(train, period);
        found.marked(
            Quantity::OutPulseDuration,
            train.trace.index,
            value,
            span,
            marks,
        );
    }

    /// Begin and end of the first pulses, at the mesial level.
    fn marked(&self, train: &Train<'_>, period: f64) -> (Option<(f64, f64)>, Vec<Mark>) {
        let trace = &train.trace;
        let (low, high) = train.states();
        let level = Some(trace.true_of(low + train.reference.middle * (high - low)));
        let instant = |p: &f64| Mark::Instant {
            at_s: trace.time(*p),
            level,
        };
        let first = self.rises.first().copied().unwrap_or(0.0);
        let edges = self.rises.iter().chain(&self.falls);
        let marks = edges.filter(|p| **p >= first && **p < first + 4.0 * period);
        let ends = self.rises.first().zip(self.rises.last());
        let span = ends.map(|(a, b)| (trace.time(*a), trace.time(*b)));
        (span, marks.map(instant).collect())
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

/// Gaps between rising edges that hold whole numbers of one period.
struct WholeGaps {
    /// The period, in samples.
    period: f64,
    /// Pulses that are missing.
    missed: usize,
}

/// `None` where there is nothing to be said of a pin that has no two states, no even times, or hardly moves.
fn whole_gaps(trace: &Trace<'_>) -> Option<Result<WholeGaps, String>> {
    let pulses = trace
        .pulses()
        .filter(|p| p.gap && p.rising.len() >= 6 && !p.cut)?;
    if timed_evenly(trace).is_err() || only_ripples(trace).is_some() {
        return None;
    }
    let gaps: Vec<f64> = pulses.rising.windows(2).map(|w| w[1] - w[0]).collect();
    let base = stats::median(&mut gaps.clone());
    let whole = |gap: f64| (gap / base).round();
    let even = gaps
        .iter()
        .filter(|g| whole(**g) >= 1.0 && (*g / base - whole(**g)).abs() < 0.2)
        .count();
    if let Some(why) = may_alias(trace, base) {
        return Some(Err(why));
    }
    if base < 3.0 || even * 20 < gaps.len() * 19 {
        let why = "the pulses come at uneven intervals, so none can be told to be missing";
        return Some(Err(why.to_owned()));
    }
    let cycles: f64 = gaps.iter().map(|g| whole(*g).max(1.0)).sum();
    Some(Ok(WholeGaps {
        period: gaps.iter().sum::<f64>() / cycles,
        missed: cycles as usize - gaps.len(),
    }))
}

/// How many pulses are missing.
fn missing(trace: &Trace<'_>, found: &mut Findings) {
    let quantity = Quantity::MissingPulses;
    match whole_gaps(trace) {
        Some(Ok(gaps)) => {
            let rising = trace.pulses().map_or(&[][..], |p| &p.rising);
            let ends = rising.first().zip(rising.last());
            let span = ends.map(|(a, b)| (trace.time(*a), trace.time(*b)));
            found.value(quantity, trace.index, count(gaps.missed), span);
        }
        Some(Err(why)) => found.refuse(quantity, trace.index, why),
        None => {}
    }
}
