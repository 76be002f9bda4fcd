//! Ripple of the mains behind a rectifier: its height and its frequency, which tells a full bridge from
//! half a one.

use crate::data::{Mark, Quantity, Term, TieSource, Tone, Value};
use crate::signal::repeated::{self, Repeated};
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
/// Most samples read for it: of a longer record its block means serve.
const MOST_SAMPLES: usize = 65_536;

/// What a channel shows of the mains.
pub(super) struct MainsRipple {
    /// From one value to the next, in seconds.
    value_s: f64,
    tone: Tone,
    /// The cycle that repeats; `None` where the values are too few for one.
    pub cycle: Option<Repeated>,
}

/// Peak-to-peak ripple and its frequency.
pub(super) fn ripple(bulk: &Trace<'_>, found: &mut Findings) {
    let mains = of_mains(bulk);
    let cycle = mains.as_ref().ok().and_then(|m| m.cycle.as_ref());
    peak_to_peak(bulk, 0..bulk.blocks(), cycle, Quantity::BulkRipple, found);
    let quantity = Quantity::BulkRippleFrequency;
    match mains {
        Ok(mains) => {
            let span = (bulk.channel.time.start_s(), bulk.channel.time.end_s());
            let mark = Mark::Level {
                level: bulk.true_of(bulk.facts().mean),
                from_s: span.0,
                to_s: span.1,
            };
            let value = mains.hertz(span.1 - span.0);
            found.marked(quantity, bulk.index, value, Some(span), vec![mark]);
        }
        Err(why) => found.refuse(quantity, bulk.index, why),
    }
}

/// The ripple of the mains on a channel; refused where samples have no even times, in less than three
/// cycles, where no tone stands out, and where what does is not once or twice the frequency of the mains.
pub(super) fn of_mains(trace: &Trace<'_>) -> Result<MainsRipple, String> {
    super::frequency::timed_evenly(trace)?;
    if trace.span_s() < 3.0 / MAINS_HZ[1].1 {
        return Err(
            "the record is shorter than three cycles of mains ripple; record 60 ms or more"
                .to_owned(),
        );
    }
    let (values, each) = levels(trace);
    let tone = tone::find(&values)
        .filter(|t| t.share > LEAST_SHARE)
        .ok_or("no ripple at one frequency stands out of it")?;
    let value_s = each as f64 * trace.interval_s();
    let hertz = tone.cycles_per_sample / value_s;
    if !MAINS_HZ
        .iter()
        .any(|(low, high)| (*low..*high).contains(&hertz))
    {
        return Err(format!(
            "what stands out is at {hertz:.0} Hz: not the ripple of 50 or 60 Hz mains"
        ));
    }
    Ok(MainsRipple {
        value_s,
        tone,
        cycle: repeated::shape(&values, tone.cycles_per_sample),
    })
}

/// Raw values, evenly spaced, and how many samples each stands for.
fn levels(trace: &Trace<'_>) -> (Vec<f64>, usize) {
    if trace.len() <= MOST_SAMPLES {
        return (trace.channel.valid_slice(0..trace.len()), 1);
    }
    let blocks = &trace.facts().pyramid;
    (blocks.means.clone(), blocks.base)
}

impl MainsRipple {
    fn hertz(&self, span_s: f64) -> Value {
        let (cycles, mut terms) = match &self.cycle {
            Some(cycle) => {
                let u = cycle.u_cycles / self.value_s;
                (
                    cycle.cycles_per_sample,
                    vec![Term::normal("shape that repeats", u)],
                )
            }
            // a ripple is no sine: its harmonics pull a fitted sine by some hundredths of a cycle
            None => (
                self.tone.cycles_per_sample,
                vec![
                    Term::normal("spectrum", self.tone.u_cycles / self.value_s),
                    Term::within("shape of the ripple", SHAPE_CYCLES / span_s),
                ],
            ),
        };
        let hertz = cycles / self.value_s;
        let time_base = Term::within("time base (assumed)", 1e-4 * hertz);
        terms.push(time_base.tied(TieSource::TimeBase, -1.0));
        Value::from_terms(hertz, terms)
    }
}
