//! VREF missing, low or dented.

use crate::data::{Quantity, Stage, StageFinding, StageState};

use super::{View, Weighed, evidence};

pub(super) fn weigh(view: &View<'_>, stages: &[StageFinding]) -> Vec<Weighed> {
    let Some(state) = stages
        .iter()
        .find(|s| s.stage == Stage::Reference)
        .map(|s| s.state)
    else {
        return Vec::new();
    };
    let seen = || match view.value(Quantity::VrefVoltage) {
        Some(_) => evidence(view, Quantity::VrefVoltage, "not a steady 5 V"),
        None => evidence(view, Quantity::VrefOffVoltage, "it stays down"),
    };
    let one = |cause, title, weight, next_check: &str| {
        Weighed::new(cause, title, weight, next_check).supported_by(seen())
    };
    match state {
        StageState::Dead => vec![
            one(
                "vref-shorted",
                "VREF shorted (its capacitor, a bridge)",
                0.6,
                "Power off: measure VREF to ground in ohms; lift the VREF capacitor and measure again.",
            ),
            one(
                "vref-weak",
                "reference inside the controller dead",
                0.4,
                "With VREF free of all load, VCC above the start threshold and no more than 50 mA allowed: if VREF stays down, replace the controller.",
            ),
        ],
        StageState::Marginal => vec![
            one(
                "vref-overloaded",
                "VREF overloaded by what hangs on it",
                0.55,
                "Lift the feed of everything outside the controller that runs from VREF and measure again.",
            ),
            one(
                "vref-weak",
                "reference inside the controller weak",
                0.3,
                "Load the free VREF with 1 kΩ (5 mA): a good reference stays within 25 mV.",
            ),
            one(
                "probe-factor-wrong",
                "probe factor or range set wrong",
                0.15,
                "Read VREF with a multimeter.",
            ),
        ],
        _ => Vec::new(),
    }
}
