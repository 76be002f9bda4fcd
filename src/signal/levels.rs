//! Two states or one: where a record may be split, and the state levels.

use crate::data::Histogram;

use super::scatter;

/// A split of a record in a low and a high state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Level at which edges are counted.
    pub threshold: f64,
    /// An edge has to cross from `threshold − band` to `threshold + band` or back.
    pub band: f64,
    /// Does a gap, empty but for a few samples, separate two states?
    pub gap: bool,
    /// Lower state level; NaN without gap.
    pub low: f64,
    /// Upper state level; NaN without gap.
    pub high: f64,
}

/// Shares of the samples that may lie in a gap (edges, decays), tried in this order: the smaller
/// ones find states that are themselves rare.
const SHARES: [f64; 3] = [0.03, 0.003, 0.0003];

/// Smallest width of a gap, as a share of the range.
const SMALLEST_GAP: f64 = 0.25;

/// Finds the split. `None` when the record is flat: one value, or a range below ten times its noise or
/// four code steps.
pub fn split(histogram: &Histogram, noise: f64, resolution: Option<f64>) -> Option<Split> {
    let range = histogram.counts.len() as f64 * histogram.width;
    let one_value = histogram.counts.len() < 2;
    if one_value || histogram.total() < 8 || range <= 4.0 * resolution.unwrap_or(0.0) {
        return None;
    }
    if range <= 10.0 * noise {
        // samples that jump between two states at random look like noise from one to the next, and so do
        // edges every few samples
        return two_heaps(histogram, resolution)
            .or_else(|| long_edges(histogram, noise, resolution));
    }
    for share in SHARES {
        if let Some((from, to)) = widest_gap(histogram, share) {
            let width = (to - from) as f64 * histogram.width;
            if width < SMALLEST_GAP * range || width < 3.0 * resolution.unwrap_or(0.0) {
                continue;
            }
            let (low, high) = state_levels(histogram, (from, to), noise, resolution).0;
            return Some(between(histogram, (from, to), (low, high)));
        }
    }
    if let Some(split) = long_edges(histogram, noise, resolution) {
        return Some(split);
    }
    let (low, high) = (histogram.quantile(0.005), histogram.quantile(0.995));
    Some(Split {
        threshold: 0.5 * (low + high),
        band: (4.0 * noise)
            .max(0.1 * (high - low))
            .min(0.3 * (high - low)),
        gap: false,
        low: f64::NAN,
        high: f64::NAN,
    })
}

/// Share of the samples that each state has to hold, and the largest share that the middle three
/// fifths of the range may hold, for two states whose edges take many samples. A sine holds 13 % at
/// either end (within 4 % of its range) and 41 % in the middle, a straight ramp 60 %.
const STATE_SHARE: f64 = 0.15;
const MIDDLE_SHARE: f64 = 0.33;

/// Share of the samples that either state holds behind ringing, smallest share of the range between the two, and
/// how many times as dense as evenly spread ones its samples are.
const RINGING: (f64, f64, f64) = (0.2, 0.4, 2.5);

/// Width of a state, as a share of the range.
const STATE_WIDTH: f64 = 0.04;

/// The split of a record whose edges take so many samples that no gap is left: both ends are heaps.
fn long_edges(histogram: &Histogram, noise: f64, resolution: Option<f64>) -> Option<Split> {
    let total = histogram.total() as f64;
    let (bottom, top) = (histogram.quantile(0.002), histogram.quantile(0.998));
    let range = top - bottom;
    let share = |from: f64, to: f64| {
        let inside = |bin: &usize| (from..to).contains(&histogram.middle(*bin));
        let bins = (0..histogram.counts.len()).filter(inside);
        bins.map(|bin| histogram.counts[bin]).sum::<u64>() as f64 / total
    };
    let half = histogram.counts.len() / 2;
    let ((low, high), reach) = state_levels(histogram, (half, half), noise, resolution);
    let width = reach.max(STATE_WIDTH * range);
    let states = share(low - width, low + width).min(share(high - width, high + width));
    let middle = share(bottom + 0.2 * range, top - 0.2 * range);
    let between = share(low + 2.0 * width, high - 2.0 * width);
    let amplitude = high - low;
    // strong ringing goes far beyond either state, but comes to rest there
    let dense = states > RINGING.0.max(RINGING.2 * 2.0 * width / range);
    let rings = dense && amplitude > RINGING.1 * range && between < MIDDLE_SHARE;
    let plain = states > STATE_SHARE && amplitude > 0.6 * range && middle < MIDDLE_SHARE;
    ((rings || plain) && 4.0 * width < amplitude).then_some(Split {
        threshold: 0.5 * (low + high),
        band: BAND * (high - low),
        gap: true,
        low,
        high,
    })
}

/// Fewest samples and smallest gap, as a share of the range, with which two heaps are two states
/// whatever the samples do from one to the next.
const HEAPS: (u64, f64) = (100, 0.5);

