//! Spikes on VCC that no comparator acts on: a few single samples, or rare ones to both sides. What a controller draws
//! in pulses takes VCC down and not up (Kirchhoff), so spikes to both sides are picked up by the probe, or are too short
//! for anything at the pin to follow (common practice).

use crate::signal::stats;

/// Samples of which the middle one is set against their median.
const MEDIAN_OF: usize = 5;
/// A spike lies so many standard deviations off it, and a code more.
const OFF: f64 = 6.0;
/// Spikes are rarer than this share of the samples …
const MOST_SHARE: f64 = 0.12;
/// … and so few of them say nothing of their sides.
const FEW: usize = 3;
/// At least this share of them lies on the side of the fewer.
const LEAST_ON_A_SIDE: f64 = 0.2;
/// Fewest samples among which spikes are looked for.
const FEWEST: usize = 40;

/// Spikes that were left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spikes {
    /// Their share of the samples.
    pub share: f64,
    /// How far the furthest goes, in volts.
    pub reach_v: f64,
}

/// Sets spikes to the median of the samples about them; `None` where there are none of this kind. `noise_v` is the noise
/// of the record, `code_v` its code step. Missing samples (NaN) are no spikes.
pub(super) fn take_out(values: &mut [f64], noise_v: f64, code_v: f64) -> Option<Spikes> {
    if values.len() < FEWEST {
        return None;
    }
    let medians = running_median(values);
    let off: Vec<f64> = values.iter().zip(&medians).map(|(v, m)| v - m).collect();
    let mut sizes: Vec<f64> = off.iter().map(|o| o.abs()).collect();
    sizes.retain(|o| o.is_finite());
    // of few codes most samples lie on the median: a quarter of a code is the least that noise is taken for
    let sigma = (1.4826 * stats::median(&mut sizes)).max(noise_v.max(0.25 * code_v));
    let limit = OFF * sigma + code_v;
    // the edge of a ripple does not come back
    let off: Vec<f64> = (0..off.len())
        .map(|i| {
            if comes_back(values, i, off[i]) {
                off[i]
            } else {
                0.0
            }
        })
        .collect();
    let (up, down) = off.iter().fold((0, 0), |(up, down), o| {
        (
            up + usize::from(*o > limit),
            down + usize::from(*o < -limit),
        )
    });
    let (all, fewer) = (up + down, up.min(down));
    let share = all as f64 / values.len() as f64;
    let both = fewer as f64 >= LEAST_ON_A_SIDE * all as f64;
    if all == 0 || share > MOST_SHARE || !(both || all <= FEW) {
        return None;
    }
    let mut reach_v = 0.0_f64;
    for ((value, median), off) in values.iter_mut().zip(&medians).zip(&off) {
        if off.abs() > limit {
            reach_v = reach_v.max(off.abs());
            *value = *median;
        }
    }
    Some(Spikes { share, reach_v })
}

/// Do the samples on both sides lie nearer to each other than 0.8 of what this one is off?
fn comes_back(values: &[f64], at: usize, off: f64) -> bool {
    let beside = |i: Option<usize>| i.and_then(|i| values.get(i)).copied();
    let sides = beside(at.checked_sub(1)).zip(beside(Some(at + 1)));
    sides.is_some_and(|(a, b)| (a - b).abs() < 0.8 * off.abs())
}

/// The median about each sample; the first and the last few are their own, as nothing shows that they come back.
fn running_median(values: &[f64]) -> Vec<f64> {
    let half = MEDIAN_OF / 2;
    let about = |i: usize| {
        if i < half || i + half >= values.len() {
            return values[i];
        }
        stats::median_of_finite(&values[i - half..=i + half])
    };
    (0..values.len()).map(about).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A slow fall with spikes of a size at every so many samples.
    fn fall(every: usize, spike: fn(usize) -> f64) -> Vec<f64> {
        let at = |i: usize| {
            let noise = 0.02 * ((i * 7919 % 101) as f64 / 50.0 - 1.0);
            let off = if i % every == every / 2 {
                spike(i / every)
            } else {
                0.0
            };
            11.0 - 0.002 * i as f64 + noise + off
        };
        (0..400).map(at).collect()
    }

    #[test]
    fn spikes_to_both_sides_are_left_out() {
        let mut values = fall(31, |k| if k % 2 == 0 { 1.6 } else { -1.9 });
        let clean = fall(31, |_| 0.0);
        let found = take_out(&mut values, 0.02, 0.08).unwrap();
        assert!((found.reach_v - 1.9).abs() < 0.1, "{found:?}");
        assert!((found.share - 12.0 / 400.0).abs() < 0.004, "{found:?}");
        let off = values
            .iter()
            .zip(&clean)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        assert!(off < 0.06, "{off}");
    }

    #[test]
    fn dips_and_what_is_frequent_stay() {
        for (every, spike) in [
            (20, (|_| -0.9) as fn(usize) -> f64),
            (3, |k| if k % 2 == 0 { 0.8 } else { -0.8 }),
            (31, |_| 0.0),
        ] {
            let mut values = fall(every, spike);
            let before = values.clone();
            assert_eq!(take_out(&mut values, 0.02, 0.08), None, "{every}");
            assert_eq!(values, before);
        }
    }

    #[test]
    fn a_single_one_is_left_out_and_missing_samples_stay_missing() {
        let mut values = fall(400, |_| -2.0);
        values[50] = f64::NAN;
        assert!(take_out(&mut values, 0.02, 0.08).is_some());
        assert!(values[50].is_nan());
        let few = &mut fall(31, |_| 1.0)[..20];
        assert_eq!(take_out(few, 0.02, 0.08), None);
    }
}
