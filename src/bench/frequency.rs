//! Frequency and duty cycle from edges, where the record is fast enough to be believed.

use crate::controllers::usual::HIGHEST_OSCILLATOR_HZ;
use crate::data::{
    InspectedCapture, Mark, Pulses, Quantity, ReferenceLevels, Role, SampleKind, ShotKind, Term,
    TieSource, Value,
};
use crate::signal::{Period, period, stats};

use super::trace::Trace;
use super::train::{RESOLVED_SAMPLES, Train};
use super::{Findings, cycles, jitter};

/// Fewest samples in a cycle.
const FEWEST_SAMPLES: f64 = 6.0;

/// Frequencies and their ratio; duty cycle, pulse width and the like where there is a frequency.
pub fn measure(shot: &InspectedCapture, reference: ReferenceLevels, found: &mut Findings) {
    if shot.kind.value != Some(ShotKind::Running) {
        return;
    }
    if let Some(rtct) = Trace::of_role(shot, Role::RtCt) {
        let clocks = frequency(&rtct, Quantity::OscillatorFrequency, reference, found);
        jitter::measure(&rtct, &clocks, Quantity::OscillatorJitter, found);
    }
    for (role, quantity) in [
        (Role::Out, Quantity::OutFrequency),
        (Role::Gate, Quantity::GateFrequency),
    ] {
        if let Some(trace) = Trace::of_role(shot, role) {
            let clocks = frequency(&trace, quantity, reference, found);
            cycles::measure(&trace, role, &clocks, reference, found);
        }
    }
    ratio(shot, found);
}

/// The edges that a frequency came from.
pub(super) struct Clock<'a> {
    /// Positions, in samples.
    pub(super) edges: &'a [f64],
    /// Do they rise (at the pin)?
    pub(super) rises: bool,
    /// Do they take samples to pass?
    pub(super) resolved: bool,
    /// What they gave.
    pub(super) period: Period,
}

/// Period by equally spaced edges, and the edges of both directions, the better first; none where it was
/// refused, or came from the spectrum.
fn frequency<'a>(
    trace: &Trace<'a>,
    quantity: Quantity,
    reference: ReferenceLevels,
    found: &mut Findings,
) -> Vec<Clock<'a>> {
    let clocks = match checked(trace) {
        Ok(pulses) => by_edges(trace, pulses, reference),
        Err(why) => {
            match by_spectrum(trace) {
                Some(value) => {
                    let span = Some((trace.channel.time.start_s(), trace.channel.time.end_s()));
                    found.value(quantity, trace.index, value, span);
                }
                None => found.refuse(quantity, trace.index, why),
            }
            return Vec::new();
        }
    };
    let Some(clock) = clocks.first() else {
        found.refuse(quantity, trace.index, "its edges are not evenly spaced");
        return Vec::new();
    };
    let (first, last) = (clock.edges[0], clock.edges[clock.edges.len() - 1]);
    let span = (trace.time(first), trace.time(last));
    let marks = clock
        .edges
        .iter()
        .take(MARKED)
        .chain(std::iter::once(&last));
    let level = trace.pulses().map(|p| trace.true_of(p.threshold));
    let marks = marks.map(|p| Mark::Instant {
        at_s: trace.time(*p),
        level,
    });
    found.marked(
        quantity,
        trace.index,
        hertz(trace, &clock.period),
        Some(span),
        marks.collect(),
    );
    clocks
}

/// Edges marked in the lane, besides the last.
const MARKED: usize = 12;

/// Rising and falling edges, those first that tell the period better: on a ramp the falls are steep but may be
/// faster than the samples, the rises slow but noisy.
fn by_edges<'a>(
    trace: &Trace<'a>,
    pulses: &'a Pulses,
    reference: ReferenceLevels,
) -> Vec<Clock<'a>> {
    let resolved = |rises: bool| match Train::of(*trace, reference) {
        Some(train) => train.resolved(rises == (trace.known.gain > 0.0)),
        // a waveform without two states passes its middle in several samples, but for a steep fall
        None => {
            rises
                || pulses
                    .turning
                    .is_some_and(|t| 0.8 * t.fall_samples >= RESOLVED_SAMPLES)
        }
    };
    let clock = |edges: &'a Vec<f64>, rises: bool, resolved: bool| {
        let period = period::fit(edges, resolved)?;
        Some(Clock {
            edges,
            rises: rises == (trace.known.gain > 0.0),
            resolved,
            period,
        })
    };
    let doubt = |c: &Clock<'_>| c.period.u.hypot(c.period.within / 3.0_f64.sqrt());
    let rising = clock(&pulses.rising, true, resolved(true));
    let falling = clock(&pulses.falling, false, resolved(false));
    let mut both: Vec<Clock<'a>> = rising.into_iter().chain(falling).collect();
    both.sort_by(|a, b| doubt(a).total_cmp(&doubt(b)));
    both
}

