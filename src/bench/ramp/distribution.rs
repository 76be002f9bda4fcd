//! Peak and valley of a ramp whose cycles the samples do not resolve: from the distribution of its
//! samples, which come at random instants of its cycles.

use crate::controllers::timing::USUAL_VREF_V;
use crate::data::{Event, Histogram, Quantity, SampleKind, Term, Value};

use super::super::trace::Trace;
use super::super::{Findings, roles};
use super::{height_of, level};

/// Quantiles near the ends of the distribution: a ramp spends equal times at nearly all its levels,
/// whatever the sampling, as long as samples and ramp do not run in step.
const TAIL: f64 = 0.005;

/// Levels of the samples above `above`, or of all; `events` say that the controller runs at all.
pub(super) fn measure(
    rtct: &Trace<'_>,
    above: Option<f64>,
    events: &[Event],
    found: &mut Findings,
) {
    let histogram = &rtct.facts().histogram;
    let part = above.map_or_else(|| histogram.clone(), |level| roles::above(histogram, level));
    let samples = part.total();
    if samples < 60 || (above.is_some() && events.is_empty()) {
        found.refuse(
            Quantity::RampAmplitude,
            rtct.index,
            "too few samples of the running ramp for its levels",
        );
        return;
    }
    if part_of_cycle(rtct, &part) {
        let why = "each interval holds a part of a cycle only, so that its extremes are not those of the ramp; record without peak detection";
        found.refuse(Quantity::RampAmplitude, rtct.index, why);
        return;
    }
    let noise = noise_of(rtct, &part);
    let (valley, peak, open) = ends(rtct, &part, noise);
    if in_step(rtct, &part, (valley, peak)) {
        let why = "the samples run in step with the ramp and miss some of its levels; record with a faster time base, or a slower one";
        found.refuse(Quantity::RampAmplitude, rtct.index, why);
        return;
    }
    for (quantity, volts) in [(Quantity::RampPeak, peak), (Quantity::RampValley, valley)] {
        let mut terms = rtct.systematic(volts);
        terms.extend([
            rtct.resolution_term(),
            Term::within("distribution of the samples", open),
            Term::within("noise", 0.5 * noise),
        ]);
        level(rtct, quantity, Value::from_terms(volts, terms), found);
    }
    let mut terms = rtct.systematic_over(peak - valley);
    terms.extend([
        rtct.resolution_term(),
        Term::within("distribution of the samples", open * 2.0_f64.sqrt()),
        Term::within("noise", 0.7 * noise),
    ]);
    let value = Value::from_terms(peak - valley, terms);
    height_of(rtct, [valley, peak], value, found);
    if is_slow(rtct) {
        found.refuse(
            Quantity::OscillatorFrequency,
            rtct.index,
            "the record is too slow for the ramp; a fast record of RT/CT gives it",
        );
    }
}

/// Share of the height over which the lowest, or the highest, of intervals that hold whole cycles scatter at most.
const ALIKE: f64 = 0.2;

/// Does a record of extremes hold less than a cycle in each interval? Then they scatter over the whole height.
fn part_of_cycle(rtct: &Trace<'_>, part: &Histogram) -> bool {
    let at = |share: f64| rtct.true_of(part.quantile(share));
    let spread = (at(0.45) - at(0.05)).max(at(0.95) - at(0.55));
    rtct.channel.kind == SampleKind::MinMaxPair && spread > ALIKE * (at(0.75) - at(0.25))
}

/// Noise of the samples. Of few samples a cycle the ramp itself looks like noise from one to the next, but
/// noise reaches beyond the tails by more than its standard deviation.
fn noise_of(rtct: &Trace<'_>, part: &Histogram) -> f64 {
    let at = |share: f64| rtct.true_of(part.quantile(share));
    let beyond = (at(TAIL) - at(0.0))
        .abs()
        .max((at(1.0) - at(1.0 - TAIL)).abs());
    rtct.grain().min(beyond)
}

