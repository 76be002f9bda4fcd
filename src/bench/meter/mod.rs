//! Channels set to meter readings: where the readings belong, and what they make of the channels.

mod doubts;
mod fit;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::data::options::{Accuracy, MeterPoint};
use crate::data::{
    Capture, ChannelError, Corrected, InspectedChannel, MeterPiece, Options, SetToMeter, Value,
};

use super::choices::{self, ChoiceError};
use super::flat::{self, Flat, NotFlat};
use super::readings;
use super::trace::untied;

/// Scope and meter that differ by more than this many times what both may be off were not on one point.
const MOST_APART: f64 = 3.0;

/// A flat piece with its reading and what it is uncertain by, in volts.
#[derive(Debug, Clone, Copy)]
struct Point {
    piece: MeterPiece,
    /// Of the mean of the piece, by noise.
    u_v: f64,
    /// Half a code step where noise does not carry the mean across codes, else 0.
    half_code_v: f64,
}

/// Sets every channel to the meter that the user gave readings for, and with it all channels on the
/// same range. `channels` are those of each capture, with probe factors applied.
///
/// # Errors
/// [`ChoiceError`] when a reading names no channel, no time of it, or a piece that is not flat.
pub fn set_all(
    captures: &[Arc<Capture>],
    channels: &mut [Vec<InspectedChannel>],
    options: &Options,
) -> Result<(), ChoiceError> {
    share_ranges(captures, channels, options)?;
    let mut by_range: BTreeMap<u64, Vec<Point>> = BTreeMap::new();
    for point in &options.meter_points {
        let (capture, channel) = place_of(point, captures)?;
        let known = &channels[capture][channel];
        let found = piece(point, (capture, channel), captures, known, options.meter)?;
        by_range.entry(known.range).or_default().push(found);
    }
    for known in channels.iter_mut().flatten() {
        if let Some(points) = by_range.get(&known.range) {
            set(known, points, options.meter);
        }
    }
    Ok(())
}

/// Gives the channels of each group the range of its first.
fn share_ranges(
    captures: &[Arc<Capture>],
    channels: &mut [Vec<InspectedChannel>],
    options: &Options,
) -> Result<(), ChoiceError> {
    for group in &options.same_range {
        let mut first = None;
        for choice in group {
            for (index, capture) in captures.iter().enumerate() {
                for number in 0..capture.channels.len() {
                    if choices::names(choice, index, number, capture)? {
                        let range = *first.get_or_insert(channels[index][number].range);
                        channels[index][number].range = range;
                    }
                }
            }
        }
    }
    Ok(())
}

/// The one capture and channel that a reading belongs to.
fn place_of(point: &MeterPoint, captures: &[Arc<Capture>]) -> Result<(usize, usize), ChoiceError> {
    let mut places = Vec::new();
    for (index, capture) in captures.iter().enumerate() {
        for (number, channel) in capture.channels.iter().enumerate() {
            let time = &channel.time;
            let holds = point.from_s >= time.start_s() && point.to_s <= time.end_s();
            if choices::names(&point.channel, index, number, capture)? {
                places.push((index, number, holds));
            }
        }
    }
    let within: Vec<_> = places.iter().filter(|p| p.2).collect();
    match (places.as_slice(), within.as_slice()) {
        (_, [(capture, channel, _)]) => Ok((*capture, *channel)),
        ([], _) => Err(ChoiceError::Nowhere {
            channel: point.channel.channel.clone(),
        }),
        ([(capture, channel, _), ..], []) => {
            let time = &captures[*capture].channels[*channel].time;
            Err(ChoiceError::NoSuchTime {
                channel: point.channel.channel.clone(),
                from_s: point.from_s,
                to_s: point.to_s,
                start_s: time.start_s(),
                end_s: time.end_s(),
            })
        }
        (_, several) => Err(ChoiceError::SeveralCaptures {
            channel: point.channel.channel.clone(),
            captures: several.iter().map(|p| (p.0 + 1).to_string()).collect(),
        }),
    }
}

