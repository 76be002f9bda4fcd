//! Rise and fall time, overshoot and undershoot of OUT and gate (IEEE 181).

use crate::data::{
    InspectedCapture, Mark, Quantity, ReferenceLevels, Role, ShotKind, Term, TieSource, Value,
};
use crate::signal::overlay::Overlay;
use crate::signal::{Transition, aberrations, mean_edge, stats, transition};

use super::Findings;
use super::frequency::{only_ripples, timed_evenly, unbelievable};
use super::trace::Trace;
use super::train::{RESOLVED_SAMPLES, Train};

/// The window after an edge in which an overshoot counts, in transition durations (common practice;
/// IEEE 181 leaves it to be stated).
pub const WINDOW_DURATIONS: f64 = 3.0;

/// Edges whose instants are marked in the lane.
const MARKED: usize = 6;

struct Wanted {
    role: Role,
    rises: bool,
    duration: Quantity,
    aberration: Option<Quantity>,
}

const WANTED: [Wanted; 4] = [
    Wanted {
        role: Role::Out,
        rises: true,
        duration: Quantity::OutRiseTime,
        aberration: Some(Quantity::OutOvershoot),
    },
    Wanted {
        role: Role::Out,
        rises: false,
        duration: Quantity::OutFallTime,
        aberration: Some(Quantity::OutUndershoot),
    },
    Wanted {
        role: Role::Gate,
        rises: true,
        duration: Quantity::GateRiseTime,
        aberration: Some(Quantity::GateOvershoot),
    },
    Wanted {
        role: Role::Gate,
        rises: false,
        duration: Quantity::GateFallTime,
        aberration: None,
    },
];

/// Edge shapes of OUT and gate in a fast record; nothing where the pin does not pulse.
pub fn measure(shot: &InspectedCapture, reference: ReferenceLevels, found: &mut Findings) {
    if shot.kind.value != Some(ShotKind::Running) {
        return;
    }
    for wanted in &WANTED {
        if let Some(trace) = Trace::of_role(shot, wanted.role)
            && let Some(train) = Train::of(trace, reference)
        {
            one(&train, wanted, found);
        }
    }
}

fn one(train: &Train<'_>, wanted: &Wanted, found: &mut Findings) {
    let channel = train.trace.index;
    match duration(train, wanted.rises) {
        Err(why) => {
            found.refuse(wanted.duration, channel, why.clone());
            if let Some(quantity) = wanted.aberration {
                found.refuse(quantity, channel, why);
            }
        }
        Ok(value) => {
            let (span, marks) = marked(train, wanted.rises);
            found.marked(wanted.duration, channel, value, span, marks);
            if let Some(quantity) = wanted.aberration {
                aberration(train, wanted, quantity, found);
            }
        }
    }
}

/// Transition duration of the kept edges, laid over each other so that edges of a few samples show
/// their shape between the samples.
fn duration(train: &Train<'_>, rises: bool) -> Result<Value, String> {
    timed_evenly(&train.trace)?;
    if let Some(why) = unbelievable(&train.trace).or_else(|| only_ripples(&train.trace)) {
        return Err(why);
    }
    let word = if rises { "rise" } else { "fall" };
    let interval_s = train.trace.interval_s();
    let mut single = durations(train, rises, train.states());
    if single.len() < 2 {
        return Err(format!(
            "fewer than two complete {word}s in the record; record longer"
        ));
    }
    let median = stats::median(&mut single);
    if median < RESOLVED_SAMPLES {
        let most = RESOLVED_SAMPLES * interval_s;
        let most = crate::data::text::engineering(most, crate::data::Unit::Second, 2);
        return Err(format!(
            "the {word} is faster than the samples show: below {most}; record with a faster time base"
        ));
    }
    let found = overlaid(train, rises, train.states());
    let (samples, u, doubt) = found.unwrap_or_else(|| one_by_one(&single, median));
    let seconds = samples * interval_s;
    let levels = if found.is_some() {
        level_effect(train, rises, samples)
    } else {
        // half of either level's error over the mean slope of the edge
        train.u_state() / (train.pulses.high - train.pulses.low) * median
    };
    let terms = vec![
        Term::normal("scatter of the edges", u * interval_s),
        Term::within("samples on the edge", doubt * interval_s),
        Term::normal("state levels", levels * interval_s),
        Term::within("time base (assumed)", 1e-4 * seconds).tied(TieSource::TimeBase, 1.0),
    ];
    let listed = single.iter().map(|s| s * interval_s).collect();
    corrected(
        train,
        Value::from_terms(seconds, terms).with_singles(listed),
        word,
    )
}

