//! Samples at the end of a channel's range are marked: what they stand for may lie beyond it.

use crate::data::{Channel, Note};

/// Steps of the coarsest converter in use (8 bits), common practice.
const LEAST_STEPS: f64 = 256.0;
/// Divisions that a converter may reach where the screen shows eight, common practice.
const MORE_DIVISIONS: f64 = 10.0 / 8.0;
/// Equal samples one after the other that make a flat top.
const FLAT: usize = 2;

/// Marks the flat ends of a channel whose range is known. A range that the samples leave is widened
/// from eight to ten divisions where it was told by division, else dropped with a note: it is not the
/// range of the converter.
pub(super) fn mark(channel: &mut Channel, by_division: bool, index: usize, notes: &mut Vec<Note>) {
    let Some(range) = channel.full_scale else {
        return;
    };
    let (lowest, highest) = extremes(channel);
    if lowest > highest {
        return;
    }
    let (centre, half) = (0.5 * (range.0 + range.1), 0.5 * (range.1 - range.0));
    let wider = (
        centre - MORE_DIVISIONS * half,
        centre + MORE_DIVISIONS * half,
    );
    let holds = |(low, high): (f64, f64)| {
        let slack = (high - low) / LEAST_STEPS;
        lowest >= low - slack && highest <= high + slack
    };
    let Some(range) = [Some(range), by_division.then_some(wider)]
        .into_iter()
        .flatten()
        .find(|range| holds(*range))
    else {
        notes.push(Note::new(format!(
            "column {}: samples lie beyond the range of {:.4} to {:.4}; the range is not used",
            index + 1,
            range.0,
            range.1
        )));
        channel.full_scale = None;
        return;
    };
    channel.full_scale = Some(range);
    let slack = 0.75 * (range.1 - range.0) / LEAST_STEPS;
    let mut marked = 0;
    for (extreme, reached) in [
        (lowest, lowest <= range.0 + slack),
        (highest, highest >= range.1 - slack),
    ] {
        if reached {
            marked += mark_flat(channel, extreme);
        }
    }
    if marked > 0 {
        notes.push(Note::new(format!(
            "column {}: {marked} samples lie at the end of the range and are marked as clipped",
            index + 1
        )));
    }
}

/// Lowest and highest sample; the lowest above the highest where there is none.
fn extremes(channel: &Channel) -> (f64, f64) {
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    channel
        .samples
        .for_each_block(0..channel.samples.len(), |_, values| {
            for value in values.iter().filter(|v| v.is_finite()) {
                lowest = lowest.min(*value);
                highest = highest.max(*value);
            }
        });
    (lowest, highest)
}

/// Marks samples that equal the extreme, where at least [`FLAT`] of them follow one another.
fn mark_flat(channel: &mut Channel, extreme: f64) -> usize {
    let same = extreme.abs() * 1e-6 + f64::MIN_POSITIVE;
    let mut runs: Vec<(usize, usize)> = Vec::new();
    channel
        .samples
        .for_each_block(0..channel.samples.len(), |first, values| {
            for (offset, value) in values.iter().enumerate() {
                if (value - extreme).abs() > same || value.is_nan() {
                    continue;
                }
                let at = first + offset;
                match runs.last_mut() {
                    Some((_, end)) if *end == at => *end = at + 1,
                    _ => runs.push((at, at + 1)),
                }
            }
        });
    let mut marked = 0;
    for (start, end) in runs.into_iter().filter(|(start, end)| end - start >= FLAT) {
        for index in start..end {
            channel.clipped.mark(index);
        }
        marked += end - start;
    }
    marked
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::data::TimeAxis;

    fn channel(range: (f64, f64)) -> Channel {
        let wave = |i: usize| (6.0 * (i as f64 / 20.0).sin()).clamp(-5.0, 5.0);
        let values: Vec<f64> = (0..400).map(wave).collect();
        let time = Arc::new(TimeAxis::Uniform {
            start_s: 0.0,
            step_s: 1e-5,
            count: values.len(),
        });
        let mut channel = Channel::of_volts("CH1", time, values);
        channel.full_scale = Some(range);
        channel
    }

    #[test]
    fn flat_tops_at_the_end_of_the_range_are_marked() {
        let mut notes = Vec::new();
        let mut told = channel((-5.0, 5.0));
        mark(&mut told, false, 0, &mut notes);
        let flat = (0..400).filter(|i| told.samples.at(*i).is_some_and(|v| v.abs() > 4.999));
        assert_eq!(told.clipped.count(), flat.count() as u64);
        assert!(told.clipped.count() > 100 && notes.len() == 1);
        let mut roomy = channel((-8.0, 8.0));
        mark(&mut roomy, false, 0, &mut notes);
        assert!(roomy.clipped.is_empty());
    }

    #[test]
    fn a_range_that_the_samples_leave_is_widened_by_division_or_dropped() {
        let mut notes = Vec::new();
        let mut divided = channel((-4.0, 4.0));
        mark(&mut divided, true, 0, &mut notes);
        assert_eq!(divided.full_scale, Some((-5.0, 5.0)));
        assert!(!divided.clipped.is_empty());
        let mut told = channel((-4.0, 4.0));
        mark(&mut told, false, 0, &mut notes);
        assert_eq!(told.full_scale, None);
        assert!(told.clipped.is_empty());
        assert!(
            notes.iter().any(|n| n.text.contains("not used")),
            "{notes:?}"
        );
    }
}
