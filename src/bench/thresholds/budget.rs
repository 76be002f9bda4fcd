//! From the readings of single events to one value: outliers apart, the systematic part once, the random
//! part by the fits or by the spread of the events.

use crate::data::{EventKind, Term, TieSource, Value};
use crate::signal::resolution::left_by_rounding;
use crate::signal::stats;

use super::super::trace::Trace;
use super::reading::Reading;

/// An event that lies this many times the usual spread from the middle one of three or more is an
/// outlier …
const OUTLIER: f64 = 6.0;
/// … if it also lies so many volts off it: less is no finding (a tenth of a volt is drift, common
/// practice).
const LEAST_OFF_V: f64 = 0.15;

/// Which VCC at an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Level {
    /// As the comparator saw it, with the ripple.
    Seen,
    /// As a multimeter would show it.
    Mean,
}

impl Level {
    fn of(self, reading: &Reading) -> f64 {
        match self {
            Self::Seen => reading.seen(),
            Self::Mean => reading.mean_v,
        }
    }
}

/// VCC at one event as the comparator saw it.
pub(super) fn single(vcc: &Trace<'_>, reading: &Reading) -> Value {
    joined(vcc, std::slice::from_ref(reading), Level::Seen)
}

/// Splits readings into those that agree and those that lie far off.
pub(super) fn without_outliers(
    vcc: &Trace<'_>,
    readings: &[Reading],
) -> (Vec<Reading>, Vec<Reading>) {
    if readings.len() < 3 {
        return (readings.to_vec(), Vec::new());
    }
    let seen: Vec<f64> = readings.iter().map(Reading::seen).collect();
    let middle = stats::median(&mut seen.clone());
    let mut off: Vec<f64> = seen.iter().map(|v| (v - middle).abs()).collect();
    let usual = 1.4826 * stats::median(&mut off);
    let expected = readings
        .iter()
        .map(|r| random_u(vcc, std::slice::from_ref(r)))
        .fold(0.0, f64::max);
    let limit = (OUTLIER * usual.max(expected)).max(LEAST_OFF_V);
    readings
        .iter()
        .cloned()
        .partition(|r| (r.seen() - middle).abs() <= limit)
}

fn random_u(vcc: &Trace<'_>, readings: &[Reading]) -> f64 {
    random(vcc, readings, Level::Seen)
        .iter()
        .map(|t| t.u * t.u)
        .sum::<f64>()
        .sqrt()
}

/// The part of the budget that averaging over events makes smaller.
fn random(vcc: &Trace<'_>, readings: &[Reading], level: Level) -> Vec<Term> {
    let n = readings.len() as f64;
    let mean = |f: &dyn Fn(&Reading) -> f64| readings.iter().map(f).sum::<f64>() / n;
    let fit = mean(&|r| r.u_fit * r.u_fit).sqrt() / n.sqrt();
    // what the ripple reaches is no doubt of the mean, but for extremes, whose middle it shifts
    let counts = |r: &Reading| level == Level::Seen || r.half.is_some();
    let alone = |r: &Reading| if counts(r) { r.ripple.alone_v } else { 0.0 };
    let within = mean(&|r| r.within_v.powi(2) + alone(r).powi(2)).sqrt() / n.sqrt();
    // its shape is not known; what may hide was looked for in all events together
    let reach = |r: &Reading| r.ripple.doubt_v + r.ripple.hidden_v;
    let ripple = mean(&|r| if counts(r) { reach(r) } else { 0.0 });
    let mut ripple = Term::within("ripple", ripple);
    if level == Level::Seen {
        // larger than thought it raises the starts and lowers the stops
        let way = match readings.first().map(|r| r.kind) {
            Some(EventKind::Stop) => -1.0,
            _ => 1.0,
        };
        ripple = ripple.tied(TieSource::Ripple(vcc.known.range), way);
    }
    // a line that runs over few codes does not average the code step away
    let coarse = mean(&|r| r.codes) < 3.0 && vcc.noise() < 0.4 * vcc.resolution();
    let mut terms = vec![
        Term::normal("noise", fit),
        Term::within("sample interval", within),
        ripple,
    ];
    if coarse {
        let left = left_by_rounding(vcc.resolution(), vcc.noise());
        terms.push(Term::within("resolution", left));
    }
    terms
}

/// The landings that all readings of a stepped VCC agree on, low and high; `None` where VCC does not
/// come in steps, or the readings contradict each other.
fn landings(readings: &[Reading]) -> Option<(f64, f64)> {
    let stairs: Option<Vec<_>> = readings.iter().map(|r| r.stair).collect();
    let stairs = stairs?;
    let low = stairs.iter().map(|s| s.low_v).fold(f64::MIN, f64::max);
    let high = stairs.iter().map(|s| s.high_v).fold(f64::MAX, f64::min);
    let u = stairs.iter().map(|s| s.u_v).fold(0.0, f64::max);
    let narrowest = stairs
        .iter()
        .map(|s| s.high_v - s.low_v)
        .fold(f64::MAX, f64::min);
    // brackets that overlap by their last few codes only are one step apart: no narrower than that
    let (low, high) = if high - low < 2.0 * u.max(0.1 * narrowest) {
        let middle = 0.5 * (low + high);
        (middle - 0.5 * narrowest, middle + 0.5 * narrowest)
    } else {
        (low, high)
    };
    (high > low).then_some((low, high))
}