/// The split of a record whose values lie in two narrow heaps far apart.
fn two_heaps(histogram: &Histogram, resolution: Option<f64>) -> Option<Split> {
    let range = histogram.counts.len() as f64 * histogram.width;
    let (from, to) = widest_gap(histogram, SHARES[0])?;
    let gap = (to - from) as f64 * histogram.width;
    if histogram.total() < HEAPS.0 || gap < HEAPS.1 * range {
        return None;
    }
    let reach = (0.1 * range).max(1.5 * resolution.unwrap_or(0.0));
    let half_way = from.midpoint(to);
    let low = state_level(histogram, 0..half_way, reach);
    let high = state_level(histogram, half_way..histogram.counts.len(), reach);
    Some(between(histogram, (from, to), (low, high)))
}

/// Largest number of samples within a tenth of the amplitude of half-way, as a share of those of either
/// state, for what lies between the states to be edges; where there are more, one of the states is no
/// level but a spread, as of a ramp that runs a part of the time.
const MOST_HALF_WAY: f64 = 0.12;

/// Half-width of the band around half-way between two states, as a share of the amplitude.
const BAND: f64 = 0.2;

/// Threshold and band between two states: half-way (the 50 % reference level of IEEE 181) where only
/// edges lie there, else within the gap that was found.
fn between(histogram: &Histogram, (from, to): (usize, usize), (low, high): (f64, f64)) -> Split {
    let (half_way, amplitude) = (0.5 * (low + high), high - low);
    let near = |bin: &usize| (histogram.middle(*bin) - half_way).abs() < 0.1 * amplitude;
    let there: u64 = (0..histogram.counts.len())
        .filter(near)
        .map(|bin| histogram.counts[bin])
        .sum();
    let edge = |bin: usize| histogram.low + bin as f64 * histogram.width;
    let (below, above): (u64, u64) = (
        histogram.counts[..from].iter().sum(),
        histogram.counts[to..].iter().sum(),
    );
    let thin = there as f64 <= MOST_HALF_WAY * below.min(above) as f64;
    let (threshold, band) = if thin {
        (half_way, BAND * amplitude)
    } else {
        within_gap(edge(from), edge(to), half_way)
    };
    Split {
        threshold,
        band,
        gap: true,
        low,
        high,
    }
}

/// Threshold and band in a gap: half-way between the states (the 50 % reference level of IEEE 181)
/// where that lies well inside the gap, else the middle of the gap.
fn within_gap(from: f64, to: f64, half_way: f64) -> (f64, f64) {
    let room = (half_way - from).min(to - half_way);
    if room > 0.15 * (to - from) {
        (half_way, (0.8 * room).min(0.2 * (to - from)))
    } else {
        (0.5 * (from + to), 0.2 * (to - from))
    }
}

/// The widest run of bins that holds at most `share` of the samples and has more than that on
/// either side of it.
fn widest_gap(histogram: &Histogram, share: f64) -> Option<(usize, usize)> {
    let counts = &histogram.counts;
    let most = (share * histogram.total() as f64) as u64;
    let total = histogram.total();
    let (mut from, mut inside, mut below) = (0, 0_u64, 0_u64);
    let mut best: Option<(usize, usize)> = None;
    for to in 0..counts.len() {
        inside += counts[to];
        while inside > most {
            inside -= counts[from];
            below += counts[from];
            from += 1;
        }
        let above = total - below - inside;
        let wider = best.is_none_or(|(a, b)| to + 1 - from > b - a);
        if below > most && above > most && wider {
            best = Some((from, to + 1));
        }
    }
    best.map(|(a, b)| tightened(counts, a, b))
}

/// Cuts the ends of a run back over what belongs to the states beside it: stretches at least a quarter
/// as dense as the densest of the state. Stretches, not bins, because coarse codes leave bins empty.
fn tightened(counts: &[u64], mut from: usize, mut to: usize) -> (usize, usize) {
    let stretch = (counts.len() / 48).max(1);
    let density = |bins: &[u64]| bins.iter().sum::<u64>() as f64 / bins.len().max(1) as f64;
    let densest = |bins: &[u64]| bins.chunks(stretch).map(density).fold(0.0, f64::max);
    let (below, above) = (densest(&counts[..from]), densest(&counts[to..]));
    while from + stretch < to && density(&counts[from..from + stretch]) > 0.25 * below {
        from += stretch;
    }
    while to > from + stretch && density(&counts[to - stretch..to]) > 0.25 * above {
        to -= stretch;
    }
    (from, to)
}

