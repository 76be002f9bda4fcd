//! Ripple of the bulk voltage: its height and its frequency, which tells a full bridge from half a one.

use crate::data::{Mark, Quantity, Term, TieSource, Value};
use crate::signal::tone;

use super::Findings;
use super::ripple::ripple as peak_to_peak;
use super::trace::Trace;

/// Smallest share of the variance that one sine has to carry to be the ripple.
const LEAST_SHARE: f64 = 0.3;
/// How far the harmonics of a ripple may pull a sine fitted to it over the record, in cycles.
const SHAPE_CYCLES: f64 = 0.03;
/// Mains ripple lies within these, in hertz: half-wave and full-wave of 45 to 65 Hz mains.
const MAINS_HZ: [(f64, f64); 2] = [(45.0, 65.0), (90.0, 130.0)];

/// Peak-to-peak ripple and its frequency.
pub(super) fn ripple(bulk: &Trace<'_>, found: &mut Findings) {
    peak_to_peak(bulk, 0..bulk.blocks(), Quantity::BulkRipple, found);
    let quantity = Quantity::BulkRippleFrequency;
    match frequency(bulk) {
        Ok(value) => {
            let span = (bulk.channel.time.start_s(), bulk.channel.time.end_s());
            let mark = Mark::Level {
                level: bulk.true_of(bulk.facts().mean),
                from_s: span.0,
                to_s: span.1,
            };
            found.marked(quantity, bulk.index, value, Some(span), vec![mark]);
        }
        Err(why) => found.refuse(quantity, bulk.index, why),
    }
}

fn frequency(bulk: &Trace<'_>) -> Result<Value, String> {
    super::frequency::timed_evenly(bulk)?;
    if bulk.span_s() < 3.0 / MAINS_HZ[1].1 {
        return Err(
            "the record is shorter than three cycles of mains ripple; record 60 ms or more"
                .to_owned(),
        );
    }
    let means: Vec<f64> = (0..bulk.blocks()).map(|b| bulk.block_mean(b)).collect();
    let tone = tone::find(&means)
        .filter(|t| t.share > LEAST_SHARE)
        .ok_or("no ripple at one frequency stands out of the bulk voltage")?;
    let block_s = bulk.block_size() as f64 * bulk.interval_s();
    let hertz = tone.cycles_per_sample / block_s;
    if !MAINS_HZ
        .iter()
        .any(|(low, high)| (*low..*high).contains(&hertz))
    {
        return Err(format!(
            "what stands out is at {hertz:.0} Hz: not the ripple of 50 or 60 Hz mains"
        ));
    }
    let terms = vec![
        Term::normal("spectrum", tone.u_cycles / block_s),
        // a ripple is no sine: its harmonics pull a fitted sine by some hundredths of a cycle
        Term::within("shape of the ripple", SHAPE_CYCLES / bulk.span_s()),
        Term::within("time base (assumed)", 1e-4 * hertz).tied(TieSource::TimeBase, -1.0),
    ];
    Ok(Value::from_terms(hertz, terms))
}
