//! VCC: climbs and falls slowly through the thresholds, or stands 0 to 2 V above the pulses of OUT.

use super::Evidence;
use super::look::{Look, volts};
use super::out::drives;
use super::vref::starts_at;

pub(super) fn evidence(look: &Look, all: &[Look]) -> Evidence {
    if !(6.3..34.0).contains(&look.high) || look.low < -1.5 || look.fast_pulses() {
        return None;
    }
    if look.flat {
        return above_the_pulses(look, all);
    }
    climbs(look).then(|| {
        let base = format!(
            "climbs and falls slowly between {} and {}",
            volts(look.low),
            volts(look.high)
        );
        match all
            .iter()
            .find(|o| is_reference(o) && starts_at(o, look).is_some())
        {
            Some(other) => (
                4.5,
                format!("{base}, and channel {} starts with it", other.channel + 1),
            ),
            None => (if look.high < 7.3 { 0.5 } else { 2.3 }, base),
        }
    })
}

/// Does it move slowly enough, and far enough, for a supply that climbs?
pub(super) fn climbs(look: &Look) -> bool {
    let slow =
        look.between > 0.03 && look.between * look.blocks as f64 > 15.0 && look.span_s > 0.02;
    slow && look.high - look.low > 0.4
}

/// Does it step to 5 V?
pub(super) fn is_reference(look: &Look) -> bool {
    look.steps() && (look.high_state - 5.0).abs() < 0.4 && look.low_state.abs() < 1.0
}

fn above_the_pulses(look: &Look, all: &[Look]) -> Evidence {
    let driver = all
        .iter()
        .find(|o| o.channel != look.channel && drives(o))?;
    let over = look.mean - driver.high_state;
    (-0.6..3.2).contains(&over).then(|| {
        (
            2.8,
            format!(
                "steady at {}, {} above the pulses of channel {}",
                volts(look.mean),
                volts(over),
                driver.channel + 1
            ),
        )
    })
}
