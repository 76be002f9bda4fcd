//! Bulk: rectified mains, far above anything on the controller.

use super::Evidence;
use super::look::{Look, volts};

pub(super) fn evidence(look: &Look) -> Evidence {
    // a supply pin seen with ten times its volts goes up to 200 V and climbs slowly
    let climbs = look.low < 0.5 * look.high && look.between > 0.1;
    let log_odds = match look.mean {
        _ if climbs => 0.8,
        mean if mean > 200.0 => 2.9,
        _ => 1.9,
    };
    (look.mean > 60.0 && !look.fast_pulses() && look.low > -5.0).then(|| {
        (
            log_odds,
            format!("{}, as rectified mains", volts(look.mean)),
        )
    })
}