/// The value without what the bandwidth adds, where it was told.
fn corrected(train: &Train<'_>, recorded: Value, word: &str) -> Result<Value, String> {
    let Some(bandwidth_hz) = train.trace.known.bandwidth_hz else {
        return Ok(recorded);
    };
    let without =
        crate::signal::bandwidth::corrected(recorded.value, bandwidth_hz).map_err(|why| {
            format!("the {word} can't be told from that of the scope and its probe: {why}")
        })?;
    let steepness = recorded.value / without.seconds;
    let mut terms = Value::linear(without.seconds, &[(steepness, &recorded)]).terms;
    terms.push(Term::within("bandwidth", without.within_s));
    let mut value = Value::from_terms(without.seconds, terms);
    value.count = recorded.count;
    Ok(value)
}

/// What laying edges over each other leaves open of a duration, in samples, at least: their mesial
/// instants are known to some hundredths of a sample.
const OVERLAY_DOUBT: f64 = 0.03;

/// The same in empty stretches of the sample interval, where those are wide.
const DOUBT_IN_GAPS: f64 = 0.12;

/// By how much straight lines between samples make a duration of so many samples too long, at most: they
/// cut the corners. Found on straight, RC, Gaussian and raised-cosine edges at all places of the samples
/// (closed forms); an edge that bends over many samples is off by up to 0.82 / `samples`.
fn most_longer(samples: f64) -> f64 {
    (1.37 / samples).min((0.82 + 3.2 / samples) / samples)
}

/// The same for too short: where the corner of an RC falls on a sample, its first crossing is late by up
/// to Ts²/(8τ), with ln 9 τ in `samples`.
fn most_shorter(samples: f64) -> f64 {
    0.275 / samples
}

/// Duration from the single ones, its standard uncertainty, and the half-width that straight lines between
/// samples leave of it: the middle of the room that they leave, and half of that.
fn one_by_one(single: &[f64], median: f64) -> (f64, f64, f64) {
    let summary = stats::summary(single);
    let u = summary.deviation / (single.len() as f64).sqrt();
    let (longer, shorter) = (most_longer(median), most_shorter(median));
    // either end of the room may be the truth, and 95 % of a rectangle leave 5 % of it out; as much again
    // for the median, which is off itself
    let half = 0.5 * (longer + shorter) / 0.9;
    (summary.mean - 0.5 * (longer - shorter), u, half)
}

/// Duration, its standard uncertainty from the scatter, and the half-width that the method leaves of it,
/// in samples.
fn overlaid(train: &Train<'_>, rises: bool, states: (f64, f64)) -> Option<(f64, f64, f64)> {
    let found = train.transitions(rises, states);
    let middle_of = |part: fn(&Transition) -> f64| {
        let mut all: Vec<f64> = found.iter().map(|(_, t)| part(t) - t.middle).collect();
        stats::median(&mut all)
    };
    let (low, high) = (middle_of(|t| t.low), middle_of(|t| t.high));
    let edges: Vec<_> = found.iter().map(|(edge, _)| *edge).collect();
    let overlay = Overlay::of(&edges, states, &train.reference)?;
    let level = |share: f64| states.0 + share * (states.1 - states.0);
    let duration = (high - low).abs();
    let from = overlay.instant(level(train.reference.low), low, duration)?;
    let to = overlay.instant(level(train.reference.high), high, duration)?;
    let doubt = (DOUBT_IN_GAPS * from.gap.max(to.gap)).max(OVERLAY_DOUBT);
    Some(((to.at - from.at).abs(), to.u.hypot(from.u), doubt))
}

fn durations(train: &Train<'_>, rises: bool, states: (f64, f64)) -> Vec<f64> {
    let found = train.transitions(rises, states);
    found.iter().map(|(_, t)| t.duration()).collect()
}

/// By how much the duration moves when the state levels are off by their uncertainty, in samples.
fn level_effect(train: &Train<'_>, rises: bool, here: f64) -> f64 {
    let (low, high) = train.states();
    let u = train.u_state();
    let moved =
        |states| overlaid(train, rises, states).map_or(0.0, |(samples, _, _)| samples - here);
    moved((low + u, high)).hypot(moved((low, high + u)))
}

