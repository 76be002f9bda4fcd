//! Oscillator: the RT/CT ramp runs, at its height and its frequency.

use crate::controllers::usual;
use crate::data::{Judged, Quantity, Role, Stage, StageFinding, StageState, Unit};

use super::{View, dead, finding, good, limits_of};

/// A ramp whose height is certain to differ by more than this share from 1.7 V makes the stage
/// marginal (1.7 V typical, SLUS223G 8.3.6; no limits are published).
pub const HEIGHT_TOLERANCE: f64 = 0.2;

pub(super) fn find(view: &View<'_>, before: &[StageFinding]) -> StageFinding {
    let figures = vec![
        view.figure(Quantity::OscillatorFrequency),
        view.figure(Quantity::RampAmplitude),
    ];
    let say = |state, because: String| finding(Stage::Oscillator, state, because, figures.clone());
    let Some(height) = view
        .best(Quantity::RampAmplitude)
        .and_then(|j| j.measured.value())
    else {
        return absent(view, before);
    };
    let shown = crate::data::text::plus_minus(height.value, height.u95, Unit::Volt);
    if let Some(off) = view.outside(Quantity::OscillatorFrequency) {
        return say(StageState::Marginal, frequency_off(off));
    }
    let typical = view
        .best(Quantity::RampAmplitude)
        .and_then(|j| j.expected.as_ref()?.typ)
        .unwrap_or(usual::RAMP_HEIGHT_V);
    if (height.value - typical).abs() - height.u95 > HEIGHT_TOLERANCE * typical {
        return say(
            StageState::Marginal,
            format!("the ramp is {shown} high; {typical} V is typical"),
        );
    }
    let rate = view
        .figure(Quantity::OscillatorFrequency)
        .map_or(String::new(), |f| format!(", {f}"));
    say(
        StageState::Working,
        format!("the ramp runs, {shown} high{rate}"),
    )
}

fn frequency_off(judged: &Judged) -> String {
    let value = judged.measured.value().map_or(String::new(), |v| {
        crate::data::text::plus_minus(v.value, v.u95, Unit::Hertz)
    });
    let limits = limits_of(judged);
    format!("the ramp runs at {value}; RT and CT allow {limits}")
}

fn absent(view: &View<'_>, before: &[StageFinding]) -> StageFinding {
    let none = |state, because: &str| finding(Stage::Oscillator, state, because, Vec::new());
    let Some((judged, why)) = view.refusal(Quantity::RampAmplitude) else {
        return none(
            StageState::NotTested,
            "RT/CT was not recorded while it should run",
        );
    };
    let capture = judged.measured.capture;
    if !capture.is_some_and(|c| view.still(c, Role::RtCt)) {
        return none(StageState::NotTested, why);
    }
    if dead(before, Stage::Reference) {
        return none(
            StageState::NotTested,
            "VREF is missing, and without it no ramp can run",
        );
    }
    let together = capture.is_some_and(|c| {
        view.all(Quantity::VrefVoltage)
            .any(|j| j.measured.capture == Some(c) && j.measured.value().is_some())
    });
    if !good(before, Stage::Reference) {
        return none(StageState::NotTested, why);
    }
    let driven = together || capture.is_some_and(|c| view.driven_past_start(c));
    if !driven {
        return none(
            StageState::NotTested,
            "there is no ramp, but whether the controller ran in that record is not shown",
        );
    }
    let mut found = none(
        StageState::Dead,
        "VREF is good and there is no ramp on RT/CT",
    );
    if !together {
        found.not_seen_together.push(Stage::Reference);
    }
    found
}
