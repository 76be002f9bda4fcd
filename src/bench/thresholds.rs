//! VCC at the starts and stops: a line before the event, and what of its ripple the comparator saw.

use crate::data::{
    Event, EventKind, InspectedCapture, Mark, Quantity, Role, ShotKind, Term, Value,
};
use crate::signal::{Line, stats};

use super::trace::Trace;
use super::{Findings, count, events};

/// Most samples in the line before an event.
const MOST_SAMPLES: usize = 400;
/// Fewest of them.
const FEWEST_SAMPLES: usize = 5;
/// Volts over which VCC counts as straight before an event.
const STRAIGHT_V: f64 = 1.0;

/// A record of more samples than this is long: what is read of it near events is kept well below a
/// hundredth, by shorter lines where the events are many.
const LONG: usize = 500_000;
/// Fewest samples that a line is shortened to for that.
const SHORTEST_LINE: usize = 40;

/// VCC at one event.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reading {
    /// The fitted line at the event: what a multimeter would have shown.
    mean_v: f64,
    /// Peak part of the ripple that stands out of the noise.
    ripple_v: f64,
    /// Ripple that the noise could hide.
    hidden_v: f64,
    /// Standard uncertainty of the line.
    u_fit: f64,
    /// Half-width of what VCC does within the interval in which the event lies.
    within_v: f64,
    /// Code steps that the line runs over.
    codes: f64,
    at_s: f64,
}

impl Reading {
    /// What the comparator saw.
    fn seen(&self, kind: EventKind) -> f64 {
        match kind {
            EventKind::Start => self.mean_v + self.ripple_v,
            EventKind::Stop => self.mean_v - self.ripple_v,
        }
    }
}

/// Fits VCC before each event and writes value and u95 into it. The readings are empty without VCC.
pub(super) fn fill_vcc(shot: &InspectedCapture, events: &mut [Event]) -> Vec<Option<Reading>> {
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return Vec::new();
    };
    let readings = readings(&vcc, events);
    for (event, reading) in events.iter_mut().zip(&readings) {
        event.vcc = reading.as_ref().map(|r| {
            let value = single(&vcc, event.kind, r);
            (value.value, value.u95)
        });
    }
    readings
}

/// Samples that the line before one of so many events may run over.
fn line_samples(samples: usize, events: usize) -> usize {
    if samples < LONG {
        return MOST_SAMPLES;
    }
    (samples / 250 / events.max(1)).clamp(SHORTEST_LINE, MOST_SAMPLES)
}

fn readings(vcc: &Trace<'_>, events: &[Event]) -> Vec<Option<Reading>> {
    let mut previous = f64::NEG_INFINITY;
    let most = line_samples(vcc.len(), events.len());
    events
        .iter()
        .map(|event| {
            let reading = read(vcc, event, previous, most);
            previous = event.at_s + event.within_s;
            reading
        })
        .collect()
}

/// A line through the samples before the event, as far back as VCC is straight.
fn read(vcc: &Trace<'_>, event: &Event, previous_s: f64, most: usize) -> Option<Reading> {
    let step = vcc.interval_s();
    // the event is certain to lie after this sample
    let end = vcc
        .channel
        .time
        .index_from(event.at_s - event.within_s + 0.25 * step);
    let begin = end
        .saturating_sub(most)
        .max(vcc.channel.time.index_from(previous_s + 2.0 * step));
    let values = vcc.values(begin..end);
    let straight = straight_tail(&values, vcc);
    if straight.len() < FEWEST_SAMPLES {
        return None;
    }
    let first = end - straight.len();
    let points = straight
        .iter()
        .enumerate()
        .map(|(i, v)| (vcc.channel.time.at(first + i) - event.at_s, *v));
    let line = Line::fit(points.clone())?;
    let residuals: Vec<f64> = points
        .map(|(t, v)| v - line.at(t))
        .filter(|r| r.is_finite())
        .collect();
    let ripple = ripple(&residuals);
    let (low, high) = straight
        .iter()
        .fold((f64::MAX, f64::MIN), |a, v| (a.0.min(*v), a.1.max(*v)));
    Some(Reading {
        mean_v: line.at(0.0),
        ripple_v: ripple.peak_v,
        hidden_v: ripple.hidden_v,
        u_fit: line.u_at_with(0.0, line.scatter.max(vcc.grain())),
        within_v: line.slope.abs() * event.within_s,
        codes: if vcc.resolution() > 0.0 {
            (high - low) / vcc.resolution()
        } else {
            f64::INFINITY
        },
        at_s: event.at_s,
    })
}

