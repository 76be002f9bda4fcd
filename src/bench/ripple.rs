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
    if let Some((folded, doubt)) = of_fold(trace)
        && folded > FOLDED * stands_out
    {
        let mut terms = trace.systematic_over(folded);
        terms.push(Term::within("part of a cycle", doubt));
        let span = (trace.channel.time.start_s(), trace.channel.time.end_s());
        found.value(
            quantity,
            trace.index,
            Value::from_terms(folded, terms),
            Some(span),
        );
        return;
    }
    let mut terms = trace.systematic_over(stands_out);
    terms.extend([
        Term::within("noise", 0.5 * expected),
        Term::within("resolution", trace.resolution()),
    ]);
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

/// Share of the ripple that one cycle laid over many has to show for it to be that of the switching.
const FOLDED: f64 = 0.8;

/// Peak to peak of one cycle laid over many, less what noise would show, and the half-width left by the
/// parts of the cycle; `None` where no channel gives a clock, or where nothing stands out.
fn of_fold(trace: &Trace<'_>) -> Option<(f64, f64)> {
    // laid over itself, a channel smears its own steps
    let fold = trace
        .facts()
        .fold
        .as_ref()
        .filter(|f| f.clock != trace.index)?;
    let means: Vec<f64> = fold.means.iter().map(|raw| trace.true_of(*raw)).collect();
    let n = means.len();
    if n < 8 || means.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let place = |better: fn(&f64, &f64) -> std::cmp::Ordering| {
        (0..n)
            .max_by(|a, b| better(&means[*a], &means[*b]))
            .unwrap_or(0)
    };
    let (top, bottom) = (place(f64::total_cmp), place(|a, b| b.total_cmp(a)));
    let per_part = fold.counts.iter().copied().min().unwrap_or(1).max(1);
    let noise = fold.scatter * trace.known.gain.abs() / f64::from(per_part).sqrt();
    let seen = means[top] - means[bottom];
    let beside = |k: usize| 0.5 * (means[(k + 1) % n] + means[(k + n - 1) % n]);
    // the sharper an extreme, the more its part of the cycle rounds it off
    let sharp = (means[top] - beside(top)).abs() + (means[bottom] - beside(bottom)).abs();
    let stands_out = seen > 8.0 * noise;
    stands_out.then_some((seen, (0.5 * sharp + 2.0 * noise).max(1e-12)))
}
