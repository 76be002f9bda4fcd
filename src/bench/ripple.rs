//! Ripple: what a level does beyond the instrument's own noise, peak to peak.

use crate::data::{Mark, Quantity, Term, Value};
use crate::signal::repeated::Repeated;

use super::Findings;
use super::trace::Trace;

/// Peak-to-peak of one cycle laid over many, on the clock of the capture or, where `own` gives one, on the
/// cycle that the channel repeats; else within the blocks, less what noise of the known size shows over so
/// many samples (2σ√(2 ln n), the usual estimate for the range of n Gaussian values).
pub(super) fn ripple(
    trace: &Trace<'_>,
    blocks: std::ops::Range<usize>,
    own: Option<&Repeated>,
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
    let doubt = (0.5 * expected).hypot(trace.resolution());
    // laid over itself by its own edges, a channel smears its own steps
    let fold = trace
        .facts()
        .fold
        .as_ref()
        .filter(|f| f.clock != trace.index);
    let by_clock = fold.and_then(|f| of_cycle(trace, &f.means, &f.counts, f.scatter));
    // where a cycle leaps, its parts leave more open than noise does
    let by_itself = own
        .and_then(|own| of_cycle(trace, &own.means, &own.counts, own.scatter))
        .filter(|(_, open)| *open < doubt);
    if let Some((folded, open)) = by_clock.or(by_itself)
        && folded > FOLDED * stands_out
    {
        let mut terms = trace.systematic_over(folded);
        terms.push(Term::within("part of a cycle", open));
        let span = (trace.channel.time.start_s(), trace.channel.time.end_s());
        found.value(
            quantity,
            trace.index,
            Value::from_terms(folded, terms),
            Some(span),
        );
        return;
    }
    let (stands_out, open) = match Slow::of(trace, blocks.clone()) {
        Some(slow) if stands_out <= slow.height && slow.sharp < doubt => {
            (slow.height, slow.terms(trace))
        }
        _ => {
            let noise = Term::within("noise", 0.5 * expected);
            let resolution = Term::within("resolution", trace.resolution());
            (stands_out, vec![noise, resolution])
        }
    };
    let mut terms = trace.systematic_over(stands_out);
    terms.extend(open);
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

/// A level that moves from block to block: the means of blocks follow it, with less noise than samples have.
struct Slow {
    /// From the lowest mean to the highest.
    height: f64,
    /// Standard deviation of the mean of a block.
    noise: f64,
    /// By how much the ends of the course lie beyond the means, half-width.
    sharp: f64,
}

/// How many times what noise alone moves the means by a slow level has to move.
const MOVES: f64 = 3.0;
/// Fewest means that follow a level.
const FEWEST_MEANS: usize = 32;

impl Slow {
    /// By the means of as few samples as noise allows; `None` where no means move by more than it does.
    fn of(trace: &Trace<'_>, blocks: std::ops::Range<usize>) -> Option<Self> {
        let means: Vec<f64> = blocks.map(|b| trace.block_mean(b)).collect();
        let noise = trace.grain() / (trace.block_size() as f64).sqrt();
        (0..=5).find_map(|k| {
            let together = 1_usize << k;
            let mean = |part: &[f64]| part.iter().sum::<f64>() / together as f64;
            let means: Vec<f64> = means.chunks_exact(together).map(mean).collect();
            Self::of_means(&means, noise / (together as f64).sqrt())
        })
    }

    fn of_means(means: &[f64], noise: f64) -> Option<Self> {
        let n = means.len();
        if n < FEWEST_MEANS || means.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let by = |a: &usize, b: &usize| means[*a].total_cmp(&means[*b]);
        let (top, bottom) = ((0..n).max_by(by)?, (0..n).min_by(by)?);
        let seen = means[top] - means[bottom];
        let beside = |k: usize| {
            let (before, after) = (means[k.saturating_sub(1)], means[(k + 1).min(n - 1)]);
            (means[k] - 0.5 * (before + after)).abs()
        };
        let by_noise = |alike: usize| noise * (2.0 * (alike.max(1) as f64).ln()).sqrt();
        // the highest of so many means that are alike is high by that much, the lowest as low
        let alike = |k: usize| {
            means
                .iter()
                .filter(|v| (**v - means[k]).abs() < 2.0 * noise)
                .count()
        };
        let height = seen - by_noise(alike(top)) - by_noise(alike(bottom));
        (height > MOVES * 2.0 * by_noise(n)).then(|| Self {
            height,
            noise,
            sharp: 0.5 * (beside(top) + beside(bottom)),
        })
    }

    fn terms(&self, trace: &Trace<'_>) -> Vec<Term> {
        vec![
            Term::normal("noise", self.noise * 2.0_f64.sqrt()),
            Term::within("ends between the means", self.sharp),
            Term::within("what noise hides", trace.grain()),
            Term::within("resolution", trace.hidden()),
        ]
    }
}

/// Share of the ripple that one cycle laid over many has to show for it to be that of the switching.
const FOLDED: f64 = 0.8;

/// Peak to peak of a cycle by the means of its parts (raw values), and the half-width left by the parts;
/// `None` where nothing stands out.
fn of_cycle(trace: &Trace<'_>, raw: &[f64], counts: &[u32], scatter: f64) -> Option<(f64, f64)> {
    let means: Vec<f64> = raw.iter().map(|raw| trace.true_of(*raw)).collect();
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
    let per_part = counts.iter().copied().min().unwrap_or(1).max(1);
    let noise = scatter * trace.known.gain.abs() / f64::from(per_part).sqrt();
    let seen = means[top] - means[bottom];
    let beside = |k: usize| 0.5 * (means[(k + 1) % n] + means[(k + n - 1) % n]);
    // the sharper an extreme, the more its part of the cycle rounds it off
    let sharp = (means[top] - beside(top)).abs() + (means[bottom] - beside(bottom)).abs();
    let stands_out = seen > 8.0 * noise;
    stands_out.then_some((seen, (0.5 * sharp + 2.0 * noise).max(1e-12)))
}
