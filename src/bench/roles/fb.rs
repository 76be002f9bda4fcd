//! FB: held at 2.5 V by a closed loop (SLUS223G, 2.42 to 2.58 V).

use super::Evidence;
use super::look::{Look, volts};

pub(super) fn evidence(look: &Look, _all: &[Look]) -> Evidence {
    (look.flat && (look.mean - 2.5).abs() < 0.15).then(|| {
        (
            1.5,
            format!(
                "steady at {}, where a closed loop holds FB",
                volts(look.mean)
            ),
        )
    })
}
