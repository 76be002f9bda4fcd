//! What a lane shows covers every sample, at a cost that does not grow with the record.

use std::sync::Arc;

use firstpulse::data::{Channel, Segment, TimeAxis};
use firstpulse::inspect::view::{columns, span_figures};
use proptest::prelude::*;

use super::example::{Noise, facts};

fn axis(kind: u8, count: usize) -> TimeAxis {
    match kind {
        0 => TimeAxis::Uniform {
            start_s: -0.25,
            step_s: 1e-3,
            count,
        },
        1 => TimeAxis::Explicit((0..count).map(|k| (k as f64).powf(1.3) * 1e-3).collect()),
        _ => TimeAxis::Segmented(vec![
            Segment {
                first_index: 0,
                count: count / 2,
                start_s: 0.0,
                step_s: 1e-3,
            },
            Segment {
                first_index: count / 2,
                count: count - count / 2,
                start_s: 20.0,
                step_s: 2e-3,
            },
        ]),
    }
}

fn channel(kind: u8, values: Vec<f64>) -> Channel {
    Channel::of_volts("CH1", Arc::new(axis(kind, values.len())), values)
}

fn values(count: usize, seed: u64) -> Vec<f64> {
    let mut noise = Noise(seed);
    (0..count)
        .map(|k| {
            let spike = if k % 997 == 5 { 40.0 } else { 0.0 };
            let lost = k % 211 == 7;
            if lost {
                f64::NAN
            } else {
                3.0 * noise.next() + spike
            }
        })
        .collect()
}

proptest! {
    #[test]
    fn every_sample_lies_in_its_column(
        kind in 0_u8..3,
        count in 2_usize..12_000,
        seed in 0_u64..1000,
        wanted in 1_usize..300,
        from in 0.0_f64..1.0,
        share in 0.001_f64..1.0,
        base in prop::sample::select(vec![2_usize, 16, 64]),
    ) {
        let values = values(count, seed);
        let facts = facts(&values, base, 4);
        let channel = channel(kind, values.clone());
        let (begin, end) = (channel.time.start_s(), channel.time.end_s());
        let from_s = begin + from * (end - begin);
        let to_s = from_s + share * (end - begin);
        let found = columns(&channel, &facts, from_s, to_s, wanted);
        prop_assert!(found.len() <= wanted + 2);
        for (index, value) in values.iter().enumerate() {
            let at_s = channel.time.at(index);
            if !value.is_finite() || at_s < from_s || at_s > to_s {
                continue;
            }
            let near = 1e-9 * (to_s - from_s);
            let holds = found.iter().any(|column| {
                column.from_s - near <= at_s && at_s <= column.to_s + near
                    && column.min <= *value && *value <= column.max
            });
            prop_assert!(holds, "sample {index} = {value} at {at_s}");
        }
        // and nothing is drawn more than one column away from the sample that it comes from
        let width_s = (to_s - from_s) / wanted as f64;
        for column in found.iter().filter(|column| column.max.is_finite()) {
            let near: Vec<f64> = values
                .iter()
                .enumerate()
                .filter(|(index, value)| {
                    let at_s = channel.time.at(*index);
                    value.is_finite()
                        && at_s >= column.from_s - 1.001 * width_s
                        && at_s <= column.to_s + 1.001 * width_s
                })
                .map(|(_, value)| *value)
                .collect();
            let most = near.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            if kind == 0 {
                // on an uneven axis, or over a gap, a block may be longer than a column
                prop_assert!(column.max <= most + 1e-5, "{column:?} against {most}");
            }
        }
    }
}

#[test]
fn the_cost_follows_the_columns_and_not_the_record() {
    let visited = |count: usize| {
        let values: Vec<f64> = (0..count).map(|k| (k % 251) as f64).collect();
        let facts = facts(&values, 64, 8);
        let channel = channel(0, values);
        let (begin, end) = (channel.time.start_s(), channel.time.end_s());
        let before = channel.samples.visited();
        let found = columns(&channel, &facts, begin, end, 500);
        assert_eq!(found.len(), 500);
        channel.samples.visited() - before
    };
    assert_eq!(visited(2_000_000), 0);
    assert!(visited(50_000) <= 500 * 128);
    let found = columns(&channel(0, vec![1.0]), &facts(&[1.0], 64, 8), 0.0, 0.0, 10);
    assert!(found.is_empty());
}

#[test]
fn a_span_of_a_straight_line_gives_its_mean_slope_and_ends() {
    for count in [200, 400_000] {
        let values: Vec<f64> = (0..count).map(|k| 2.0 + 0.5 * k as f64 * 1e-3).collect();
        let facts = facts(&values, 64, 8);
        let channel = channel(0, values);
        let (from, to) = (channel.time.at(20), channel.time.at(count - 20));
        let found = span_figures(&channel, &facts, to, from).unwrap();
        let middle = 2.0 + 0.5 * 0.5 * ((from + 0.25) + (to + 0.25));
        assert!((found.slope - 0.5).abs() < 1e-6, "{found:?}");
        assert!(
            (found.mean - middle).abs() < 1e-6,
            "{found:?} against {middle}"
        );
        // an end is the mean of at most 256 samples: at most 128 samples away
        assert!((found.level_from - (2.0 + 0.5 * 0.020)).abs() < 0.5 * 0.130);
        let mapped = found.mapped(-2.0, 1.0);
        assert!(
            (mapped.slope + 1.0).abs() < 1e-6 && (mapped.mean - (1.0 - 2.0 * middle)).abs() < 1e-6
        );
    }
    let empty = channel(0, vec![1.0, 2.0]);
    assert!(span_figures(&empty, &facts(&[1.0, 2.0], 64, 8), 5.0, 6.0).is_none());
}