/// The end of `values` over which VCC moves by at most [`STRAIGHT_V`], and does not turn.
fn straight_tail<'a>(values: &'a [f64], vcc: &Trace<'_>) -> &'a [f64] {
    let width = 5.min(values.len());
    let mut tail: Vec<f64> = values[values.len() - width..].to_vec();
    let last = stats::median(&mut tail);
    let allowed = STRAIGHT_V + 4.0 * vcc.grain();
    let begin = values
        .iter()
        .rposition(|v| (v - last).abs() > allowed)
        .map_or(0, |i| i + 1);
    &values[begin..]
}

/// Ripple of the rail before one event.
#[derive(Debug, Clone, Copy, Default)]
struct Ripple {
    /// Its amplitude (peak of a sine of the same power), 0 when it does not stand out.
    peak_v: f64,
    /// Amplitude that could hide in the noise of so few samples.
    hidden_v: f64,
}

/// The part of the scatter about the line that sample-to-sample noise does not explain.
///
/// Noise is read from second differences of the same samples, which slow ripple does not enter: its
/// variance is a sixth of theirs. Both variances are known to √(2/n) and √(35/9n) of themselves, and
/// what exceeds their difference threefold stands out.
fn ripple(residuals: &[f64]) -> Ripple {
    let count = residuals.len() as f64;
    if residuals.len() < 25 {
        return Ripple::default();
    }
    let scatter = stats::summary(residuals).deviation.powi(2);
    let second = residuals
        .windows(3)
        .map(|w| (w[0] - 2.0 * w[1] + w[2]).powi(2));
    let noise = second.sum::<f64>() / (count - 2.0) / 6.0;
    let limit = 3.0 * noise * (2.0 / count + 35.0 / 9.0 / count).sqrt();
    let peak = |square: f64| (2.0 * square).sqrt();
    if scatter - noise > limit {
        Ripple {
            peak_v: peak(scatter - noise),
            hidden_v: 0.0,
        }
    } else {
        Ripple {
            peak_v: 0.0,
            hidden_v: peak(limit),
        }
    }
}

fn single(vcc: &Trace<'_>, kind: EventKind, reading: &Reading) -> Value {
    let mut terms = vcc.systematic(reading.seen(kind));
    terms.extend(random(vcc, std::slice::from_ref(reading)));
    Value::from_terms(reading.seen(kind), terms)
}

/// The part of the budget that averaging over events makes smaller.
fn random(vcc: &Trace<'_>, readings: &[Reading]) -> Vec<Term> {
    let n = readings.len() as f64;
    let mean = |f: &dyn Fn(&Reading) -> f64| readings.iter().map(f).sum::<f64>() / n;
    let fit = mean(&|r| r.u_fit * r.u_fit).sqrt() / n.sqrt();
    let within = mean(&|r| r.within_v * r.within_v).sqrt() / n.sqrt();
    // its shape is not known; what hides in the noise hides the less, the more events there are
    let ripple = mean(&|r| r.ripple_v) * 0.25 + mean(&|r| r.hidden_v) / n.powf(0.25);
    // a line that runs over few codes does not average the code step away
    let coarse = mean(&|r| r.codes) < 3.0 && vcc.noise() < 0.4 * vcc.resolution();
    let resolution = if coarse {
        vcc.resolution_term()
    } else {
        Term::within("resolution", 0.0)
    };
    vec![
        Term::normal("noise", fit),
        Term::within("sample interval", within),
        Term::within("ripple", ripple),
        resolution,
    ]
}

/// Start and stop threshold, their means, hysteresis and starts per sweep.
pub(super) fn measure(
    shot: &InspectedCapture,
    events: &[Event],
    all: &[Option<Reading>],
    found: &mut Findings,
) {
    if !matches!(shot.kind.value, Some(ShotKind::Sweep | ShotKind::Start)) {
        return;
    }
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return;
    };
    let of_kind = |kind| -> Vec<Reading> {
        events
            .iter()
            .zip(all)
            .filter(|(e, _)| e.kind == kind)
            .filter_map(|(_, r)| *r)
            .collect()
    };
    let starts = of_kind(EventKind::Start);
    let stops = of_kind(EventKind::Stop);
    one(shot, &vcc, EventKind::Start, &starts, events, found);
    one(shot, &vcc, EventKind::Stop, &stops, events, found);
    // a start that holds has no stop, and no hysteresis to be missed
    let holds = shot.kind.value == Some(ShotKind::Start) && stops.is_empty();
    let none = starts.is_empty() && stops.is_empty();
    if !holds && !none {
        hysteresis(&vcc, &starts, &stops, found);
    }
    if shot.kind.value == Some(ShotKind::Sweep) {
        starts_per_sweep(&vcc, events, found);
    }
}

