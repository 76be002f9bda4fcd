//! A ramp beyond the range of the scope: what is cut off can't be measured, nor what follows from it.

use crate::data::{InspectedCapture, Quantity, ShotKind};

use super::super::Findings;
use super::super::ends;
use super::super::trace::Trace;
use super::STOPPED_V;

/// What a cut peak takes with it, and what a cut valley does.
const OF_PEAK: [Quantity; 5] = [
    Quantity::RampPeak,
    Quantity::RampAmplitude,
    Quantity::RampRiseDuration,
    Quantity::RampFallDuration,
    Quantity::RampAsymptote,
];
const OF_VALLEY: [Quantity; 5] = [
    Quantity::RampValley,
    Quantity::RampAmplitude,
    Quantity::RampRiseDuration,
    Quantity::RampFallDuration,
    Quantity::RampAsymptote,
];

/// Takes back what was found of a ramp whose peak or valley is cut off.
pub(super) fn withdraw(shot: &InspectedCapture, rtct: &Trace<'_>, found: &mut Findings) {
    let running = shot.kind.value == Some(ShotKind::Running);
    let upper = rtct.known.gain > 0.0;
    for (quantities, word, at_max) in [(OF_PEAK, "peak", upper), (OF_VALLEY, "valley", !upper)] {
        let Some(end_v) = cut(rtct, at_max, running) else {
            continue;
        };
        let why = format!(
            "the record is clipped at {end_v:.2} V, and the {word} of the ramp lies beyond; record with more volts per division, or another offset"
        );
        for quantity in quantities {
            found.withdraw(quantity, &why);
        }
    }
}

/// The end of the range, in volts, where samples pile up on it, as the file says or as they show.
fn cut(rtct: &Trace<'_>, at_max: bool, running: bool) -> Option<f64> {
    let facts = rtct.facts();
    let end = if at_max { facts.max } else { facts.min };
    let end_v = rtct.true_of(end);
    // at rest the pin stands at 0 V: that is no end of the range
    let rests = end_v.abs() < STOPPED_V || !running;
    (ends::piled(rtct, at_max) && (ends::told(rtct) || !rests)).then_some(end_v)
}
