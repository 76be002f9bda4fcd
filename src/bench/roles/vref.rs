//! VREF: 5 V in this family (SLUS223G and all others), 4.9 to 5.1 V; wider here by what an
//! uncalibrated channel may add.

use super::Evidence;
use super::look::{Look, volts};

pub(super) fn evidence(look: &Look, all: &[Look]) -> Evidence {
    if look.steps() && (look.high_state - 5.0).abs() < 0.4 && look.low_state.abs() < 1.0 {
        let reason = format!(
            "steps between {} and {}, as a 5 V reference",
            volts(look.low_state),
            volts(look.high_state)
        );
        let with = all.iter().find(|o| starts_at(look, o).is_some());
        let (log_odds, reason) = match with.and_then(|o| Some((o, starts_at(look, o)?))) {
            Some((other, level)) => (
                5.0,
                format!(
                    "{reason}, first when channel {} has reached {}",
                    other.channel + 1,
                    volts(level)
                ),
            ),
            None => (3.0, reason),
        };
        return (look.high < 5.7).then_some((log_odds, reason));
    }
    let slow = !look.flat && !look.gap && !look.fast_pulses() && look.between < 0.5;
    if slow && (look.high - 5.0).abs() < 0.4 && look.low.abs() < 0.7 {
        let reason = format!(
            "rises to {} and falls back, as a 5 V reference",
            volts(look.high)
        );
        return Some((2.0, reason));
    }
    (look.flat && (look.mean - 5.0).abs() < 0.3).then(|| {
        (
            2.0,
            format!("steady at {}, as a 5 V reference", volts(look.mean)),
        )
    })
}

/// The level of another, slowly moving channel when this one first steps up, if it is one at which
/// controllers of this family start (7.8 to 17.5 V, SLUS223G, and a scope's error).
pub(super) fn starts_at(look: &Look, other: &Look) -> Option<f64> {
    let moves = other.channel != look.channel && !other.flat && !other.fast_pulses();
    let level = other.level_before(*look.rising.first()?)?;
    (moves && other.between > 0.03 && (7.0..18.5).contains(&level)).then_some(level)
}
