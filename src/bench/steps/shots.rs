//! Captures taken at a set VCC, read as works-or-dead.

use crate::data::{InspectedCapture, Measured, Quantity, Role, ShotKind, StepPlace, VoltageStep};

use super::super::trace::Trace;

/// VREF of a working controller lies above this, in volts (common practice: 5 V less what loads it).
const VREF_WORKS_V: f64 = 4.0;
/// VREF of a dead one lies below this, in volts.
const VREF_DEAD_V: f64 = 1.0;

/// A reading of each capture with a steady VCC that shows whether the controller works; the others
/// say nothing. The direction is not known.
pub(super) fn readings(shots: &[&InspectedCapture], measured: &[Measured]) -> Vec<VoltageStep> {
    let all = shots.iter().enumerate();
    all.filter_map(|(index, shot)| {
        (shot.kind.value == Some(ShotKind::Running)).then_some(())?;
        let volts = value(index, Quantity::VccMean, measured)?.0;
        Some(VoltageStep {
            volts,
            works: works(index, shot, measured)?,
            going: None,
            current_a: None,
            place: StepPlace::Shot(index),
        })
    })
    .collect()
}

/// Value and u95 of a quantity of one capture.
pub(super) fn value(index: usize, quantity: Quantity, measured: &[Measured]) -> Option<(f64, f64)> {
    let of = |m: &&Measured| m.capture == Some(index) && m.quantity == quantity;
    let value = measured.iter().filter(of).find_map(Measured::value)?;
    Some((value.value, value.u95))
}

/// A ramp, pulses or VREF show that it works; VREF near zero shows that it is dead. A pin that is still
/// does not: it may be at fault itself.
fn works(index: usize, shot: &InspectedCapture, measured: &[Measured]) -> Option<bool> {
    let moving = [
        Quantity::RampAmplitude,
        Quantity::OscillatorFrequency,
        Quantity::OutFrequency,
        Quantity::OutDutyCycle,
    ];
    if moving.iter().any(|q| value(index, *q, measured).is_some()) {
        return Some(true);
    }
    let vref = Trace::of_role(shot, Role::Vref)?;
    let level = vref.true_of(vref.facts().mean);
    if level > VREF_WORKS_V {
        Some(true)
    } else {
        (level < VREF_DEAD_V).then_some(false)
    }
}
