//! The pairs of pins of each set-up: one pin stays, the other walks.

use crate::data::Role::{Bulk, Comp, Cs, Gate, Out, Output, RtCt, Vcc, Vref};
use crate::data::ShotKind::{Running, Start, Sweep};
use crate::data::{Role, Setup, ShotKind};

/// Two pins seen together, and what that answers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pair {
    /// What the shot shows.
    pub kind: ShotKind,
    /// The pin that stays, then the one that walks.
    pub roles: [Role; 2],
    /// What it answers.
    pub why: &'static str,
}

const fn pair(kind: ShotKind, stays: Role, walks: Role, why: &'static str) -> Pair {
    Pair {
        kind,
        roles: [stays, walks],
        why,
    }
}

const INJECTED: [Pair; 5] = [
    pair(
        Sweep,
        Vcc,
        Vref,
        "At which VCC the controller starts and stops, and whether VREF comes up.",
    ),
    pair(
        Sweep,
        Vcc,
        RtCt,
        "Whether the oscillator runs all the way from start to stop.",
    ),
    pair(
        Running,
        RtCt,
        Out,
        "Rate and height of the ramp, and whether OUT switches with it.",
    ),
    pair(
        Running,
        Out,
        Gate,
        "Whether the gate follows OUT, and how fast.",
    ),
    pair(Running, Comp, Cs, "Whether COMP or CS holds OUT off."),
];

const LOW_BULK: [Pair; 2] = [
    pair(
        Running,
        Out,
        Gate,
        "Whether the gate still follows OUT with volts on the switch.",
    ),
    pair(
        Running,
        Cs,
        Comp,
        "Whether CS rises with each pulse, and what COMP asks for.",
    ),
];

const MAINS: [Pair; 4] = [
    pair(
        Start,
        Vcc,
        Vref,
        "When it starts, whether it falls back, and with how much margin.",
    ),
    pair(
        Start,
        Vcc,
        Bulk,
        "Whether the bulk voltage holds while VCC climbs and the unit starts.",
    ),
    pair(
        Start,
        Vcc,
        Output,
        "Whether the output comes up in a burst, and where it ends.",
    ),
    pair(
        Running,
        Cs,
        Comp,
        "Whether each pulse ends at the current limit, and what COMP asks for.",
    ),
];

/// The pairs of a set-up in the order in which they are taken; none for `cold`.
pub(super) fn of(setup: Setup) -> &'static [Pair] {
    match setup {
        Setup::Cold => &[],
        Setup::Injected => &INJECTED,
        Setup::LowBulk => &LOW_BULK,
        Setup::Mains => &MAINS,
    }
}
