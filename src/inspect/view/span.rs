//! Figures of a marked span of one channel.

use crate::data::{Channel, Facts};

/// What a marked span of a channel shows, in the channel's own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpanFigures {
    /// Where it begins, in seconds.
    pub from_s: f64,
    /// Where it ends, in seconds.
    pub to_s: f64,
    /// Level at its beginning: mean of the samples in its first hundredth (at least one sample, at
    /// most 256); NaN when they are missing.
    pub level_from: f64,
    /// Level at its end, in the same way.
    pub level_to: f64,
    /// Arithmetic mean of its samples; NaN when there is none.
    pub mean: f64,
    /// Slope of the straight line fitted by least squares, in the unit per second; NaN with fewer
    /// than two points.
    pub slope: f64,
}

impl SpanFigures {
    /// The figures with every value `v` replaced by `v × gain + offset`.
    pub fn mapped(self, gain: f64, offset: f64) -> SpanFigures {
        let map = |value: f64| value * gain + offset;
        SpanFigures {
            level_from: map(self.level_from),
            level_to: map(self.level_to),
            mean: map(self.mean),
            slope: self.slope * gain,
            ..self
        }
    }
}

/// Samples that may be read for the ends of a span, each.
const MOST_AT_ENDS: usize = 256;
/// Samples that may be read for a whole span before block means are used instead.
const MOST_READ: usize = 16_384;

/// Running sums of a straight line through weighted points.
#[derive(Default)]
struct Line {
    weight: f64,
    time: f64,
    value: f64,
    time_time: f64,
    time_value: f64,
}

impl Line {
    fn add(&mut self, time_s: f64, value: f64, weight: f64) {
        if value.is_finite() && weight > 0.0 {
            self.weight += weight;
            self.time += weight * time_s;
            self.value += weight * value;
            self.time_time += weight * time_s * time_s;
            self.time_value += weight * time_s * value;
        }
    }

    fn mean(&self) -> f64 {
        self.value / self.weight
    }

    fn slope(&self) -> f64 {
        let spread = self.weight * self.time_time - self.time * self.time;
        if spread > 0.0 {
            (self.weight * self.time_value - self.time * self.value) / spread
        } else {
            f64::NAN
        }
    }
}

/// The figures of the span from `from_s` to `to_s`; the two may be given in either order.
///
/// A span of few samples is read whole. A long one is read at its ends only and takes the means of
/// the pyramid's base blocks for the rest, a block with missing samples counting in full.
/// `None` when the span holds no sample, or is not finite.
pub fn span_figures(
    channel: &Channel,
    facts: &Facts,
    from_s: f64,
    to_s: f64,
) -> Option<SpanFigures> {
    if !from_s.is_finite() || !to_s.is_finite() {
        return None;
    }
    let (from_s, to_s) = (from_s.min(to_s), from_s.max(to_s));
    let length = channel.samples.len().min(channel.time.len());
    let start = channel.time.index_from(from_s).min(length);
    let end = super::index_after(&channel.time, to_s).min(length);
    if start >= end {
        return None;
    }
    let middle_s = 0.5 * (from_s + to_s);
    let mut line = Line::default();
    let read = |range: std::ops::Range<usize>, line: &mut Line| {
        channel.samples.for_each_block(range, |first, values| {
            for (k, value) in values.iter().enumerate() {
                line.add(channel.time.at(first + k) - middle_s, *value, 1.0);
            }
        });
    };
    let base = facts.pyramid.base.max(1);
    let blocks = start.div_ceil(base)..(end / base).min(facts.pyramid.means.len());
    if end - start <= MOST_READ || blocks.is_empty() {
        read(start..end.min(start + MOST_READ.max(4 * base)), &mut line);
    } else {
        read(start..blocks.start * base, &mut line);
        for block in blocks.clone() {
            let at_s = channel
                .time
                .at_position((block * base) as f64 + 0.5 * (base - 1) as f64);
            let mean = facts.pyramid.means.get(block).copied().unwrap_or(f64::NAN);
            line.add(at_s - middle_s, mean, base as f64);
        }
        read(blocks.end * base..end, &mut line);
    }
    let at_ends = ((end - start) / 100).clamp(1, MOST_AT_ENDS);
    let level = |range| {
        let mut line = Line::default();
        read(range, &mut line);
        line.mean()
    };
    Some(SpanFigures {
        from_s,
        to_s,
        level_from: level(start..start + at_ends),
        level_to: level(end - at_ends..end),
        mean: line.mean(),
        slope: line.slope(),
    })
}
