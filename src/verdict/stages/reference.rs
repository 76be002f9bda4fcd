//! Reference: VREF comes up to 5 V and stays there.

use crate::controllers::usual;
use crate::data::text::{engineering, plus_minus};
use crate::data::{EventKind, Quantity, Role, Stage, StageFinding, StageState, Unit};

use super::{View, finding, limits_of};

/// More ripple than this on VREF while it runs makes the stage marginal: 5 % of 5 V, about the
/// published total spread (SLUS223G: 4.82 to 5.18 V over line, load and temperature).
pub const MOST_RIPPLE_V: f64 = 0.25;

/// A VREF below this is none.
const UP_V: f64 = 1.0;

/// What moves by less is no VREF that is pulled down, in volts.
const LEAST_MOVE_V: f64 = 0.3;

pub(super) fn find(view: &View<'_>, _before: &[StageFinding]) -> StageFinding {
    let figures = vec![view.figure(Quantity::VrefVoltage)];
    let say = |state, because: String| finding(Stage::Reference, state, because, figures.clone());
    let Some(best) = view.best(Quantity::VrefVoltage) else {
        return absent(view);
    };
    let Some(value) = best.measured.value() else {
        return absent(view);
    };
    let shown = plus_minus(value.value, value.u95, Unit::Volt);
    if value.value < UP_V {
        return say(
            StageState::Dead,
            format!("VREF stays at {shown} although the controller has started"),
        );
    }
    if let Some(off) = view.outside(Quantity::VrefVoltage) {
        let limits = limits_of(off);
        return say(
            StageState::Marginal,
            format!("VREF is {shown}, outside {limits}"),
        );
    }
    let allowed = (usual::VREF_V.0 - value.u95)..=(usual::VREF_V.1 + value.u95);
    if best.expected.is_none() && !allowed.contains(&value.value) {
        return say(
            StageState::Marginal,
            format!("VREF is {shown}, not the 5 V of this family"),
        );
    }
    let ripple = view
        .all(Quantity::VrefRipple)
        .filter_map(|j| j.measured.value())
        .find(|v| v.value - v.u95 > MOST_RIPPLE_V);
    if let Some(ripple) = ripple {
        let size = engineering(ripple.value, Unit::Volt, 2);
        return say(
            StageState::Marginal,
            format!("VREF is {shown} but moves by {size} while it runs"),
        );
    }
    say(StageState::Working, format!("VREF comes up to {shown}"))
}

/// Dead only where VCC, in the same capture, was past the start threshold, or turned there by itself.
fn absent(view: &View<'_>) -> StageFinding {
    let none = |state, because: &str| finding(Stage::Reference, state, because, Vec::new());
    let Some((judged, why)) = view.refusal(Quantity::VrefVoltage) else {
        return none(StageState::NotTested, "VREF was not recorded");
    };
    match judged.measured.capture {
        Some(capture)
            if view.still(capture, Role::Vref)
                && (view.driven_past_start(capture)
                    || view.count(capture, EventKind::Start) > 0) =>
        {
            none(
                StageState::Dead,
                "VREF does not come up although VCC, in the same record, is past the start threshold",
            )
        }
        Some(capture) if view.driven_past_start(capture) => match low(view, capture) {
            Some(top) => finding(
                Stage::Reference,
                StageState::Dead,
                format!(
                    "VREF comes up to {} and no further although VCC, in the same record, is past the start threshold",
                    engineering(top, Unit::Volt, 3)
                ),
                Vec::new(),
            ),
            None => none(StageState::NotTested, why),
        },
        _ => none(StageState::NotTested, why),
    }
}

/// Highest VREF of a capture that was seen to move, and stayed below half of what it should be.
fn low(view: &View<'_>, capture: usize) -> Option<f64> {
    let top = view.highest(capture, Role::Vref)?;
    (LEAST_MOVE_V..0.5 * usual::VREF_V.0)
        .contains(&top)
        .then_some(top)
}
