//! COMP: moves slowly between 0 V and its clamp, 5 to 7 V.

use super::Evidence;
use super::look::{Look, volts};
use super::out::drives;
use super::rtct::ramps;
use super::vref::starts_at;

pub(super) fn evidence(look: &Look, all: &[Look]) -> Evidence {
    let runs = all
        .iter()
        .any(|o| o.channel != look.channel && (drives(o) || ramps(o)));
    if look.fast_pulses() || look.low < -0.3 || look.high > 7.6 {
        return None;
    }
    if look.flat {
        return (runs && (0.6..4.6).contains(&look.mean)).then(|| {
            (
                0.5,
                format!(
                    "steady at {} beside pulses, as COMP can be",
                    volts(look.mean)
                ),
            )
        });
    }
    let high = if look.gap { look.high_state } else { look.high };
    let clamp = (5.5..7.6).contains(&high) && look.low < 1.0;
    let starts = all.iter().any(|o| starts_at(look, o).is_some());
    clamp.then(|| {
        (
            if starts { 2.0 } else { 0.8 },
            format!("moves up to {}, as COMP at its clamp", volts(high)),
        )
    })
}
