//! Output: comes up after the start, and stays.

use super::Evidence;
use super::look::{Look, volts};
use super::vcc;
use super::vref;

pub(super) fn evidence(look: &Look, all: &[Look]) -> Evidence {
    let steps = look.steps()
        && look.low_state.abs() < 1.0
        && (1.5..60.0).contains(&look.high_state)
        && !(5.5..7.4).contains(&look.high_state)
        && (look.high_state - 2.5).abs() > 0.25
        && look.edges <= 2;
    let beside = all
        .iter()
        .any(|o| o.channel != look.channel && vcc::evidence(o, all).is_some());
    (steps && beside && look.between < 0.05 && vref::evidence(look, all).is_none()).then(|| {
        (
            1.3,
            format!("comes up to {} and stays", volts(look.high_state)),
        )
    })
}