fn hertz(trace: &Trace<'_>, period: &Period) -> Value {
    let hertz = 1.0 / (period.samples * trace.interval_s());
    let terms = vec![
        Term::normal("jitter of the edges", hertz * period.u / period.samples),
        Term::within("sample interval", hertz * period.within / period.samples),
        Term::within("time base (assumed)", 1e-4 * hertz).tied(TieSource::TimeBase, -1.0),
    ];
    let mut value = Value::from_terms(hertz, terms);
    value.count = period.count - 1;
    value
}

/// Smallest share of the variance that a sine has to carry to be called the frequency of the channel.
const LEAST_SHARE: f64 = 0.3;

/// The frequency of the sine that stands out, where edges gave none and an alias is out of the question.
fn by_spectrum(trace: &Trace<'_>) -> Option<Value> {
    timed_evenly(trace).ok()?;
    let tone = trace.facts().tone.filter(|t| t.share > LEAST_SHARE)?;
    let rate = 1.0 / trace.interval_s();
    let hertz = tone.cycles_per_sample * rate;
    if rate - hertz < HIGHEST_OSCILLATOR_HZ || hertz > FASTEST * HIGHEST_OSCILLATOR_HZ {
        return None;
    }
    let terms = vec![
        Term::normal("spectrum", tone.u_cycles * rate),
        Term::within("time base (assumed)", 1e-4 * hertz).tied(TieSource::TimeBase, -1.0),
    ];
    Some(Value::from_terms(hertz, terms))
}

/// Are there edges enough, samples enough between them, and is an alias out of the question?
fn checked<'a>(trace: &Trace<'a>) -> Result<&'a Pulses, String> {
    timed_evenly(trace)?;
    let pulses = trace.pulses().ok_or_else(|| {
        format!(
            "it does not move: it stays at {:.2} V",
            trace.true_of(trace.facts().mean)
        )
    })?;
    let edges = &pulses.rising;
    if edges.len() < 3 {
        return Err(format!(
            "only {} rising edges in the record; record longer",
            edges.len()
        ));
    }
    if pulses.cut {
        return Err(format!("more than {} edges; record shorter", Pulses::MOST));
    }
    let period = (edges[edges.len() - 1] - edges[0]) / (edges.len() - 1) as f64;
    if period < FEWEST_SAMPLES {
        return Err(format!(
            "only {period:.1} samples a cycle; record with a faster time base"
        ));
    }
    if let Some(why) = may_alias(trace, period).or_else(|| unbelievable(trace)) {
        return Err(why);
    }
    if let Some(why) = only_ripples(trace) {
        return Err(why);
    }
    // ringing that crosses the middle may leave one direction even, at a wrong rate
    let uneven = irregular(edges).or_else(|| irregular(&pulses.falling));
    uneven.map_or(Ok(pulses), Err)
}

/// Why what shows one cycle in so many samples may be the alias of something faster; `None` where even
/// the fastest oscillator of the family would show otherwise.
pub(super) fn may_alias(trace: &Trace<'_>, period: f64) -> Option<String> {
    let rate = 1.0 / trace.interval_s();
    let apparent = rate / period;
    (rate - apparent < HIGHEST_OSCILLATOR_HZ).then(|| {
        format!(
            "at {:.0} kS/s the {:.1} kHz seen may be the alias of something faster; record with at least 1 MS/s",
            rate / 1e3,
            apparent / 1e3
        )
    })
}

/// Nothing in the family switches faster than so many times its usual fastest oscillator: what does, rings.
const FASTEST: f64 = 2.0;

/// Why what shows one cycle in so many samples is faster than any of the family.
fn too_fast(trace: &Trace<'_>, period: f64) -> Option<String> {
    let seen = 1.0 / (period * trace.interval_s());
    (seen > FASTEST * HIGHEST_OSCILLATOR_HZ).then(|| {
        format!(
            "{:.2} MHz is faster than any controller of the family switches: ringing is counted, or noise",
            seen / 1e6
        )
    })
}

/// OUT and gate swing by volts; less than this is what couples into a pin that stands still.
const LEAST_SWING_V: f64 = 1.5;

/// What moves at the rate of the mains or of twice that may be hum, in hertz: no RT and CT in use are so slow …
pub(super) const HUM_HZ: f64 = 150.0;
/// … and what spends a tenth of its time below this is: a driver pin goes no further below ground than a diode
/// allows (common practice), in volts.
const BELOW_GROUND_V: f64 = -0.5;

