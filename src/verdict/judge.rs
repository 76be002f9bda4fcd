//! A measured value against what is published.

use crate::controllers::{Found, Profile, TimingKind, timing};
use crate::data::{Judged, Limit, Measured, Options, Outcome, Quantity, Setup, Value, Verdict};

/// `in-limits` from this probability on (JCGM 106:2012 gives conformance probabilities; 2.5 % on
/// either side is the contract).
pub const IN_LIMITS: f64 = 0.975;
/// `outside` up to this probability.
pub const OUTSIDE: f64 = 0.025;

/// Judges one measured value taken in `setup`; without a controller nothing is published.
pub fn judge(
    measured: Measured,
    setup: Option<Setup>,
    controller: Option<&Found<'_>>,
    options: &Options,
) -> Judged {
    let expected = expected(measured.quantity, setup, controller, options);
    let (verdict, p_in) = verdict(&measured.outcome, expected.as_ref());
    let provisional = verdict != Verdict::NoLimit
        && expected
            .as_ref()
            .is_some_and(|l| l.status_limits.from_memory());
    let settle = if verdict == Verdict::CannotSay {
        settle(&measured, expected.as_ref())
    } else {
        String::new()
    };
    Judged {
        measured,
        expected,
        verdict,
        p_in,
        provisional,
        settle,
    }
}

/// What is published for a quantity under the condition of the set-up.
fn expected(
    quantity: Quantity,
    setup: Option<Setup>,
    controller: Option<&Found<'_>>,
    options: &Options,
) -> Option<Limit> {
    let info = quantity.info();
    let key = info.limit_key?;
    let found = controller?;
    if !info.judged_in.is_empty() && !setup.is_some_and(|s| info.judged_in.contains(&s)) {
        return None;
    }
    if key == "osc_freq_parts" {
        let part = |name: &str| options.parts.get(name).copied();
        let by_sink = |p: &&Profile| {
            let kind = p.timing.as_ref().map(|timing| timing.kind);
            kind == Some(TimingKind::ConstantSink)
        };
        // the relation holds for parts that discharge CT with a constant current
        if !found.profiles.iter().all(by_sink) {
            return None;
        }
        return timing::expected_frequency_within(
            &found.profiles,
            part("rt")?,
            part("ct")?,
            options.tolerance("rt"),
            options.tolerance("ct"),
        );
    }
    found.expected(key)
}

/// Verdict and probability of lying within the limits.
///
/// A value without uncertainty (a count) is inside or outside for certain. Without a value, but
/// with limits, nothing can be said.
pub fn verdict(outcome: &Outcome, expected: Option<&Limit>) -> (Verdict, Option<f64>) {
    let Some(limit) = expected.filter(|l| l.has_limits()) else {
        return (Verdict::NoLimit, None);
    };
    let Outcome::Value(value) = outcome else {
        return (Verdict::CannotSay, None);
    };
    let p = probability(value, limit);
    let verdict = if p >= IN_LIMITS {
        Verdict::InLimits
    } else if p <= OUTSIDE {
        Verdict::Outside
    } else {
        Verdict::CannotSay
    };
    (verdict, Some(p))
}

fn probability(value: &Value, limit: &Limit) -> f64 {
    if value.u > 0.0 {
        return value.probability_within(limit.min, limit.max);
    }
    let inside = limit.min.is_none_or(|min| value.value >= min)
        && limit.max.is_none_or(|max| value.value <= max);
    f64::from(u8::from(inside))
}

/// What would settle a "cannot say": the largest term of the budget, and what to do about it.
fn settle(measured: &Measured, expected: Option<&Limit>) -> String {
    let value = match &measured.outcome {
        Outcome::NotMeasurable(why) => return why.clone(),
        Outcome::Value(value) => value,
    };
    let largest = value.terms.iter().max_by(|a, b| a.u.total_cmp(&b.u));
    let advice = match largest.map(|t| t.name) {
        Some(name) if name.starts_with("gain") || name.starts_with("offset") => {
            "the scope's own accuracy decides: give it with --accuracy, or read the same point with a multimeter"
        }
        Some("resolution" | "histogram bin") => {
            "the code step decides: use fewer volts per division"
        }
        Some("sample interval") => {
            "the sample interval decides: sweep more slowly, or sample faster"
        }
        Some(name) if name.starts_with("meter") => {
            "the meter decides: use a more accurate one or a better range"
        }
        Some("between two readings") => {
            "the gap between two voltage steps decides: take more readings in between"
        }
        Some(name) if name.starts_with("spread") => {
            "the results differ from one to the next: take more of them, and look why"
        }
        _ => "the noise decides: take more events, or limit the bandwidth",
    };
    let near = expected.map_or(String::new(), |l| format!(" (limits {})", l.shown()));
    format!("{advice}{near}")
}