/// Parts of the height that are looked at for samples.
const PARTS: usize = 8;
/// Share of an even part below which samples miss it (a ramp from 1.0 to 2.7 V towards 5 V has 0.74 at
/// the valley), and by how many standard deviations of the count at least.
const MISSED: (f64, f64) = (0.35, 4.0);

/// Do samples run in step with the ramp, so that they show a few of its levels only?
fn in_step(rtct: &Trace<'_>, part: &Histogram, (valley, peak): (f64, f64)) -> bool {
    if rtct.channel.kind == SampleKind::MinMaxPair {
        return false;
    }
    let mut counts = [0.0; PARTS];
    for (bin, count) in part.counts.iter().enumerate() {
        let share = (rtct.true_of(part.mean_in(bin)) - valley) / (peak - valley);
        let place = (share * PARTS as f64).clamp(0.0, PARTS as f64 - 1.0) as usize;
        counts[place] += *count as f64;
    }
    let mean = counts.iter().sum::<f64>() / PARTS as f64;
    counts
        .iter()
        .any(|count| *count < MISSED.0 * mean && mean - count > MISSED.1 * mean.sqrt())
}

/// How far the extreme of many noisy samples may lie out, in standard deviations of the noise.
const EXTREMES: f64 = 2.0;

/// Valley, peak, and the half-width within which either lies, from the distribution of the samples.
fn ends(rtct: &Trace<'_>, part: &Histogram, noise: f64) -> (f64, f64, f64) {
    let at = |share: f64| rtct.true_of(part.quantile(share));
    if rtct.channel.kind == SampleKind::MinMaxPair {
        // one half of the values are lowest, the other half highest ones of intervals: their medians
        let (low, high) = (at(0.25), at(0.75));
        let spread = (at(0.4) - at(0.1)).max(at(0.9) - at(0.6));
        // and of noisy samples the extremes lie out by some of the noise
        let open = (0.5 * spread).max(0.006 * (high - low)) + EXTREMES * noise;
        return (low, high, open);
    }
    let (low, high) = (at(TAIL), at(1.0 - TAIL));
    let (valley, peak) = edges(low, high, noise);
    // the ends of n evenly spread samples are known to about three of their mean distances
    let open = ((high - low) * 3.0 / part.total() as f64).max(0.006 * (high - low));
    (valley, peak, open)
}

/// Ends of an exponential ramp from the quantiles of its noisy samples.
///
/// Samples of a ramp that rises towards VREF (5 V) lie the denser the slower it is there: at the
/// peak more than the mean, at the valley less. Beyond an end, Gaussian noise σ puts the share
/// (σ/R)·(φ(z) − z·Q(z)) of evenly dense samples more than zσ outside; the end lies where that share
/// is the tail that the quantile cut off.
fn edges(low: f64, high: f64, noise: f64) -> (f64, f64) {
    let range = high - low;
    let density = |level: f64| {
        let mean = range / ((USUAL_VREF_V - low) / (USUAL_VREF_V - high)).ln();
        (mean / (USUAL_VREF_V - level)).clamp(0.3, 3.0)
    };
    let outside = |level: f64| {
        let per_volt = density(level) / range;
        let share = |z: f64| {
            let phi = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
            phi - z * crate::data::distribution::normal_cumulative(-z, 1.0)
        };
        if noise <= 1e-6 * range {
            return -TAIL / per_volt;
        }
        let wanted = TAIL / (per_volt * noise);
        let (mut z_low, mut z_high) = (-wanted - 6.0, 6.0);
        for _ in 0..60 {
            let z = 0.5 * (z_low + z_high);
            if share(z) > wanted {
                z_low = z
            } else {
                z_high = z
            }
        }
        z_high * noise
    };
    (low + outside(low), high - outside(high))
}

fn is_slow(rtct: &Trace<'_>) -> bool {
    rtct.span_s() > 0.02 && rtct.interval_s() > 2e-6
}
