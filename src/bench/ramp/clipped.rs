//! A ramp beyond the range of the scope: what is cut off can't be measured, nor what follows from it.

use crate::data::{InspectedCapture, Quantity, ShotKind};

use super::super::Findings;
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

/// A ramp passes its last code as fast as those before it: so many times as many samples there, and at least
/// such a share of all, lie on the end of the range.
const DENSER: f64 = 3.0;
const LEAST_SHARE: f64 = 0.01;
/// Codes beside the last that it is compared with.
const BESIDE: f64 = 3.0;
/// Codes of a record whose step is not known.
const CODES: f64 = 256.0;

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
    let step = facts.resolution.unwrap_or((facts.max - facts.min) / CODES);
    let count = |from: f64, to: f64| -> f64 {
        let bins = 0..facts.histogram.counts.len();
        let off = |bin: &usize| (facts.histogram.mean_in(*bin) - end).abs() / step;
        let inside = bins.filter(|b| (from..to).contains(&off(b)));
        inside.map(|b| facts.histogram.counts[b] as f64).sum()
    };
    let there = count(0.0, 0.6);
    let beside = count(0.6, BESIDE + 0.6) / BESIDE;
    let piled = there > DENSER * beside && there > LEAST_SHARE * facts.valid as f64;
    let told = facts.clipped as f64 > LEAST_SHARE * facts.valid as f64;
    // at rest the pin stands at 0 V: that is no end of the range
    let rests = end_v.abs() < STOPPED_V || !running;
    (piled && (told || !rests)).then_some(end_v)
}
