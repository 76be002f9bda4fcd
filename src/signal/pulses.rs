//! The second pass: edges and the extremes of each state. Blocks that can hold no edge are not read.

use crate::data::{Channel, Pulses, Pyramid};

use super::levels::Split;
use super::stats::Moments;
use super::{kept, turning};

/// Finds the edges of a channel.
///
/// An edge counts only if it crosses the whole band (IEEE 181 state boundaries); its position is
/// the last crossing of the threshold before that, by linear interpolation. Missing samples hold
/// the state.
pub fn scan(channel: &Channel, pyramid: &Pyramid, split: &Split) -> Pulses {
    let mut scanner = Scanner::new(channel, split);
    for (block, &(low, high)) in pyramid.levels[0].iter().enumerate() {
        if low > high {
            continue;
        }
        let start = block * pyramid.base;
        if scanner.may_change(f64::from(low), f64::from(high)) {
            scanner.read(start, pyramid.base);
        } else {
            scanner.skip(f64::from(low), f64::from(high));
        }
    }
    let mut pulses = scanner.finish(split);
    if split.gap {
        pulses.kept = kept::edges(channel, &pulses);
    } else {
        pulses.turning = turning::find(channel, &pulses);
    }
    pulses
}

struct Scanner<'a> {
    channel: &'a Channel,
    threshold: f64,
    band: f64,
    high: Option<bool>,
    complete: bool,
    extreme: f64,
    result: Pulses,
    peaks: Vec<f64>,
    valleys: Vec<f64>,
    buffer: Vec<f64>,
}

impl<'a> Scanner<'a> {
    fn new(channel: &'a Channel, split: &Split) -> Self {
        Self {
            channel,
            threshold: split.threshold,
            band: split.band,
            high: None,
            complete: false,
            extreme: f64::NAN,
            result: Pulses::default(),
            peaks: Vec::new(),
            valleys: Vec::new(),
            buffer: Vec::new(),
        }
    }

    fn may_change(&self, low: f64, high: f64) -> bool {
        match self.high {
            None => true,
            Some(true) => low <= self.threshold - self.band,
            Some(false) => high >= self.threshold + self.band,
        }
    }

    fn skip(&mut self, low: f64, high: f64) {
        self.track(if self.high == Some(true) { high } else { low });
    }

    fn track(&mut self, value: f64) {
        self.extreme = if self.high == Some(true) {
            self.extreme.max(value)
        } else {
            self.extreme.min(value)
        };
    }

    fn read(&mut self, start: usize, count: usize) {
        let mut buffer = std::mem::take(&mut self.buffer);
        buffer.resize(count, 0.0);
        let count = self.channel.samples.read(start, &mut buffer);
        self.channel.blank_missing(start, &mut buffer[..count]);
        for (index, &value) in buffer[..count].iter().enumerate() {
            if value.is_finite() {
                self.step(start, index, value, &buffer);
            }
        }
        self.buffer = buffer;
    }

    fn step(&mut self, start: usize, index: usize, value: f64, block: &[f64]) {
        match self.high {
            None => {
                if (value - self.threshold).abs() >= self.band {
                    self.high = Some(value > self.threshold);
                    self.result.starts_high = value > self.threshold;
                    self.extreme = value;
                }
            }
            Some(true) if value <= self.threshold - self.band => {
                let at = self.crossing(start, index, block);
                self.change(false, at, value);
            }
            Some(false) if value >= self.threshold + self.band => {
                let at = self.crossing(start, index, block);
                self.change(true, at, value);
            }
            Some(_) => self.track(value),
        }
    }

    /// Walks back from the sample that left the band to the last crossing of the threshold.
    fn crossing(&self, start: usize, index: usize, block: &[f64]) -> f64 {
        let value_at = |i: usize| {
            if i >= start {
                block[i - start]
            } else if self.channel.missing.contains(i) {
                f64::NAN
            } else {
                self.channel.samples.at(i).unwrap_or(f64::NAN)
            }
        };
        let above = value_at(start + index) > self.threshold;
        let mut after = start + index;
        while after > 0 {
            let before = after - 1;
            let (a, b) = (value_at(before), value_at(after));
            if a.is_nan() || b.is_nan() {
                return before as f64 + 0.5;
            }
            if (a > self.threshold) != above || (a - self.threshold).abs() <= f64::MIN_POSITIVE {
                return before as f64 + ((self.threshold - a) / (b - a)).clamp(0.0, 1.0);
            }
            after = before;
        }
        0.0
    }

    fn change(&mut self, to_high: bool, at: f64, value: f64) {
        let extremes = if to_high {
            &mut self.valleys
        } else {
            &mut self.peaks
        };
        if self.complete && extremes.len() < Pulses::MOST {
            extremes.push(self.extreme);
        }
        let edges = if to_high {
            &mut self.result.rising
        } else {
            &mut self.result.falling
        };
        if edges.len() < Pulses::MOST {
            edges.push(at);
        } else {
            self.result.cut = true;
        }
        self.complete = true;
        self.high = Some(to_high);
        self.extreme = value;
    }

    fn finish(self, split: &Split) -> Pulses {
        Pulses {
            threshold: split.threshold,
            band: split.band,
            gap: split.gap,
            low: split.low,
            high: split.high,
            peaks: Moments::of(&self.peaks).summary(),
            valleys: Moments::of(&self.valleys).summary(),
            ..self.result
        }
    }
}
