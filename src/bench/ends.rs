//! Ends of a range at which samples pile up: what lies beyond is cut off.

use super::trace::Trace;

/// A signal passes its last code as fast as those before it: so many times as many samples there, and at least
/// such a share of all, lie on the end of the range.
const DENSER: f64 = 3.0;
const LEAST_SHARE: f64 = 0.01;
/// Codes beside the last that it is compared with.
const BESIDE: f64 = 3.0;
/// Codes of a record whose step is not known.
const CODES: f64 = 256.0;
/// Noise of so many codes or more leaves no level on one code, however still it is held.
const NOISY: f64 = 0.4;

/// Do samples pile up on the highest (or lowest) raw value of the record?
pub(super) fn piled(trace: &Trace<'_>, at_max: bool) -> bool {
    let facts = trace.facts();
    let end = if at_max { facts.max } else { facts.min };
    let step = facts.resolution.unwrap_or((facts.max - facts.min) / CODES);
    let count = |from: f64, to: f64| -> f64 {
        let bins = 0..facts.histogram.counts.len();
        let off = |bin: &usize| (facts.histogram.mean_in(*bin) - end).abs() / step;
        let inside = bins.filter(|b| (from..to).contains(&off(b)));
        inside.map(|b| facts.histogram.counts[b] as f64).sum()
    };
    let there = count(0.0, 0.6);
    let beside = count(0.6, BESIDE + 0.6) / BESIDE;
    there > DENSER * beside && there > LEAST_SHARE * facts.valid as f64
}

/// Does the file say of more than a few samples that they lie at the end of the range or beyond it?
pub(super) fn told(trace: &Trace<'_>) -> bool {
    let facts = trace.facts();
    facts.clipped as f64 > LEAST_SHARE * facts.valid as f64
}

/// Would a level that is held still scatter over several codes?
pub(super) fn scatters(trace: &Trace<'_>) -> bool {
    let facts = trace.facts();
    facts
        .resolution
        .is_some_and(|step| facts.noise > NOISY * step)
}
