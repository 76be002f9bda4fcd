//! Bulk: rectified mains, far above anything on the controller.

use super::Evidence;
use super::look::{Look, volts};

pub(super) fn evidence(look: &Look) -> Evidence {
    (look.mean > 60.0 && !look.fast_pulses() && look.low > -5.0)
        .then(|| (2.8, format!("{}, as rectified mains", volts(look.mean))))
}
