//! Auxiliary winding: swings to both sides of 0 V with OUT.

use super::Evidence;
use super::look::{Look, volts};
use super::out::drives;

pub(super) fn evidence(look: &Look, all: &[Look]) -> Evidence {
    let both = look.low < -3.0 && look.high > 3.0 && look.high < 80.0 && look.low > -200.0;
    if look.flat || !both || !look.fast_pulses() {
        return None;
    }
    let swing = format!(
        "swings both ways, from {} to {}",
        volts(look.low),
        volts(look.high)
    );
    Some(match all.iter().find(|o| drives(o)) {
        Some(driver) => (
            3.5,
            format!(
                "{swing}, beside the pulses of channel {}",
                driver.channel + 1
            ),
        ),
        None => (2.5, swing),
    })
}