/// Mean over events of one level at each.
pub(super) fn joined(vcc: &Trace<'_>, readings: &[Reading], level: Level) -> Value {
    let joint = Joint::of(vcc, readings, level);
    // the mean differs from event to event with where the ripple stood, and the threshold does not
    let seen: Vec<f64> = readings.iter().map(Reading::seen).collect();
    let random = with_spread(joint.random, &seen);
    let mut terms = vcc.systematic(joint.middle);
    terms.extend(random);
    Value::from_terms(joint.middle, terms).with_singles(joint.values)
}

/// Start minus stop as the comparator saw them: the offset cancels, the gain acts on the difference only. Where
/// each start has its stop, what both drift by together is no doubt of the difference.
pub(super) fn difference(vcc: &Trace<'_>, starts: &[Reading], stops: &[Reading]) -> Value {
    let paired = starts.len() == stops.len() && starts.len() > 1;
    if !paired {
        let (up, down) = (
            joined(vcc, starts, Level::Seen),
            joined(vcc, stops, Level::Seen),
        );
        return Value::linear(up.value - down.value, &[(1.0, &up), (-1.0, &down)]);
    }
    let (up, down) = (
        Joint::of(vcc, starts, Level::Seen),
        Joint::of(vcc, stops, Level::Seen),
    );
    let apart_by =
        |up: &Value, down: &Value| Value::linear(up.value - down.value, &[(1.0, up), (-1.0, down)]);
    let known = |level: f64| Value::from_terms(level, vcc.systematic(level));
    let both = apart_by(&known(up.middle), &known(down.middle));
    let apart: Vec<f64> = up
        .values
        .iter()
        .zip(&down.values)
        .map(|v| v.0 - v.1)
        .collect();
    let random = apart_by(
        &Value::from_terms(up.middle, up.random),
        &Value::from_terms(down.middle, down.random),
    );
    let mut terms = both.terms;
    terms.extend(with_spread(random.terms, &apart));
    Value::from_terms(both.value, terms)
}

/// What the events have in common, before their spread is looked at.
struct Joint {
    middle: f64,
    random: Vec<Term>,
    values: Vec<f64>,
}

impl Joint {
    fn of(vcc: &Trace<'_>, readings: &[Reading], level: Level) -> Self {
        let values: Vec<f64> = readings.iter().map(|r| level.of(r)).collect();
        let spread = stats::summary(&values);
        let mut random = random(vcc, readings, level);
        let mut middle = spread.mean;
        let stairs = || readings.iter().filter_map(|r| r.stair);
        if let Some((low, high)) = landings(readings) {
            // the ripple acts on both landings alike
            let mean = readings.iter().map(|r| r.mean_v).sum::<f64>() / values.len() as f64;
            middle = 0.5 * (low + high) + spread.mean - mean;
            random.retain(|t| t.name != "noise" && t.name != "sample interval");
            random.push(Term::within("step of the knob", 0.5 * (high - low)));
            let u = stairs().map(|s| s.u_v).fold(0.0, f64::max);
            random.push(Term::normal("noise", u));
        } else if let Some(wide) = stairs().map(|s| s.high_v - s.low_v).reduce(f64::max) {
            random.push(Term::within("step of the knob", 0.5 * wide));
        }
        Self {
            middle,
            random,
            values,
        }
    }
}

/// What is expected of the random part counts as much as this many degrees of freedom beside its spread …
const EXPECTED: f64 = 3.0;
/// … unless the events spread so many times wider than expected.
const CONTRADICTS: f64 = 3.0;

/// The random part: what was expected of it, or that together with how the events spread, where they spread
/// more; where they contradict what was expected, their spread alone.
fn with_spread(mut random: Vec<Term>, values: &[f64]) -> Vec<Term> {
    let n = values.len() as f64;
    if n < 2.0 {
        return random;
    }
    let spread = stats::summary(values);
    let expected = random.iter().map(|t| t.u * t.u).sum::<f64>().sqrt();
    let u = spread.deviation / n.sqrt();
    if u <= expected {
        return random;
    }
    if u <= CONTRADICTS * expected {
        let free = n - 1.0;
        let beyond = free * (u * u - expected * expected) / (EXPECTED + free);
        random.push(Term::normal("spread of the events", beyond.sqrt()));
        return random;
    }
    // of two that differ either may be right
    let half = 0.5 * (values[0] - values[1]).abs();
    vec![if values.len() == 2 {
        Term::within("spread of the events", half)
    } else {
        Term::mean_of("spread of the events", spread.deviation, values.len())
    }]
}
