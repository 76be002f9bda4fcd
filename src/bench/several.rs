//! One figure read several times, each time by a fit.

use crate::data::Term;
use crate::signal::stats;

/// Mean of values that each have a standard uncertainty, and the random part of its budget: what the fits say, or
/// the spread where that is more. NaN for none.
pub(super) fn joined(values: &[(f64, f64)]) -> (f64, Term) {
    let n = values.len() as f64;
    let singles: Vec<f64> = values.iter().map(|v| v.0).collect();
    let spread = stats::summary(&singles);
    let fit = (values.iter().map(|v| v.1 * v.1).sum::<f64>() / n).sqrt() / n.sqrt();
    let term = if n > 1.0 && spread.deviation / n.sqrt() > fit {
        Term::mean_of("spread", spread.deviation, values.len())
    } else {
        Term::normal("fit", fit)
    };
    (spread.mean, term)
}
