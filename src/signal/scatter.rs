//! How far the samples of one state scatter about it.

use std::ops::Range;

use crate::data::Histogram;

use super::levels::Split;

/// Fewest samples of a state for its scatter to count.
const FEWEST_IN_STATE: f64 = 50.0;
/// Half the width of what belongs to a state, in standard deviations.
const REACH: f64 = 4.0;
/// Interquartile range of normal noise, in standard deviations.
const QUARTILES: f64 = 1.349;

/// Standard deviation of the samples within one state of a record with two, the smaller of both: an
/// upper bound of the noise. Infinite where neither has samples enough.
pub fn within(histogram: &Histogram, split: &Split, resolution: Option<f64>) -> f64 {
    let above = |bin: &usize| histogram.mean_in(*bin) >= split.threshold;
    let end = histogram.counts.len();
    let first = (0..end).find(above).unwrap_or(end);
    of_bins(histogram, 0..first, resolution).min(of_bins(histogram, first..end, resolution))
}

/// Standard deviation of the samples in a range of bins about their median, without those so far from it
/// that they belong to edges. Infinite below 50 samples.
pub fn of_bins(histogram: &Histogram, bins: Range<usize>, resolution: Option<f64>) -> f64 {
    let total: f64 = bins.clone().map(|b| histogram.counts[b] as f64).sum();
    if total < FEWEST_IN_STATE {
        return f64::INFINITY;
    }
    let quantile = |share: f64| {
        let mut seen = 0.0;
        let reached = bins.clone().find(|bin| {
            seen += histogram.counts[*bin] as f64;
            seen >= share * total
        });
        reached.map_or(f64::NAN, |bin| histogram.mean_in(bin))
    };
    let (lower, median, upper) = (quantile(0.25), quantile(0.5), quantile(0.75));
    let reach = REACH
        * ((upper - lower) / QUARTILES)
            .max(0.5 * resolution.unwrap_or(0.0))
            .max(histogram.width);
    let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for bin in bins.clone() {
        let off = histogram.mean_in(bin) - median;
        if off.abs() <= reach {
            let weight = histogram.counts[bin] as f64;
            (n, sum) = (n + weight, sum + weight * off);
            squares += weight * off * off;
        }
    }
    // a bin hides what moves within it
    let variance = (squares / n - (sum / n).powi(2)).max(0.0);
    variance.sqrt().max(0.3 * histogram.width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::histogram::Collector;

    /// Ten samples a cycle, one of them on an edge: the noise of the states is ±0.05 V, evenly spread.
    #[test]
    fn samples_on_edges_are_no_scatter_of_a_state() {
        let wiggle = |i: u32| ((f64::from(i) * 0.618_034).fract() - 0.5) * 0.1;
        let values: Vec<f64> = (0..3000)
            .map(|i| match i % 10 {
                0 => 12.0 * (f64::from(i) * 0.381_97).fract(),
                1..=4 => 12.0 + wiggle(i),
                _ => wiggle(i),
            })
            .collect();
        let mut collector = Collector::new();
        collector.add(&values);
        let split = Split {
            threshold: 6.0,
            band: 2.4,
            gap: true,
            low: 0.0,
            high: 12.0,
        };
        let found = within(&collector.finish(), &split, None);
        let truth = 0.1 / 12.0_f64.sqrt();
        assert!((found / truth - 1.0).abs() < 0.1, "{found} {truth}");
    }

    #[test]
    fn few_samples_tell_no_scatter() {
        let mut collector = Collector::new();
        collector.add(&[1.0, 2.0, 1.5]);
        assert!(of_bins(&collector.finish(), 0..1, None).is_infinite());
        assert!(of_bins(&Histogram::default(), 0..0, None).is_infinite());
    }
}