/// Levels of the states below and above a gap, and the reach that they were found with. Where edges follow
/// each other in a few samples, what seemed noise is bounded by the scatter of the states.
fn state_levels(
    histogram: &Histogram,
    (from, to): (usize, usize),
    noise: f64,
    resolution: Option<f64>,
) -> ((f64, f64), f64) {
    // the tails of either state reach into the gap
    let half_way = from.midpoint(to);
    let (below, above) = (0..half_way, half_way..histogram.counts.len());
    let scatter =
        |bins: &std::ops::Range<usize>| scatter::of_bins(histogram, bins.clone(), resolution);
    let noise = noise.min(scatter(&below)).min(scatter(&above));
    let reach = reach_of(histogram, noise, resolution);
    let levels = (
        state_level(histogram, below, reach),
        state_level(histogram, above, reach),
    );
    (levels, reach)
}

/// State level by the histogram method of IEEE 181: the mode of the state's part of the histogram,
/// here refined to the mean of the samples within `reach` of it, and of that again, until it rests: the
/// mode of a coarsely coded record is a code, not the level.
fn state_level(histogram: &Histogram, bins: std::ops::Range<usize>, reach: f64) -> f64 {
    let Some(mode) = bins
        .clone()
        .max_by_key(|bin| (histogram.counts[*bin], usize::MAX - *bin))
    else {
        return f64::NAN;
    };
    let mut centre = histogram.mean_in(mode);
    for _ in 0..ROUNDS {
        let near = bins
            .clone()
            .filter(|bin| (histogram.middle(*bin) - centre).abs() <= reach);
        let (weight, sum) = near.fold((0.0, 0.0), |(w, s), bin| {
            let count = histogram.counts[bin] as f64;
            (w + count, s + count * histogram.mean_in(bin))
        });
        if weight <= 0.0 {
            break;
        }
        centre = sum / weight;
    }
    centre
}

/// By how much a state level leans to one side: mean of the samples within twice the reach of it less
/// that within the reach. Ringing and slow approaches lean, noise does not.
pub fn lean(histogram: &Histogram, level: f64, noise: f64, resolution: Option<f64>) -> f64 {
    let reach = reach_of(histogram, noise, resolution);
    let within = |reach: f64| {
        let bins = 0..histogram.counts.len();
        let near = bins.filter(|bin| (histogram.mean_in(*bin) - level).abs() <= reach);
        let (weight, sum) = near.fold((0.0, 0.0), |(w, s), bin| {
            let count = histogram.counts[bin] as f64;
            (w + count, s + count * (histogram.mean_in(bin) - level))
        });
        if weight > 0.0 { sum / weight } else { 0.0 }
    };
    within(2.0 * reach) - within(reach)
}

/// Rounds in which a state level comes to rest.
const ROUNDS: usize = 6;

/// How far from a state level its samples may lie: four standard deviations of noise and coding.
fn reach_of(histogram: &Histogram, noise: f64, resolution: Option<f64>) -> f64 {
    let step = resolution.unwrap_or(0.0);
    (4.0 * noise.hypot(step / 12.0_f64.sqrt()))
        .max(1.5 * step)
        .max(2.0 * histogram.width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::histogram::Collector;

    fn histogram(values: &[f64]) -> Histogram {
        let mut collector = Collector::new();
        collector.add(values);
        collector.finish()
    }

    #[test]
    fn a_pulse_train_splits_in_its_gap() {
        let values: Vec<f64> = (0..1000)
            .map(|i| if i % 10 < 3 { 12.5 } else { 0.1 })
            .collect();
        let split = split(&histogram(&values), 0.0, None).unwrap();
        assert!(split.gap && (split.low - 0.1).abs() < 0.03 && (split.high - 12.5).abs() < 0.03);
        assert!((split.threshold - 6.3).abs() < 0.2);
    }

    #[test]
    fn a_ramp_beside_a_quiet_stretch_splits_below_the_ramp() {
        let values: Vec<f64> = (0..2000)
            .map(|i| {
                if i < 900 {
                    0.0
                } else {
                    1.0 + 1.7 * (f64::from(i) * 0.618_034).fract()
                }
            })
            .collect();
        let split = split(&histogram(&values), 0.0, None).unwrap();
        assert!(
            split.gap && split.threshold > 0.3 && split.threshold < 0.8,
            "{split:?}"
        );
    }

    #[test]
    fn ramps_and_sines_have_no_gap_and_flat_records_no_split() {
        let ramp: Vec<f64> = (0..5000).map(|i| f64::from(i % 100) / 100.0).collect();
        assert!(!split(&histogram(&ramp), 0.0, None).unwrap().gap);
        let sine: Vec<f64> = (0..5000).map(|i| (f64::from(i) * 0.01).sin()).collect();
        assert!(!split(&histogram(&sine), 0.0, None).unwrap().gap);
        let flat: Vec<f64> = (0..5000)
            .map(|i| 5.0 + 0.01 * (f64::from(i) * 0.7).sin())
            .collect();
        assert_eq!(split(&histogram(&flat), 0.01, None), None);
    }
}
