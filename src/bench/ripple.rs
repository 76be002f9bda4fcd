//! Ripple: what a level does beyond the instrument's own noise, peak to peak.

use crate::data::{Mark, Quantity, Term, Value};

use super::Findings;
use super::trace::Trace;

/// Peak-to-peak within the blocks, less what noise of the known size shows over so many samples
/// (2σ√(2 ln n), the usual estimate for the range of n Gaussian values).
pub(super) fn ripple(
    trace: &Trace<'_>,
    blocks: std::ops::Range<usize>,
    quantity: Quantity,
    found: &mut Findings,
) {
    let samples = (blocks.len() * trace.block_size()) as f64;
    let (low, high) = blocks
        .clone()
        .map(|b| trace.block_range(b))
        .fold((f64::MAX, f64::MIN), |a, r| (a.0.min(r.0), a.1.max(r.1)));
    if low > high || samples < 2.0 {
        return;
    }
    let expected = 2.0 * trace.noise() * (2.0 * samples.ln()).sqrt();
    let stands_out = (high - low - expected.max(trace.resolution())).max(0.0);
    let terms = vec![
        trace.gain_term(stands_out),
        Term::within("noise", 0.5 * expected),
        Term::within("resolution", trace.resolution()),
    ];
    let span = (
        trace.time(trace.block_middle(blocks.start)),
        trace.time(trace.block_middle(blocks.end - 1)),
    );
    let marks = [low, high].map(|level| Mark::Level {
        level,
        from_s: span.0,
        to_s: span.1,
    });
    let value = Value::from_terms(stands_out, terms);
    found.marked(quantity, trace.index, value, Some(span), marks.to_vec());
}
