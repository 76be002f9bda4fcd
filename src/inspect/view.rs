//! What a lane shows of a channel: few numbers a pixel column, from the pyramid, never a pass over
//! the samples. Also the figures of a marked span.
//!
//! Values are in the channel's own unit, before probe factor and correction; [`Column::mapped`]
//! and [`SpanFigures::mapped`] put them through both.

use std::ops::Range;

use crate::data::{Channel, Facts, TimeAxis};

pub mod bands;
mod difference;
mod span;
pub mod sweep;

pub use difference::difference;
pub use span::{SpanFigures, span_figures};

/// What one pixel column shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// Where the column begins, in seconds.
    pub from_s: f64,
    /// Where it ends, in seconds; the same as `from_s` for a single sample.
    pub to_s: f64,
    /// Smallest value of the samples in it; NaN when all of them are missing.
    pub min: f64,
    /// Largest value of the samples in it; NaN when all of them are missing.
    pub max: f64,
    /// Its first sample, where samples were read and not only the pyramid.
    pub first: Option<f64>,
    /// Its last sample, where samples were read and not only the pyramid.
    pub last: Option<f64>,
}

impl Column {
    /// The column with every value `v` replaced by `v × gain + offset`.
    pub fn mapped(self, gain: f64, offset: f64) -> Column {
        let map = |value: f64| value * gain + offset;
        let (a, b) = (map(self.min), map(self.max));
        Column {
            min: a.min(b),
            max: a.max(b),
            first: self.first.map(map),
            last: self.last.map(map),
            ..self
        }
    }
}

/// Samples that may be read for one column before the pyramid is asked instead.
const MOST_READ: usize = 8;

/// What `columns` pixel columns from `from_s` to `to_s` show of a channel.
///
/// Every sample within the span lies in a column that holds it in time and between its `min` and
/// `max`; columns without a sample are left out; the sample before and the one after the span are
/// added as columns of no width, so that a line can run on to the edge. The cost grows with the
/// number of columns, not with the number of samples: samples are read only where a column holds
/// fewer than two base blocks of the pyramid, or at most eight samples.
///
/// An empty channel, a span that is empty, turned round or not finite, and zero columns give
/// nothing.
pub fn columns(
    channel: &Channel,
    facts: &Facts,
    from_s: f64,
    to_s: f64,
    columns: usize,
) -> Vec<Column> {
    let usable = from_s.is_finite() && to_s.is_finite() && to_s > from_s;
    if !usable || columns == 0 || channel.samples.is_empty() {
        return Vec::new();
    }
    let axis = &channel.time;
    let length = channel.samples.len().min(axis.len());
    let first = axis.index_from(from_s).min(length);
    let end = index_after(axis, to_s).min(length);
    let mut found = Vec::with_capacity(columns + 2);
    if let Some(before) = first.checked_sub(1) {
        found.extend(single(channel, before));
    }
    let base = facts.pyramid.base;
    let bound = if base == 0 || facts.pyramid.levels.is_empty() {
        usize::MAX
    } else {
        (2 * base).max(MOST_READ)
    };
    let width_s = (to_s - from_s) / columns as f64;
    let edge = |k: usize| {
        if k == columns {
            to_s
        } else {
            from_s + k as f64 * width_s
        }
    };
    let mut start = first;
    for k in 0..columns {
        let stop = if k + 1 == columns {
            end
        } else {
            axis.index_from(edge(k + 1)).clamp(start, end)
        };
        if stop > start {
            let (near, far) = (edge(k), edge(k + 1));
            found.push(if stop - start <= bound {
                from_samples(channel, start..stop, near, far)
            } else {
                from_pyramid(facts, start..stop, near, far)
            });
        }
        start = stop;
    }
    if end < length {
        found.extend(single(channel, end));
    }
    found
}

/// Index after the last sample at or before `time_s`.
fn index_after(axis: &TimeAxis, time_s: f64) -> usize {
    let mut index = axis.index_from(time_s);
    while index < axis.len() && axis.at(index) <= time_s {
        index += 1;
    }
    index
}

fn single(channel: &Channel, index: usize) -> Option<Column> {
    let value = channel.samples.at(index)?;
    let at_s = channel.time.at(index);
    Some(Column {
        from_s: at_s,
        to_s: at_s,
        min: value,
        max: value,
        first: Some(value),
        last: Some(value),
    })
}

fn from_samples(channel: &Channel, range: Range<usize>, from_s: f64, to_s: f64) -> Column {
    let mut extremes = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut first, mut last) = (None, None);
    channel.samples.for_each_block(range, |_, values| {
        for value in values.iter().filter(|value| value.is_finite()) {
            extremes = (extremes.0.min(*value), extremes.1.max(*value));
            first.get_or_insert(*value);
            last = Some(*value);
        }
    });
    column(from_s, to_s, extremes, first, last)
}

/// Extremes of a range from the coarsest blocks that fit into it, finer ones towards its ends; the
/// outermost blocks of level 0 may reach past the range by less than a block.
fn from_pyramid(facts: &Facts, range: Range<usize>, from_s: f64, to_s: f64) -> Column {
    let pyramid = &facts.pyramid;
    let mut blocks = range.start / pyramid.base..range.end.div_ceil(pyramid.base);
    let mut extremes = (f64::INFINITY, f64::NEG_INFINITY);
    let factor = pyramid.factor.max(2);
    for (level, pairs) in pyramid.levels.iter().enumerate() {
        let mut add = |range: Range<usize>| {
            let end = range.end.min(pairs.len());
            for (low, high) in pairs.get(range.start.min(end)..end).unwrap_or(&[]) {
                let pair = (f64::from(*low), f64::from(*high));
                extremes = (extremes.0.min(pair.0), extremes.1.max(pair.1));
            }
        };
        let coarser = blocks.start.div_ceil(factor)..blocks.end / factor;
        let last = level + 1 == pyramid.levels.len();
        if last || coarser.is_empty() {
            add(blocks);
            break;
        }
        add(blocks.start..coarser.start * factor);
        add(coarser.end * factor..blocks.end);
        blocks = coarser;
    }
    column(from_s, to_s, extremes, None, None)
}

fn column(
    from_s: f64,
    to_s: f64,
    extremes: (f64, f64),
    first: Option<f64>,
    last: Option<f64>,
) -> Column {
    let (min, max) = if extremes.0 > extremes.1 {
        (f64::NAN, f64::NAN)
    } else {
        extremes
    };
    Column {
        from_s,
        to_s,
        min,
        max,
        first,
        last,
    }
}
