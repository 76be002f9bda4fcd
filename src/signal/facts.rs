//! All facts about a raw channel: one pass over every sample, and a second over blocks with edges.

use crate::data::{Channel, Facts, Tone};

use super::histogram::Collector;
use super::noise::NoiseMeter;
use super::resolution::Distinct;
use super::stats::{self, Moments};
use super::{levels, pulses, pyramid, repeated, scatter, tone};

/// Finds the facts of a channel. An empty channel, or one of missing samples only, has no range:
/// minimum, maximum, mean and deviation are NaN. Clipped samples count; missing ones don't.
///
/// ```
/// use firstpulse::data::{Channel, TimeAxis};
/// let time = std::sync::Arc::new(TimeAxis::Uniform { start_s: 0.0, step_s: 1e-3, count: 4 });
/// let facts = firstpulse::signal::of_channel(&Channel::of_volts("CH1", time, vec![1.0, 2.0, 3.0, 4.0]));
/// assert_eq!((facts.min, facts.max, facts.mean), (1.0, 4.0, 2.5));
/// ```
pub fn of_channel(channel: &Channel) -> Facts {
    let count = channel.samples.len();
    let mut moments = Moments::default();
    let mut histogram = Collector::new();
    let mut distinct = Distinct::new();
    let mut noise = NoiseMeter::for_record(count);
    let mut blocks = pyramid::Builder::for_record(count);
    let (mut min, mut max) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut masked = Vec::new();
    channel.samples.for_each_block(0..count, |start, values| {
        let values = without_missing(channel, start, values, &mut masked);
        moments.merge(&Moments::of(values));
        for value in values.iter().filter(|v| v.is_finite()) {
            min = min.min(*value);
            max = max.max(*value);
        }
        histogram.add(values);
        distinct.add(values);
        noise.add(values);
        blocks.add(values);
    });
    let empty = moments.count == 0;
    let resolution = channel.samples.code_step().or_else(|| distinct.step());
    let mut facts = Facts {
        count: count as u64,
        valid: moments.count,
        clipped: channel.clipped.count(),
        min: if empty { f64::NAN } else { min },
        max: if empty { f64::NAN } else { max },
        mean: moments.summary().mean,
        deviation: moments.deviation(),
        resolution,
        noise: noise.finish(resolution),
        histogram: histogram.finish(),
        pyramid: blocks.finish(),
        pulses: None,
        tone: None,
        fold: None,
    };
    let split = levels::split(&facts.histogram, facts.noise, facts.resolution);
    if let Some(split) = split.filter(|s| s.gap) {
        facts.noise = facts
            .noise
            .min(scatter::within(&facts.histogram, &split, facts.resolution));
    }
    facts.pulses = split.map(|split| pulses::scan(channel, &facts.pyramid, &split));
    if !cycles_by_edges(&facts) {
        let middle = middle(channel, count);
        facts.tone = tone::find(&middle).map(|t| sharper(t, &middle));
    }
    facts
}

/// The sine with the length of its cycle by the whole shape that repeats, where that knows it better.
fn sharper(tone: Tone, values: &[f64]) -> Tone {
    let shape = repeated::shape(values, tone.cycles_per_sample);
    match shape.filter(|s| s.u_cycles < tone.u_cycles) {
        Some(shape) => Tone {
            cycles_per_sample: shape.cycles_per_sample,
            u_cycles: shape.u_cycles,
            ..tone
        },
        None => tone,
    }
}

/// Fewest samples in a cycle for its edges to tell it.
const FEWEST_SAMPLES: f64 = 6.0;

/// Do edges at nearly equal spacing give the cycles of the channel?
fn cycles_by_edges(facts: &Facts) -> bool {
    let Some(rising) = facts
        .pulses
        .as_ref()
        .map(|p| &p.rising)
        .filter(|r| r.len() > 3)
    else {
        return false;
    };
    let gaps: Vec<f64> = rising.windows(2).map(|w| w[1] - w[0]).collect();
    let usual = stats::median(&mut gaps.clone());
    let odd = gaps
        .iter()
        .filter(|g| !(0.5..1.5).contains(&(*g / usual)))
        .count();
    usual >= FEWEST_SAMPLES && odd * 20 <= gaps.len()
}

/// Samples from the middle of the record, as many as a spectrum is made of.
fn middle(channel: &Channel, count: usize) -> Vec<f64> {
    let from = count.saturating_sub(tone::MOST_SAMPLES) / 2;
    channel.valid_slice(from..(from + tone::MOST_SAMPLES).min(count))
}

/// Missing samples of integer stores hold some code; make them NaN.
fn without_missing<'a>(
    channel: &Channel,
    start: usize,
    values: &'a [f64],
    masked: &'a mut Vec<f64>,
) -> &'a [f64] {
    if channel.missing.is_empty() {
        return values;
    }
    masked.clear();
    masked.extend(values.iter().enumerate().map(|(index, value)| {
        if channel.missing.contains(start + index) {
            f64::NAN
        } else {
            *value
        }
    }));
    masked
}