fn piece(
    point: &MeterPoint,
    (capture, number): (usize, usize),
    captures: &[Arc<Capture>],
    known: &InspectedChannel,
    meter: Option<Accuracy>,
) -> Result<Point, ChoiceError> {
    let channel = &captures[capture].channels[number];
    let first = channel.time.index_from(point.from_s);
    let found = if point.to_s > point.from_s {
        let last = channel.time.index_from(point.to_s).max(first);
        flat::between(
            channel,
            &known.facts,
            first,
            last.min(channel.samples.len() - 1),
        )
    } else {
        let at = first.min(channel.samples.len().saturating_sub(1));
        flat::around(channel, &known.facts, at)
    };
    let refused = |why: String| ChoiceError::NotFlat {
        channel: point.channel.channel.clone(),
        from_s: point.from_s,
        to_s: point.to_s,
        why,
    };
    let found: Flat = found.map_err(|not| refused(in_words(not, known.gain.abs())))?;
    let found = Point {
        piece: MeterPiece {
            capture,
            channel: number,
            from_s: channel.time.at(found.samples.0),
            to_s: channel.time.at(found.samples.1),
            shown_v: known.gain * found.mean,
            read_v: point.volts,
            left_v: 0.0,
        },
        u_v: found.u * known.gain.abs(),
        half_code_v: flat::rounding(&known.facts) * known.gain.abs(),
    };
    let (meter, _) = readings::meter_of(meter);
    let allowed = doubts::allowed(&found, known, known.gain, meter);
    let (shown, read) = (found.piece.shown_v, found.piece.read_v);
    if (shown - read).abs() > MOST_APART * allowed {
        return Err(refused(format!(
            "the scope shows {shown:.3} V there and the meter read {read:.3} V, far more apart than both may be off ({allowed:.3} V); check the probe factor, the time, and that both were on the same point"
        )));
    }
    Ok(found)
}

fn in_words(not: NotFlat, gain: f64) -> String {
    match not {
        NotFlat::Short => "it holds fewer than four samples; point at a longer piece".to_owned(),
        NotFlat::Moves(raw) => format!(
            "it moves by {:.3} V; point at a piece in which the voltage stands still",
            raw * gain
        ),
        NotFlat::Clipped => {
            "it lies at the end of the channel's range; record it on a larger one".to_owned()
        }
    }
}

/// Corrects a channel, and keeps what is left of its errors.
fn set(known: &mut InspectedChannel, points: &[Point], meter: Option<Accuracy>) {
    let (meter, assumed) = readings::meter_of(meter);
    let Some(fit) = fit::fit(points, known, meter) else {
        return;
    };
    let before = untied(known);
    let mut errors = fit::errors_of(&fit, points, (meter, assumed), known.range);
    if fit.corrected == Corrected::OneLevel {
        errors.extend(before.iter().map(|error| fit::left(error, &fit)));
        errors.retain(|e| e.u > 0.0);
    }
    let mut pieces: Vec<MeterPiece> = points.iter().map(|p| p.piece).collect();
    for piece in &mut pieces {
        piece.left_v = piece.read_v - (fit.gain * piece.shown_v + fit.offset_v);
    }
    let factor = known.gain;
    known.offset = known.offset * fit.gain + fit.offset_v;
    known.gain *= fit.gain;
    let top = known
        .corrected(known.facts.max)
        .max(known.corrected(known.facts.min));
    let u95 = |errors: &[ChannelError]| {
        Value::from_terms(top, errors.iter().map(|e| e.at(top)).collect()).u95
    };
    let (doubts, beyond) = doubts::find(&fit, &pieces, points, (known, factor), meter);
    errors.extend(doubts::errors(&beyond, &fit, known.range));
    known.set_to_meter = Some(SetToMeter {
        doubts,
        pieces,
        corrected: fit.corrected,
        gain: fit.gain,
        offset_v: fit.offset_v,
        at_v: top,
        before_u95: u95(&before),
        after_u95: u95(&errors),
        errors,
    });
}
