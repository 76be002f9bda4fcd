//! Supply: VCC reaches the start threshold, and the controller starts and stops where it should.

use crate::data::text::{engineering, plus_minus};
use crate::data::{EventKind, Judged, Quantity, ShotKind, Stage, StageFinding, StageState, Unit};

use super::{View, finding, limits_of};
use crate::verdict::soft;

/// More starts than this in one sweep is chatter: the stage is marginal.
pub const MOST_STARTS: f64 = 1.0;

pub(super) fn find(view: &View<'_>) -> StageFinding {
    let figures = vec![
        view.figure(Quantity::StartThreshold),
        view.figure(Quantity::StopThreshold),
    ];
    let say = |state, because: String| finding(Stage::Supply, state, because, figures.clone());
    if let Some(off) = view
        .outside(Quantity::StartThreshold)
        .or_else(|| view.outside(Quantity::StopThreshold))
    {
        return say(StageState::Marginal, outside(off));
    }
    if let Some((_, why)) = view.made_otherwise() {
        return say(StageState::Marginal, why.to_owned());
    }
    if let Some(starts) = view
        .value(Quantity::StartsPerSweep)
        .filter(|n| *n > MOST_STARTS)
    {
        return say(
            StageState::Marginal,
            format!("it starts {starts} times in one sweep: VCC is not clean, or the feed is soft"),
        );
    }
    if let Some(said) = soft(view) {
        return say(StageState::Marginal, said);
    }
    if view.starts_seen() {
        return say(StageState::Working, started(view));
    }
    let by_steps = || {
        let known = view.value(Quantity::StartThreshold).is_some();
        known.then(|| say(StageState::Working, started(view)))
    };
    match not_started(view) {
        Some(found) if found.state != StageState::NotTested => found,
        other => by_steps().or(other).unwrap_or_else(|| running(view)),
    }
}

/// A threshold that is in limits where a meter would say that it is not.
fn soft(view: &View<'_>) -> Option<String> {
    let (quantity, mean_v, seen_v) = soft::first(view.judged)?;
    let (event, does) = match quantity {
        Quantity::StartThreshold => ("start", "rises"),
        _ => ("stop", "falls"),
    };
    Some(format!(
        "VCC is soft: a meter reads {} at the {event}, but the pin {does} to {} within each swing of VCC; the threshold is right",
        engineering(mean_v, Unit::Volt, 3),
        engineering(seen_v, Unit::Volt, 3)
    ))
}

fn outside(judged: &Judged) -> String {
    let title = judged.measured.quantity.info().title;
    let value = judged
        .measured
        .value()
        .map_or(String::new(), |v| plus_minus(v.value, v.u95, Unit::Volt));
    let limits = limits_of(judged);
    format!("the {title} of {value} lies outside {limits}")
}

/// A threshold that is known no better than this is never named without its ±, in volts.
const COARSE_V: f64 = 1.0;

fn started(view: &View<'_>) -> String {
    let words = |quantity: Quantity, verb: &str| {
        let value = view.best(quantity)?.measured.value()?;
        let level = if value.u95 > COARSE_V {
            plus_minus(value.value, value.u95, Unit::Volt)
        } else {
            engineering(value.value, Unit::Volt, 4)
        };
        Some(format!("{verb} at {level}"))
    };
    let both = [
        words(Quantity::StartThreshold, "it starts"),
        words(Quantity::StopThreshold, "stops"),
    ];
    let known: Vec<String> = both.into_iter().flatten().collect();
    if !known.is_empty() {
        return known.join(" and ");
    }
    if view.events.iter().any(|e| e.why_no_vcc.is_some()) {
        "it starts, but at which VCC can't be read".to_owned()
    } else {
        "it starts, but VCC is not recorded beside it".to_owned()
    }
}

/// VCC was recorded on its way up and no start was seen.
fn not_started(view: &View<'_>) -> Option<StageFinding> {
    let say = |state, because: String| Some(finding(Stage::Supply, state, because, Vec::new()));
    for kind in [ShotKind::Sweep, ShotKind::Start] {
        for (index, _) in view.of_kind(kind) {
            let Some(highest) = view.highest_vcc(index) else {
                continue;
            };
            let reached = engineering(highest, Unit::Volt, 4);
            debug_assert_eq!(view.count(index, EventKind::Start), 0);
            if view.driven_past_start(index) {
                return say(
                    StageState::Working,
                    format!("VCC reaches {reached}, past the start threshold"),
                );
            }
            if kind == ShotKind::Start && highest > view.may_start_above(index) {
                return say(
                    StageState::NotTested,
                    format!(
                        "VCC climbs to {reached}, where some parts of this marking start and others do not: whether the supply falls short or the controller does not start can't be said"
                    ),
                );
            }
            if kind == ShotKind::Start && highest > 2.0 {
                return say(
                    StageState::Dead,
                    format!("VCC climbs to {reached} and stays below the start threshold"),
                );
            }
            return say(
                StageState::NotTested,
                format!("VCC was raised only to {reached}: too little to start it for certain"),
            );
        }
    }
    None
}

/// Only fast records: that something runs shows that VCC is up, not where it starts.
fn running(view: &View<'_>) -> StageFinding {
    let runs = [
        Quantity::RampAmplitude,
        Quantity::OutDutyCycle,
        Quantity::VrefVoltage,
    ]
    .iter()
    .any(|q| view.best(*q).is_some());
    let figures = vec![view.figure(Quantity::VccMean)];
    if runs {
        finding(
            Stage::Supply,
            StageState::Working,
            "the controller runs; where it starts and stops was not recorded",
            figures,
        )
    } else {
        finding(
            Stage::Supply,
            StageState::NotTested,
            "no record of VCC on its way up",
            figures,
        )
    }
}
