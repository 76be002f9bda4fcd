//! No ramp, a wrong ramp, or no drive behind a good one.

use crate::data::{Quantity, Stage, StageFinding, StageState};

use super::fitted::what_fits;
use super::{View, Weighed, evidence};

pub(super) fn weigh(view: &View<'_>, stages: &[StageFinding]) -> Vec<Weighed> {
    let state = |stage| stages.iter().find(|s| s.stage == stage).map(|s| s.state);
    match (state(Stage::Oscillator), state(Stage::Drive)) {
        (Some(StageState::Dead), _) => no_ramp(),
        (Some(StageState::Marginal), _) => wrong_ramp(view),
        (_, Some(StageState::Dead)) => no_drive(),
        (_, Some(StageState::Marginal)) => wrong_drive(view),
        _ => Vec::new(),
    }
}

fn no_ramp() -> Vec<Weighed> {
    let check = "Measure the voltage across RT while VREF is up: 5 V across it means the pin is shorted (CT, a transistor on it), 0 V means RT is open.";
    vec![
        Weighed::new(
            "ct-shorted",
            "CT shorted, or the pin held down",
            0.45,
            check,
        ),
        Weighed::new("rt-open", "RT open", 0.35, check),
        Weighed::new(
            "ct-open",
            "CT open",
            0.2,
            "Touch RT/CT with a known good 1 nF to ground: if a ramp appears, CT is open.",
        ),
    ]
}

fn wrong_ramp(view: &View<'_>) -> Vec<Weighed> {
    let seen = || {
        evidence(
            view,
            Quantity::OscillatorFrequency,
            "not what RT and CT dictate",
        )
    };
    let drifted = Weighed::new(
        "rt-or-ct-drifted",
        "RT or CT drifted",
        0.6,
        "Power off: measure RT and CT out of circuit; the fall time of the ramp points to CT, the rise to fall ratio to RT.",
    ).supported_by(seen());
    let leaky = Weighed::new(
        "ct-leaky",
        "CT leaky",
        0.25,
        "Look whether the rise of the ramp bends towards a level below VREF: then CT leaks.",
    )
    .supported_by(seen());
    let loaded = Weighed::new(
        "probe-loading",
        "the probe loads RT/CT",
        0.15,
        "Compare the frequency at OUT with the probe on RT/CT and off it.",
    );
    vec![drifted, leaky, loaded]
}

fn no_drive() -> Vec<Weighed> {
    vec![
        Weighed::new(
            "feedback-holds-off",
            "feedback or COMP asks for no pulses",
            0.6,
            "Measure COMP, then FB, then CS in volts: COMP below 1.4 V with FB below 2.5 V means COMP is held down from outside.",
        ),
        Weighed::new(
            "cs-filter-fault",
            "current-sense pin floats high",
            0.2,
            "Measure CS in volts: above 1 V it stops every pulse.",
        ),
        Weighed::new(
            "driver-weak",
            "driver inside the controller dead",
            0.2,
            "Lift the gate resistor: if OUT still does not switch, replace the controller.",
        ),
    ]
}

fn wrong_drive(view: &View<'_>) -> Vec<Weighed> {
    let weak = Weighed::new(
        "driver-weak",
        "driver stage weak, or the gate loads it",
        0.6,
        "Lift the gate resistor and record OUT again.",
    )
    .supported_by(evidence(
        view,
        Quantity::OutHeadroom,
        "more below VCC than the driver should lose",
    ));
    let mut family = Weighed::new(
        "wrong-family",
        "another member of the family fitted",
        0.4,
        "Compare the oscillator to OUT ratio and the duty cycle with the other members: 2 and 3 switch at every ramp, 4 and 5 at every second one.",
    ).supported_by([
        evidence(
            view,
            Quantity::OscillatorToOutRatio,
            "cycles of the ramp for each pulse",
        ),
        evidence(view, Quantity::OutDutyCycle, "unregulated duty cycle"),
    ]
    .concat());
    family.reasons_for.extend(what_fits(view));
    vec![weak, family]
}
