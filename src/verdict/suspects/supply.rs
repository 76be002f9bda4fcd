//! It does not start, or not where it should.

use crate::data::{Quantity, Stage, StageFinding, StageState};

use super::{View, Weighed, evidence};

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
    let plain = |cause, title, weight, next_check| Weighed {
        cause,
        title,
        weight,
        reasons_for: Vec::new(),
        reasons_against: Vec::new(),
        next_check: String::from(next_check),
    };
    vec![
        plain(
            "start-resistor-high",
            "start-up resistor gone high",
            0.45,
            "Mains off, bulk measured: measure each start-up resistor with one leg lifted.",
        ),
        plain(
            "vcc-leakage",
            "leakage on VCC (capacitor, diode, zener, board)",
            0.35,
            "Mains off: feed VCC from the bench supply below the start threshold and read the current at two voltages; a leak draws in proportion, a zener from its knee on.",
        ),
        plain(
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
    let Some(off) = off else { return chatter(view) };
    let says = "outside what is published";
    vec![
        Weighed {
            cause: "uvlo-out-of-tolerance",
            title: "under-voltage lockout out of tolerance",
            weight: 0.5,
            reasons_for: evidence(view, off.measured.quantity, says),
            reasons_against: Vec::new(),
            next_check: "Read VCC with a multimeter at two steady points on the same range first: scope gain and probe factor come before the controller. Then compare with a new part.".to_owned(),
        },
        Weighed {
            cause: "wrong-uvlo-variant",
            title: "another variant fitted than the marking says",
            weight: 0.3,
            reasons_for: evidence(view, off.measured.quantity, says),
            reasons_against: Vec::new(),
            next_check: "Compare start and stop with the other variants of the family: 16/10 V and 8.4/7.6 V.".to_owned(),
        },
        Weighed {
            cause: "probe-factor-wrong",
            title: "probe factor or range set wrong",
            weight: 0.2,
            reasons_for: Vec::new(),
            reasons_against: Vec::new(),
            next_check: "Measure VREF on the same channel: it has to read 5 V.".to_owned(),
        },
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
        Weighed {
            cause: "feed-series-resistance",
            title: "too much resistance in series with the bench supply",
            weight: 0.5,
            reasons_for: many(),
            reasons_against: Vec::new(),
            next_check: "Feed VCC through 22 Ω or less straight at the pin, and sweep again."
                .to_owned(),
        },
        Weighed {
            cause: "vcc-noisy",
            title: "ripple or noise on VCC",
            weight: 0.3,
            reasons_for: many(),
            reasons_against: Vec::new(),
            next_check: "Record VCC at the pin with a fast time base, AC coupled.".to_owned(),
        },
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
