//! OUT: square pulses from near 0 V to 1 or 2 V below VCC, or up to VCC in CMOS parts.

use super::Evidence;
use super::gate::{Place, place};
use super::look::{Look, volts};

/// Pulses with the levels of a gate drive.
pub(super) fn drives(look: &Look) -> bool {
    let levels = (-1.5..1.8).contains(&look.low_state) && (5.6..32.0).contains(&look.high_state);
    look.gap && levels && look.fast_pulses()
}

pub(super) fn evidence(look: &Look, all: &[Look]) -> Evidence {
    if !drives(look) {
        return None;
    }
    let pulses = format!(
        "pulses between {} and {}",
        volts(look.low_state),
        volts(look.high_state)
    );
    Some(match place(look, all) {
        Place::Before(other) => (
            3.5,
            format!("{pulses}, those of channel {} follow later", other + 1),
        ),
        Place::Alone => (3.0, pulses),
        Place::Unclear => (1.0, pulses),
        Place::After(_) => (-1.5, pulses),
    })
}