/// Excursion beyond the state after the mean edge, less what noise alone would show.
fn aberration(train: &Train<'_>, wanted: &Wanted, quantity: Quantity, found: &mut Findings) {
    let channel = train.trace.index;
    let edges: Vec<_> = train.kept(wanted.rises).collect();
    let states = train.states();
    let rises = edges.first().is_some_and(|e| e.rises);
    let shape = mean_edge(&edges, states, &train.reference).and_then(|mean| {
        Some((
            transition(&mean.values, rises, states, &train.reference)?,
            mean,
        ))
    });
    let Some((edge, mean)) = shape else {
        found.refuse(
            quantity,
            channel,
            "the edges differ too much to be laid over each other",
        );
        return;
    };
    let window = WINDOW_DURATIONS * edge.duration();
    if edge.end() + window > mean.values.len() as f64 - 1.0 {
        found.refuse(
            quantity,
            channel,
            "the next edge comes before three transition durations are over",
        );
        return;
    }
    let seen = aberrations(&mean.values, &edge, states, window);
    let share = if rises { seen.over } else { seen.under };
    let amplitude = states.1 - states.0;
    let noise = train.trace.facts().noise / (mean.count as f64).sqrt() / amplitude;
    // the highest of m noisy means lies about σ√(2 ln m) up where nothing else does
    let by_noise = noise * (2.0 * window.max(2.0).ln()).sqrt();
    let value = if share > 3.0 * by_noise {
        share
    } else {
        (share - by_noise).max(0.0)
    };
    let terms = vec![
        Term::normal("noise", noise),
        Term::normal("state levels", train.u_state() * (1.0 + share) / amplitude),
        Term::within(
            "sample interval",
            top_doubt(&mean.values, &edge, window, rises) / amplitude,
        ),
        Term::within(
            "what noise alone would show",
            if share > 3.0 * by_noise {
                0.0
            } else {
                by_noise
            },
        ),
    ];
    let (span, marks) = marked(train, wanted.rises);
    let mut value = Value::from_terms(value, terms);
    value.count = mean.count;
    found.marked(quantity, channel, value, span, marks);
}

/// How far the top between the samples may lie above the highest one: half of what its neighbours lie
/// below it.
fn top_doubt(values: &[f64], edge: &Transition, window: f64, rises: bool) -> f64 {
    let sign = if rises { 1.0 } else { -1.0 };
    let from = edge.end().ceil() as usize;
    let to = ((edge.end() + window) as usize + 1).min(values.len());
    let top = (from..to).max_by(|a, b| (sign * values[*a]).total_cmp(&(sign * values[*b])));
    let Some(top) = top.filter(|t| *t > 0 && t + 1 < values.len()) else {
        return 0.0;
    };
    let beside = 0.5 * (values[top - 1] + values[top + 1]);
    (0.25 * sign * (values[top] - beside)).max(0.0)
}

/// The states over the record, and the instants of a few edges at the reference levels.
fn marked(train: &Train<'_>, rises: bool) -> (Option<(f64, f64)>, Vec<Mark>) {
    let trace = &train.trace;
    let (low, high) = train.states();
    let found = train.transitions(rises, (low, high));
    let mut marks = Vec::new();
    for (edge, t) in found.iter().take(MARKED) {
        for (at, share) in [
            (t.low, train.reference.low),
            (t.middle, train.reference.middle),
            (t.high, train.reference.high),
        ] {
            marks.push(Mark::Instant {
                at_s: trace.time(edge.first as f64 + at),
                level: Some(trace.true_of(low + share * (high - low))),
            });
        }
    }
    let place =
        |e: Option<&(&crate::data::KeptEdge, Transition)>| e.map(|(e, _)| trace.time(e.position));
    let span = place(found.first()).zip(place(found.last()));
    if let Some((from_s, to_s)) = span {
        for raw in [low, high] {
            marks.push(Mark::Level {
                level: trace.true_of(raw),
                from_s,
                to_s,
            });
        }
    }
    (span, marks)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Duration by straight lines between samples of which one lies `before` the corner of an edge.
    fn sampled(edge: &dyn Fn(f64) -> f64, before: f64) -> f64 {
        let values: Vec<f64> = (0..400)
            .map(|i| edge(f64::from(i) - 100.0 - before))
            .collect();
        let levels = ReferenceLevels::default();
        transition(&values, true, (0.0, 1.0), &levels).map_or(f64::NAN, |t| t.duration())
    }

    /// Closed forms of one RC (ln 9 of it from 10 to 90 %) and of a straight edge (0.8 of it).
    #[test]
    fn straight_lines_change_a_duration_by_no_more_than_said() {
        for samples in [
            1.7, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 20.0, 30.0,
        ] {
            let rc = |t: f64| 1.0 - (-t.max(0.0) * 9.0_f64.ln() / samples).exp();
            let straight = |t: f64| (0.8 * t / samples).clamp(0.0, 1.0);
            for place in 0..50 {
                for edge in [&rc as &dyn Fn(f64) -> f64, &straight] {
                    let longer = sampled(edge, f64::from(place) / 50.0) - samples;
                    let room = -most_shorter(samples) - 1e-9..=most_longer(samples);
                    assert!(
                        room.contains(&longer),
                        "{samples} samples, {place}: {longer}"
                    );
                }
            }
        }
    }
}
