//! One cycle of every channel of a capture, laid over many on the edges of the clearest clock in it.

use crate::data::{Capture, Channel, Facts, Fold, SampleKind};

use super::stats;

/// Most cycles laid over each other.
const MOST_CYCLES: usize = 128;
/// Fewest.
const FEWEST_CYCLES: usize = 4;
/// Most samples of a channel that are read for it.
const MOST_SAMPLES: usize = 131_072;
/// Most and fewest parts of a cycle.
const PARTS: (f64, f64) = (16.0, 256.0);
/// Fewest samples in a cycle of the clock.
const FEWEST_SAMPLES: f64 = 12.0;
/// How far a cycle may be from the mean one, as a share of it, and still be laid over the others.
const REGULAR: f64 = 0.25;

/// Folds every channel of a capture; `None` for all where no channel has regular cycles.
///
/// The clock is the channel with two states (else with a ramp) whose cycles are the longest: OUT
/// before a ramp of twice its rate. Its rising edges begin the cycles; those of a ramp or another
/// waveform without two states are its falling ones, which are the steeper on RT/CT and current sense.
pub fn of_capture(capture: &Capture, facts: &[Facts]) -> Vec<Option<Fold>> {
    let clock = capture
        .channels
        .iter()
        .zip(facts)
        .enumerate()
        .filter_map(|(index, (channel, facts))| Clock::of(index, channel, facts))
        .max_by(|a, b| {
            a.rank()
                .partial_cmp(&b.rank())
                .unwrap_or(std::cmp::Ordering::Equal)
        });
    let fold = |channel: &Channel| clock.as_ref().and_then(|clock| clock.fold(channel));
    capture.channels.iter().map(fold).collect()
}

struct Clock {
    index: usize,
    gap: bool,
    period_s: f64,
    /// Largest minus smallest value, in the channel's unit.
    swing: f64,
    /// Begins of the cycles used, in seconds.
    begins_s: Vec<f64>,
}

impl Clock {
    /// Two states before one spread, long cycles before short ones (to a tenth), large before small.
    fn rank(&self) -> (bool, f64, f64) {
        (self.gap, (10.0 * self.period_s.log2()).round(), self.swing)
    }

    fn of(index: usize, channel: &Channel, facts: &Facts) -> Option<Self> {
        let pulses = facts.pulses.as_ref()?;
        let begins = if pulses.gap {
            &pulses.rising
        } else {
            &pulses.falling
        };
        if pulses.cut || channel.kind != SampleKind::Instant || begins.len() <= FEWEST_CYCLES {
            return None;
        }
        let mut lengths: Vec<f64> = begins.windows(2).map(|w| w[1] - w[0]).collect();
        let period = stats::median(&mut lengths);
        if period < FEWEST_SAMPLES {
            return None;
        }
        let regular = |w: &[f64]| ((w[1] - w[0]) / period - 1.0).abs() < REGULAR;
        let good: Vec<f64> = begins
            .windows(2)
            .filter(|w| regular(w))
            .map(|w| w[0])
            .collect();
        if good.len() < FEWEST_CYCLES || good.len() * 10 < (begins.len() - 1) * 8 {
            return None;
        }
        let stride = good.len().div_ceil(MOST_CYCLES);
        Some(Self {
            index,
            gap: pulses.gap,
            period_s: period * channel.time.interval_s(),
            swing: facts.peak_to_peak(),
            begins_s: good
                .iter()
                .step_by(stride)
                .map(|p| channel.time.at_position(*p))
                .collect(),
        })
    }

    fn fold(&self, channel: &Channel) -> Option<Fold> {
        let samples = self.period_s / channel.time.interval_s();
        let room = (MOST_SAMPLES as f64 / samples) as usize;
        if channel.kind != SampleKind::Instant
            || samples.is_nan()
            || samples < 4.0
            || room < FEWEST_CYCLES
        {
            return None;
        }
        let parts = samples.round().clamp(PARTS.0, PARTS.1);
        let mut cells = vec![stats::Moments::default(); parts as usize];
        let mut cycles = 0;
        for begin_s in self.begins_s.iter().take(room) {
            cycles += usize::from(self.add(channel, *begin_s, &mut cells));
        }
        (cycles >= FEWEST_CYCLES).then(|| finished(self, cycles, &cells))
    }

    fn add(&self, channel: &Channel, begin_s: f64, cells: &mut [stats::Moments]) -> bool {
        let first = channel.time.index_from(begin_s);
        let end = channel.time.index_from(begin_s + self.period_s);
        if end <= first || channel.time.end_s() < begin_s + self.period_s {
            return false;
        }
        for (offset, value) in channel.valid_slice(first..end).into_iter().enumerate() {
            let phase = (channel.time.at(first + offset) - begin_s) / self.period_s;
            let part = (phase.max(0.0) * cells.len() as f64) as usize;
            if let Some(cell) = cells.get_mut(part)
                && value.is_finite()
            {
                cell.merge(&stats::Moments {
                    count: 1,
                    mean: value,
                    squares: 0.0,
                });
            }
        }
        true
    }
}

fn finished(clock: &Clock, cycles: usize, cells: &[stats::Moments]) -> Fold {
    let squares: f64 = cells.iter().map(|c| c.squares).sum();
    let free: f64 = cells.iter().map(|c| c.count.saturating_sub(1) as f64).sum();
    Fold {
        clock: clock.index,
        cycles,
        period_s: clock.period_s,
        means: cells.iter().map(|c| c.summary().mean).collect(),
        counts: cells
            .iter()
            .map(|c| u32::try_from(c.count).unwrap_or(u32::MAX))
            .collect(),
        scatter: if free > 0.0 {
            (squares / free).sqrt()
        } else {
            f64::NAN
        },
    }
}
