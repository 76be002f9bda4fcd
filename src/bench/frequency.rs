//! Frequency and duty cycle from edges, where the record is fast enough to be believed.

use crate::controllers::usual::HIGHEST_OSCILLATOR_HZ;
use crate::data::{InspectedCapture, Pulses, Quantity, Role, SampleKind, ShotKind, Term, Value};
use crate::signal::{Line, stats};

use super::Findings;
use super::trace::Trace;

/// Fewest samples in a cycle.
const FEWEST_SAMPLES: f64 = 6.0;

/// Frequencies, duty cycles and their ratio.
pub fn measure(shot: &InspectedCapture, found: &mut Findings) {
    if shot.kind.value != Some(ShotKind::Running) {
        return;
    }
    if let Some(rtct) = Trace::of_role(shot, Role::RtCt) {
        frequency(&rtct, Quantity::OscillatorFrequency, found);
    }
    for (role, frequency_of, duty_of) in [
        (Role::Out, Quantity::OutFrequency, Quantity::OutDutyCycle),
        (Role::Gate, Quantity::GateFrequency, Quantity::GateDutyCycle),
    ] {
        if let Some(trace) = Trace::of_role(shot, role)
            && frequency(&trace, frequency_of, found)
        {
            duty(&trace, duty_of, found);
        }
    }
    ratio(shot, found);
}

/// Period by a line through the rising edges over their number (the least-squares estimate of
/// equally spaced instants); true when there is one.
fn frequency(trace: &Trace<'_>, quantity: Quantity, found: &mut Findings) -> bool {
    match checked(trace) {
        Err(why) => {
            found.refuse(quantity, trace.index, why);
            false
        }
        Ok(pulses) => {
            let (value, span) = fitted(trace, pulses);
            found.value(quantity, trace.index, value, Some(span));
            true
        }
    }
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
    let rate = 1.0 / trace.interval_s();
    let apparent = rate / period;
    if rate - apparent < HIGHEST_OSCILLATOR_HZ {
        return Err(format!(
            "at {:.0} kS/s the {:.1} kHz seen may be the alias of something faster; record with at least 1 MS/s",
            rate / 1e3,
            apparent / 1e3
        ));
    }
    irregular(edges, period).map_or(Ok(pulses), Err)
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
fn irregular(edges: &[f64], period: f64) -> Option<String> {
    let odd = edges
        .windows(2)
        .filter(|w| !(0.5..1.5).contains(&((w[1] - w[0]) / period)))
        .count();
    (odd * 20 > edges.len()).then(|| {
        format!(
            "{odd} of {} periods differ by more than half: pulses are missing or come in bursts",
            edges.len() - 1
        )
    })
}

fn fitted(trace: &Trace<'_>, pulses: &Pulses) -> (Value, (f64, f64)) {
    let times: Vec<f64> = pulses.rising.iter().map(|p| trace.time(*p)).collect();
    let n = times.len() as f64;
    let points = times.iter().enumerate().map(|(i, t)| (i as f64, *t));
    let (first, last) = (times[0], times[times.len() - 1]);
    let (period, jitter) = Line::fit(points)
        .map_or(((last - first) / (n - 1.0), f64::NAN), |line| {
            (line.slope, line.u_slope())
        });
    let hertz = 1.0 / period;
    let relative = |seconds: f64| hertz * seconds / period;
    let step = trace.interval_s();
    let terms = vec![
        Term::normal("jitter of the edges", relative(jitter)),
        // edges faster than a sample are known to it at either end of the record
        Term::within(
            "sample interval",
            relative(edge_doubt(pulses) * step / (n - 1.0)),
        ),
        Term::within("time base (assumed)", 1e-4 * hertz),
    ];
    (Value::from_terms(hertz, terms), (first, last))
}

/// How much of a sample interval an edge may be off: all of it where edges are steps between two
/// samples, little where several samples lie on an edge.
fn edge_doubt(pulses: &Pulses) -> f64 {
    if pulses.gap { 1.0 } else { 0.2 }
}

fn duty(trace: &Trace<'_>, quantity: Quantity, found: &mut Findings) {
    let Some(pulses) = trace.pulses() else { return };
    let duties: Vec<f64> = pulses
        .rising
        .windows(2)
        .filter_map(|pair| {
            let fall = pulses
                .falling
                .get(pulses.falling.partition_point(|f| *f < pair[0]))?;
            (*fall < pair[1]).then(|| (fall - pair[0]) / (pair[1] - pair[0]))
        })
        .collect();
    if duties.len() < 2 {
        found.refuse(
            quantity,
            trace.index,
            "fewer than two complete cycles in the record",
        );
        return;
    }
    let summary = stats::summary(&duties);
    let n = duties.len() as f64;
    let period = 1.0 / found_frequency(found, trace).unwrap_or(f64::NAN);
    let step = trace.interval_s() / period;
    // sampling in step with the pulses repeats one error in every cycle instead of averaging it
    let systematic = if summary.deviation < 0.2 * step {
        step
    } else {
        0.5 * step
    };
    let terms = vec![
        Term::normal("spread of the cycles", summary.deviation / n.sqrt()),
        Term::within("sample interval", systematic),
    ];
    let listed = if duties.len() <= 64 {
        duties
    } else {
        Vec::new()
    };
    let mut value = Value::from_terms(summary.mean, terms).with_singles(listed);
    value.count = n as usize;
    found.value(quantity, trace.index, value, None);
}

fn found_frequency(found: &Findings, trace: &Trace<'_>) -> Option<f64> {
    let quantity = match trace.known.role.value {
        Some(Role::Gate) => Quantity::GateFrequency,
        _ => Quantity::OutFrequency,
    };
    found.found(quantity).map(|v| v.value)
}

/// Both frequencies come from one time base: its error cancels.
fn ratio(shot: &InspectedCapture, found: &mut Findings) {
    let both = (
        found.found(Quantity::OscillatorFrequency).cloned(),
        found.found(Quantity::OutFrequency).cloned(),
    );
    let (Some(oscillator), Some(out)) = both else {
        return;
    };
    let Some(channel) = shot.channel_of(Role::Out) else {
        return;
    };
    let value = oscillator.value / out.value;
    let own = |v: &Value| {
        v.terms
            .iter()
            .filter(|t| !t.name.starts_with("time base"))
            .map(|t| t.u * t.u)
            .sum::<f64>()
            .sqrt()
            / v.value
    };
    let u = value * own(&oscillator).hypot(own(&out));
    found.value(
        Quantity::OscillatorToOutRatio,
        channel,
        Value::from_terms(value, vec![Term::normal("edges", u)]),
        None,
    );
}
