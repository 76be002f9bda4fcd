//! It does not start, or not where it should.

use crate::data::{Judged, Quantity, Stage, StageFinding, StageState};
use crate::verdict::soft;
use crate::verdict::steps::{LOOK_AT_THE_PIN, stops_early};

use super::fitted::other_part;
use super::{View, Weighed, evidence, otherwise};

pub(super) fn weigh(view: &View<'_>, stages: &[StageFinding]) -> Vec<Weighed> {
    let Some(supply) = stages.iter().find(|s| s.stage == Stage::Supply) else {
        return Vec::new();
    };
    match supply.state {
        StageState::Dead => too_low(),
        StageState::Marginal => off_limits(view),
        _ => Vec::new(),
    }
}

fn too_low() -> Vec<Weighed> {
    vec![
        Weighed::new(
            "start-resistor-high",
            "start-up resistor gone high",
            0.45,
            "Mains off, bulk measured: measure each start-up resistor with one leg lifted.",
        ),
        Weighed::new(
            "vcc-leakage",
            "leakage on VCC (capacitor, diode, zener, board)",
            0.35,
            "Mains off: feed VCC from the bench supply below the start threshold and read the current at two voltages; a leak draws in proportion, a zener from its knee on.",
        ),
        Weighed::new(
            "controller-overloads-vcc",
            "controller draws too much before it starts",
            0.2,
            "Read the standby current just below the start threshold with VCC lifted from the rest of the board.",
        ),
    ]
}

fn off_limits(view: &View<'_>) -> Vec<Weighed> {
    let off = view
        .outside(Quantity::StartThreshold)
        .or_else(|| view.outside(Quantity::StopThreshold));
    let Some(off) = off else {
        return match view.made_otherwise() {
            Some((event, why)) => otherwise::weigh(event, why),
            None if soft::first(view.judged).is_some() => soft_vcc(view),
            None => chatter(view),
        };
    };
    if off.measured.capture.is_none() {
        return by_steps(view, off);
    }
    let says = "outside what is published";
    vec![
        Weighed::new("uvlo-out-of-tolerance", "under-voltage lockout out of tolerance", 0.5, "Read VCC with a multimeter at two steady points on the same range first: scope gain and probe factor come before the controller. Then compare with a new part.").supported_by(evidence(view, off.measured.quantity, says)),
other_part(view, 0.3, evidence(view, off.measured.quantity, says)),
        Weighed::new("probe-factor-wrong", "probe factor or range set wrong", 0.2, "Measure VREF on the same channel: it has to read 5 V."),
    ]
}

/// By hand there is no probe, but a meter, and a place where it was held.
fn by_steps(view: &View<'_>, off: &Judged) -> Vec<Weighed> {
    let quantity = off.measured.quantity;
    let place = if stops_early(off) {
        Weighed::new(
            "vcc-dips-at-pin",
            "VCC at the pin dips below what the meter shows (VCC capacitor, contact, resistance in the feed)",
            0.5,
            LOOK_AT_THE_PIN,
        )
    } else {
        Weighed::new(
            "vcc-read-elsewhere",
            "VCC read at another place than the pin",
            0.4,
            "Read VCC at the controller's pin, not at the supply's terminals, and take the steps again.",
        )
    };
    let says = "outside what is published, by voltage steps";
    vec![
        place.supported_by(evidence(view, quantity, says)),
        Weighed::new(
            "uvlo-out-of-tolerance",
            "under-voltage lockout out of tolerance",
            0.25,
            "With VCC seen to be clean at the pin, compare with a new part.",
        )
        .supported_by(evidence(view, quantity, says)),
        other_part(view, 0.2, evidence(view, quantity, says)),
    ]
}

/// The pin goes further than the mean of VCC that a meter reads.
fn soft_vcc(view: &View<'_>) -> Vec<Weighed> {
    let quantity = match soft::first(view.judged) {
        Some((Quantity::StartThreshold, ..)) => Quantity::StartThresholdMean,
        _ => Quantity::StopThresholdMean,
    };
    let says = "outside what is published, while what the pin does is in limits";
    let why = || evidence(view, quantity, says);
    vec![
        Weighed::new(
            "vcc-capacitor-esr",
            "VCC capacitor with high series resistance",
            0.5,
            "Put a known good capacitor and 100 nF across VCC at the pin, and sweep again.",
        )
        .supported_by(why()),
        Weighed::new(
            "feed-series-resistance",
            "too much resistance in series with the bench supply",
            0.3,
            "Feed VCC through 22 Ω or less straight at the pin, and sweep again.",
        )
        .supported_by(why()),
        Weighed::new(
            "vcc-noisy",
            "ripple or noise on VCC",
            0.2,
            "Record VCC at the pin with a fast time base, AC coupled.",
        )
        .supported_by(why()),
    ]
}

fn chatter(view: &View<'_>) -> Vec<Weighed> {
    let many = || {
        evidence(
            view,
            Quantity::StartsPerSweep,
            "more than one start for one rise of VCC",
        )
    };
    vec![
        Weighed::new(
            "feed-series-resistance",
            "too much resistance in series with the bench supply",
            0.5,
            "Feed VCC through 22 Ω or less straight at the pin, and sweep again.",
        )
        .supported_by(many()),
        Weighed::new(
            "vcc-noisy",
            "ripple or noise on VCC",
            0.3,
            "Record VCC at the pin with a fast time base, AC coupled.",
        )
        .supported_by(many()),
        Weighed {
            cause: "vcc-capacitor-esr",
            title: "VCC capacitor with high series resistance",
            weight: 0.2,
            reasons_for: many(),
            reasons_against: Vec::new(),
            next_check:
                "Put a known good capacitor and 100 nF across VCC at the pin, and sweep again."
                    .to_owned(),
        },
    ]
}
