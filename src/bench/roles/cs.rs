//! CS: pulses that end at 1.0 V at most (SLUS223G, 0.9 to 1.1 V), within those of OUT.

use super::Evidence;
use super::look::{Look, volts};
use super::out::drives;

pub(super) fn evidence(look: &Look, all: &[Look]) -> Evidence {
    let levels = (0.25..1.5).contains(&look.high) && (-0.3..0.2).contains(&look.low);
    if look.flat || !levels || !look.fast_pulses() {
        return None;
    }
    let pulses = format!("pulses up to {}", volts(look.high));
    let driver = all
        .iter()
        .find(|o| o.channel != look.channel && drives(o) && together(look, o));
    // a square top is less of a current and more of a drive seen small
    let square = look.gap && look.active.1 - look.active.0 < 0.15 * look.high;
    let less = if square { 1.2 } else { 0.0 };
    Some(match driver {
        Some(driver) => (
            2.9 - less,
            format!(
                "{pulses}, ending with those of channel {}",
                driver.channel + 1
            ),
        ),
        None => (2.0 - less, pulses),
    })
}

/// As many pulses, within a fifth.
fn together(look: &Look, other: &Look) -> bool {
    let (own, its) = (look.falling.len() as f64, other.falling.len() as f64);
    (own - its).abs() <= 0.2 * own.max(its)
}