fn one(
    shot: &InspectedCapture,
    vcc: &Trace<'_>,
    kind: EventKind,
    readings: &[Reading],
    events: &[Event],
    found: &mut Findings,
) {
    let (threshold, mean) = match kind {
        EventKind::Start => (Quantity::StartThreshold, Quantity::StartThresholdMean),
        EventKind::Stop => (Quantity::StopThreshold, Quantity::StopThresholdMean),
    };
    if readings.is_empty() {
        if let Some(why) = why_none(shot, kind, events) {
            found.refuse(threshold, vcc.index, why);
        }
        return;
    }
    let span = Some((readings[0].at_s, readings[readings.len() - 1].at_s));
    let seen: Vec<f64> = readings.iter().map(|r| r.seen(kind)).collect();
    let means: Vec<f64> = readings.iter().map(|r| r.mean_v).collect();
    let value = joined(vcc, readings, &seen);
    found.marked(threshold, vcc.index, value, span, marks(readings, &seen));
    // without ripple both are the same
    if readings.iter().any(|r| r.ripple_v > 0.0) {
        let value = joined(vcc, readings, &means);
        found.marked(mean, vcc.index, value, span, marks(readings, &means));
    }
}

/// The volts of single events where they were taken.
fn marks(readings: &[Reading], volts: &[f64]) -> Vec<Mark> {
    let mark = |(reading, volts): (&Reading, &f64)| Mark::Instant {
        at_s: reading.at_s,
        level: Some(*volts),
    };
    readings.iter().zip(volts).map(mark).collect()
}

/// Why there is no threshold; `None` where none is to be expected, as a stop in a start that holds.
fn why_none(shot: &InspectedCapture, kind: EventKind, events: &[Event]) -> Option<String> {
    let word = kind.id();
    if events.iter().any(|e| e.kind == kind) {
        return Some(format!(
            "fewer than {FEWEST_SAMPLES} samples of VCC lie before each {word}; record it with a faster time base"
        ));
    }
    let witnessed = [Role::Vref, Role::RtCt]
        .iter()
        .any(|role| shot.channel_of(*role).is_some());
    match shot.kind.value {
        Some(ShotKind::Start) if kind == EventKind::Stop => None,
        Some(ShotKind::Sweep) if !witnessed => Some(format!(
            "nothing in this capture shows a {word}; record {} or {} beside VCC",
            Role::Vref.title_with_pin(),
            Role::RtCt.title_with_pin()
        )),
        _ => Some(format!("no {word} is seen in this capture")),
    }
}

/// Mean over events: the systematic part once, the random part by the spread of the events where
/// that is larger than the fits say.
fn joined(vcc: &Trace<'_>, readings: &[Reading], values: &[f64]) -> Value {
    let spread = stats::summary(values);
    let mut terms = vcc.systematic(spread.mean);
    let mut random = random(vcc, readings);
    let expected = random.iter().map(|t| t.u * t.u).sum::<f64>().sqrt();
    let n = values.len() as f64;
    if n >= 2.0 {
        let u = spread.deviation / n.sqrt();
        if u > if n > 2.0 { expected } else { 4.0 * expected } {
            random = vec![Term {
                name: "spread of the events",
                u,
                shape: crate::data::Shape::Student { degrees: n - 1.0 },
                tie: None,
            }];
        }
    }
    terms.extend(random);
    Value::from_terms(spread.mean, terms).with_singles(values.to_vec())
}

/// Start minus stop: the offset cancels, the gain acts on the difference only.
fn hysteresis(vcc: &Trace<'_>, starts: &[Reading], stops: &[Reading], found: &mut Findings) {
    if starts.is_empty() || stops.is_empty() {
        found.refuse(
            Quantity::Hysteresis,
            vcc.index,
            "needs a start and a stop in one capture",
        );
        return;
    }
    let seen = |kind, set: &[Reading]| set.iter().map(|r| r.seen(kind)).collect::<Vec<_>>();
    let up = joined(vcc, starts, &seen(EventKind::Start, starts));
    let down = joined(vcc, stops, &seen(EventKind::Stop, stops));
    let span = Some((
        starts[0].at_s.min(stops[0].at_s),
        starts[starts.len() - 1]
            .at_s
            .max(stops[stops.len() - 1].at_s),
    ));
    found.value(
        Quantity::Hysteresis,
        vcc.index,
        Value::linear(up.value - down.value, &[(1.0, &up), (-1.0, &down)]),
        span,
    );
}

/// Starts between two deep falls of VCC; more than one is chatter.
fn starts_per_sweep(vcc: &Trace<'_>, events: &[Event], found: &mut Findings) {
    let swing = (0.25 * vcc.facts().peak_to_peak() * vcc.known.gain.abs()).max(1.0);
    let corners = super::corners::turning_points(vcc, swing);
    let tops = corners.iter().filter(|c| c.top).count();
    // the last rise may end with the record
    let rises = tops + usize::from(corners.last().is_none_or(|c| !c.top));
    let starts = events::runs(events).len();
    if starts > 0 {
        let per_sweep = (starts as f64 / rises as f64).ceil() as usize;
        found.value(Quantity::StartsPerSweep, vcc.index, count(per_sweep), None);
    }
}
