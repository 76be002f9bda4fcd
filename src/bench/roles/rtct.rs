//! RT/CT: the bipolar ramp runs from about 1.0 to 2.7 V (SLUS223G 8.3.6), the CMOS one from 0.7 to
//! 2.5 V.

use super::Evidence;
use super::look::{Look, volts};

fn fits(low: f64, high: f64) -> bool {
    (0.5..1.6).contains(&low) && (2.1..3.3).contains(&high)
}

/// A ramp that never rests, in the range of the family.
pub(super) fn ramps(look: &Look) -> bool {
    !look.gap && !look.flat && fits(look.low, look.high) && look.edges >= 6
}

pub(super) fn evidence(look: &Look) -> Evidence {
    if ramps(look) {
        let reason = format!("ramp between {} and {}", volts(look.low), volts(look.high));
        return Some((4.0, reason));
    }
    (look.gap && look.low_state.abs() < 0.35 && fits(look.active.0, look.active.1)).then(|| {
        (
            4.0,
            format!(
                "near 0 V while stopped, spread from {} to {} while running",
                volts(look.active.0),
                volts(look.active.1)
            ),
        )
    })
}