/// Why what a pin shows is hum of the mains on a probe that hangs in the air; `None` where it is not.
pub(super) fn hum(trace: &Trace<'_>) -> Option<String> {
    let tail = trace
        .facts()
        .histogram
        .quantile(if trace.known.gain > 0.0 { 0.1 } else { 0.9 });
    let pulses = trace.pulses()?;
    let mut gaps: Vec<f64> = pulses.rising.windows(2).map(|w| w[1] - w[0]).collect();
    let hertz = if gaps.is_empty() {
        0.5 * pulses.edges() as f64 / trace.span_s()
    } else {
        1.0 / (stats::median(&mut gaps) * trace.interval_s())
    };
    let low = trace.true_of(tail);
    (hertz < HUM_HZ && low < BELOW_GROUND_V).then(|| {
        format!("what is seen runs at {hertz:.0} Hz and goes down to {low:.1} V: hum of the mains on a probe that floats; look at its ground and at what it touches")
    })
}

/// Why a driver pin that hardly moves has no pulses.
pub(super) fn only_ripples(trace: &Trace<'_>) -> Option<String> {
    let driver = matches!(trace.known.role.value, Some(Role::Out | Role::Gate));
    if let Some(why) = hum(trace).filter(|_| driver) {
        return Some(why);
    }
    let swing = trace.facts().peak_to_peak() * trace.known.gain.abs();
    (driver && swing < LEAST_SWING_V).then(|| {
        format!(
            "it does not pulse: it stays at {:.2} V and moves by {swing:.2} V only",
            trace.true_of(trace.facts().mean)
        )
    })
}

/// Why the cycles of a pin can't be believed: an alias, or faster than anything here; `None` where
/// there are too few to say.
pub(super) fn unbelievable(trace: &Trace<'_>) -> Option<String> {
    let rising = &trace.pulses()?.rising;
    let mut gaps: Vec<f64> = rising.windows(2).map(|w| w[1] - w[0]).collect();
    let period = stats::median(&mut gaps);
    may_alias(trace, period).or_else(|| too_fast(trace, period))
}

/// Is a record too slow for a pin to be called still? Samples in step with its pulses would look the
/// same. Records of extremes miss nothing.
pub(super) fn too_slow_for_still(trace: &Trace<'_>) -> bool {
    trace.channel.kind == SampleKind::Instant
        && 1.0 / trace.interval_s() < 2.0 * HIGHEST_OSCILLATOR_HZ
}

/// Edges are counted in samples: they are times only where each sample is one instant, and all steps
/// are the same.
pub(super) fn timed_evenly(trace: &Trace<'_>) -> Result<(), String> {
    if trace.channel.kind == SampleKind::MinMaxPair {
        return Err(
            "the record holds the extremes of intervals, not instants, so its edges have no times; record without peak detection"
                .to_owned(),
        );
    }
    let time = &trace.channel.time;
    let (mean_s, count) = (time.interval_s(), time.len());
    // looked at in a few hundred places: a gap or another step shifts all that follows
    let places = (1..=256).map(|k| k * count.saturating_sub(1) / 256);
    let far = |i: usize| (time.at(i) - time.start_s() - i as f64 * mean_s).abs() > 2.0 * mean_s;
    if !time.is_uniform() && places.into_iter().any(far) {
        return Err(
            "the record has gaps, or its sample interval changes; record in one piece".to_owned(),
        );
    }
    Ok(())
}

/// Edges that miss or come in bursts make a mean period meaningless.
fn irregular(edges: &[f64]) -> Option<String> {
    let gaps: Vec<f64> = edges.windows(2).map(|w| w[1] - w[0]).collect();
    let usual = stats::median(&mut gaps.clone());
    let odd = gaps
        .iter()
        .filter(|gap| !(0.5..1.5).contains(&(*gap / usual)))
        .count();
    (odd * 20 > edges.len()).then(|| {
        format!(
            "{odd} of {} periods differ by more than half: pulses are missing or come in bursts",
            edges.len() - 1
        )
    })
}

/// Both frequencies come from one time base: its error cancels.
fn ratio(shot: &InspectedCapture, found: &mut Findings) {
    let both = (
        found.found(Quantity::OscillatorFrequency).cloned(),
        found.found(Quantity::OutFrequency).cloned(),
    );
    if let (Some(oscillator), Some(out)) = both
        && let Some(channel) = shot.channel_of(Role::Out)
    {
        let value = Value::of(|x| x[0] / x[1], &[&oscillator, &out]);
        found.value(Quantity::OscillatorToOutRatio, channel, value, None);
    }
}
