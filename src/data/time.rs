//! When each sample was taken: uniform, in segments, or explicit.

/// A stretch of equally spaced samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Index of its first sample in the channel.
    pub first_index: usize,
    /// Samples in it.
    pub count: usize,
    /// Time of its first sample, in seconds.
    pub start_s: f64,
    /// Sample interval, in seconds, above zero.
    pub step_s: f64,
}

/// The time axis of a channel. Channels of one table share one axis.
#[derive(Debug, Clone, PartialEq)]
pub enum TimeAxis {
    /// Equally spaced: sample `i` is at `start_s + i × step_s`.
    Uniform {
        /// Time of sample 0, in seconds.
        start_s: f64,
        /// Sample interval, in seconds, above zero.
        step_s: f64,
        /// Number of samples.
        count: usize,
    },
    /// Several equally spaced stretches, in time order, with gaps between them.
    Segmented(Vec<Segment>),
    /// A time for each sample, in seconds, rising.
    Explicit(Vec<f64>),
}

impl TimeAxis {
    /// How many samples.
    pub fn len(&self) -> usize {
        match self {
            TimeAxis::Uniform { count, .. } => *count,
            TimeAxis::Segmented(segments) => segments.iter().map(|s| s.count).sum(),
            TimeAxis::Explicit(times) => times.len(),
        }
    }

    /// True when there is no sample.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Time of sample `index`, in seconds; the index is held to the record. NaN on an empty axis.
    pub fn at(&self, index: usize) -> f64 {
        if self.is_empty() {
            return f64::NAN;
        }
        let index = index.min(self.len() - 1);
        match self {
            TimeAxis::Uniform {
                start_s, step_s, ..
            } => start_s + index as f64 * step_s,
            TimeAxis::Segmented(segments) => {
                let which = segments
                    .partition_point(|s| s.first_index <= index)
                    .saturating_sub(1);
                segments.get(which).map_or(f64::NAN, |s| {
                    s.start_s + (index - s.first_index) as f64 * s.step_s
                })
            }
            TimeAxis::Explicit(times) => times[index],
        }
    }

    /// Time at a fractional sample position, between its neighbours, in seconds.
    pub fn at_position(&self, position: f64) -> f64 {
        let whole = position.max(0.0).floor();
        let (before, after) = (self.at(whole as usize), self.at(whole as usize + 1));
        before + (position - whole) * (after - before)
    }

    /// Index of the first sample at or after `time_s`; the number of samples when all are earlier.
    pub fn index_from(&self, time_s: f64) -> usize {
        match self {
            TimeAxis::Uniform {
                start_s,
                step_s,
                count,
            } => {
                let position = ((time_s - start_s) / step_s).ceil();
                if position.is_nan() || position <= 0.0 {
                    0
                } else {
                    (position as usize).min(*count)
                }
            }
            TimeAxis::Explicit(times) => times.partition_point(|t| *t < time_s),
            TimeAxis::Segmented(_) => {
                let (mut low, mut high) = (0, self.len());
                while low < high {
                    let middle = low + (high - low) / 2;
                    if self.at(middle) < time_s {
                        low = middle + 1
                    } else {
                        high = middle
                    }
                }
                low
            }
        }
    }

    /// Time of the first sample, in seconds.
    pub fn start_s(&self) -> f64 {
        self.at(0)
    }

    /// Time of the last sample, in seconds.
    pub fn end_s(&self) -> f64 {
        self.at(self.len().saturating_sub(1))
    }

    /// The usual sample interval, in seconds: the step, or the mean step of an explicit axis.
    /// NaN with fewer than two samples.
    pub fn interval_s(&self) -> f64 {
        match self {
            TimeAxis::Uniform { step_s, .. } => *step_s,
            TimeAxis::Segmented(segments) => segments.first().map_or(f64::NAN, |s| s.step_s),
            TimeAxis::Explicit(times) if times.len() < 2 => f64::NAN,
            TimeAxis::Explicit(times) => (self.end_s() - self.start_s()) / (times.len() - 1) as f64,
        }
    }

    /// Are these the same times, to within a hundredth of a step?
    pub fn matches(&self, other: &TimeAxis) -> bool {
        let slack = 0.01 * self.interval_s();
        let near = |index: usize| (self.at(index) - other.at(index)).abs() <= slack;
        let ends = self.len() == other.len() && near(0) && near(self.len().saturating_sub(1));
        let even = self.is_uniform() && other.is_uniform();
        ends && (even || (0..self.len()).all(near))
    }

    /// Is every step the same?
    pub fn is_uniform(&self) -> bool {
        matches!(self, TimeAxis::Uniform { .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_index_comes_back_from_its_time() {
        let axes = [
            TimeAxis::Uniform {
                start_s: -0.1,
                step_s: 1e-3,
                count: 500,
            },
            TimeAxis::Explicit((0..500).map(|i| (i as f64).powi(2) * 1e-4).collect()),
            TimeAxis::Segmented(vec![
                Segment {
                    first_index: 0,
                    count: 200,
                    start_s: 0.0,
                    step_s: 1e-3,
                },
                Segment {
                    first_index: 200,
                    count: 300,
                    start_s: 5.0,
                    step_s: 2e-3,
                },
            ]),
        ];
        for axis in axes {
            assert_eq!(axis.len(), 500);
            for index in [0, 1, 199, 200, 201, 499] {
                let time = axis.at(index);
                let near = axis.index_from(time - 1e-9);
                assert_eq!(near, index, "{axis:?}");
            }
            assert_eq!(axis.index_from(1e9), 500);
        }
    }
}
