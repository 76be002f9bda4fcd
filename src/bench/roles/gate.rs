//! Gate: a later, slower copy of OUT, behind the gate resistor.

use super::Evidence;
use super::look::{Look, volts};
use super::out::drives;

/// Least delay of both edges behind those of OUT that counts, in samples.
const LEAST_DELAY: f64 = 0.2;

/// Where the pulses of a channel stand among others like them.
pub(super) enum Place {
    /// No other channel has such pulses.
    Alone,
    /// Those of this channel follow later.
    Before(usize),
    /// They follow those of this channel.
    After(usize),
    /// Another channel has them, and nothing tells which comes first.
    Unclear,
}

pub(super) fn place(look: &Look, all: &[Look]) -> Place {
    let mut others = all
        .iter()
        .filter(|o| o.channel != look.channel && drives(o));
    let Some(other) = others.next() else {
        return Place::Alone;
    };
    if others.next().is_some() {
        return Place::Unclear;
    }
    let tells = look.width_samples > 4.0;
    match look.delays(other).filter(|_| tells) {
        Some((up, down)) if up > LEAST_DELAY && down > LEAST_DELAY => Place::After(other.channel),
        Some((up, down)) if up < -LEAST_DELAY && down < -LEAST_DELAY => {
            Place::Before(other.channel)
        }
        _ => Place::Unclear,
    }
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
    match place(look, all) {
        Place::After(other) => Some((
            3.5,
            format!("{pulses}, a later copy of those of channel {}", other + 1),
        )),
        Place::Unclear => Some((1.0, pulses)),
        Place::Alone => Some((1.4, pulses)),
        Place::Before(_) => None,
    }
}
