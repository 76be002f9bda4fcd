//! Drive: OUT switches, in step with the ramp, and reaches near VCC.

use crate::data::{Quantity, Role, Stage, StageFinding, StageState, Unit};

use super::{View, dead, finding, good, limits_of};

/// OUT that stays further than this below VCC makes the stage marginal (1.5 V is typical for the
/// bipolar driver, SLUS223G: 13.5 V at 15 V; above 2.5 V unloaded the driver is weak, common practice).
pub const MOST_HEADROOM_V: f64 = 2.5;

pub(super) fn find(view: &View<'_>, before: &[StageFinding]) -> StageFinding {
    let figures = vec![
        view.figure(Quantity::OutFrequency),
        view.figure(Quantity::OutDutyCycle),
    ];
    let say = |state, because: String| finding(Stage::Drive, state, because, figures.clone());
    if view.best(Quantity::OutHighLevel).is_none() {
        return absent(view, before);
    }
    if let Some(off) = view.outside(Quantity::OscillatorToOutRatio) {
        let ratio = off.measured.value().map_or(f64::NAN, |v| v.value);
        return say(
            StageState::Marginal,
            format!(
                "the oscillator runs {ratio:.2} times as fast as OUT, which this controller does not"
            ),
        );
    }
    if let Some(off) = view.outside(Quantity::OutDutyCycle) {
        let duty = off.measured.value().map_or(f64::NAN, |v| 100.0 * v.value);
        let limits = limits_of(off);
        return say(
            StageState::Marginal,
            format!(
                "OUT switches with a duty cycle of {duty:.1} %; unregulated it should be {limits}"
            ),
        );
    }
    let weak = view
        .best(Quantity::OutHeadroom)
        .and_then(|j| j.measured.value())
        .filter(|v| v.value - v.u95 > MOST_HEADROOM_V);
    if let Some(weak) = weak {
        let below = crate::data::text::plus_minus(weak.value, weak.u95, Unit::Volt);
        return say(StageState::Marginal, format!("OUT stays {below} below VCC"));
    }
    let high = view.figure(Quantity::OutHighLevel).unwrap_or_default();
    let gate = gate_words(view);
    say(StageState::Working, format!("OUT switches, {high}{gate}"))
}

fn gate_words(view: &View<'_>) -> &'static str {
    let recorded = view
        .captures
        .iter()
        .any(|c| c.channel_of(Role::Gate).is_some());
    match (recorded, view.best(Quantity::GateHighLevel).is_some()) {
        (false, _) => "; the gate itself was not recorded",
        (true, true) => ", and the gate follows",
        (true, false) => ", but the gate does not follow",
    }
}

fn absent(view: &View<'_>, before: &[StageFinding]) -> StageFinding {
    let none = |state, because: &str| finding(Stage::Drive, state, because, Vec::new());
    let Some((judged, why)) = view.refusal(Quantity::OutHighLevel) else {
        return none(StageState::NotTested, "OUT was not recorded");
    };
    if dead(before, Stage::Reference) || dead(before, Stage::Oscillator) {
        return none(
            StageState::NotTested,
            "there is nothing to drive it: an earlier stage is dead",
        );
    }
    let capture = judged.measured.capture;
    if !capture.is_some_and(|c| view.still(c, Role::Out)) || !good(before, Stage::Oscillator) {
        return none(StageState::NotTested, why);
    }
    let together = view
        .all(Quantity::RampAmplitude)
        .any(|j| j.measured.capture == capture && j.measured.value().is_some());
    let mut found = none(StageState::Dead, "the ramp runs and OUT does not switch");
    if !together {
        found.not_seen_together.push(Stage::Oscillator);
    }
    found
}
