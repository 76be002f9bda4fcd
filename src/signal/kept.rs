//! Samples around some edges of a channel, kept so that shapes can be read again at any level.

use crate::data::{Channel, KeptEdge, Pulses};

/// Most edges of one direction that are kept, spread over the record.
const MOST_EDGES: usize = 24;
/// Most samples kept before an edge, and after it.
const BEFORE: f64 = 192.0;
const AFTER: f64 = 512.0;

/// Cuts out the samples around edges of both directions, each up to the edges beside it, in order of
/// position. Reads at most 48 × 704 samples.
pub fn edges(channel: &Channel, pulses: &Pulses) -> Vec<KeptEdge> {
    let mut kept: Vec<KeptEdge> = [true, false]
        .into_iter()
        .flat_map(|rises| {
            let (own, other) = if rises {
                (&pulses.rising, &pulses.falling)
            } else {
                (&pulses.falling, &pulses.rising)
            };
            spread(own.len()).map(move |index| cut(channel, rises, own, other, index))
        })
        .collect();
    kept.sort_by(|a, b| a.position.total_cmp(&b.position));
    kept
}

/// At most [`MOST_EDGES`] of so many, evenly spread; not the first and the last where there are others.
fn spread(count: usize) -> impl Iterator<Item = usize> {
    let (from, to) = if count > 4 {
        (1, count - 1)
    } else {
        (0, count)
    };
    let stride = (to - from).div_ceil(MOST_EDGES).max(1);
    (from..to).step_by(stride)
}

fn cut(channel: &Channel, rises: bool, own: &[f64], other: &[f64], index: usize) -> KeptEdge {
    let position = own[index];
    let next = other.partition_point(|p| *p <= position);
    let before = next.checked_sub(1).map_or(0.0, |i| other[i]);
    let after = other.get(next).copied().unwrap_or(f64::INFINITY);
    let first = before.max(position - BEFORE).ceil().max(0.0) as usize;
    let last = after
        .min(position + AFTER)
        .min(channel.samples.len() as f64 - 1.0);
    KeptEdge {
        rises,
        position,
        first,
        values: channel.valid_slice(first..(last.floor().max(0.0) as usize + 1).max(first)),
    }
}
