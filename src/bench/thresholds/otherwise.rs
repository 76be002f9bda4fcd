//! Events that something else than VCC made: a stop without hysteresis, and the start after it.

use crate::data::{Event, EventKind};

use super::reading::Reading;
use super::sampled::Sampled;
use super::unread::Unread;

/// Half-widths of both readings that a stop lies below its start, at least …
const LOWER: f64 = 3.0;
/// … but no more than this: controllers of this kind have 0.8 V of hysteresis or more (SLUS223G: 8.4 and 7.6 V), and a
/// doubt beyond half of that says nothing against a stop.
const MOST_DOUBT_V: f64 = 0.4;
/// Most samples that are read between a stop and the next start.
const MOST_READ: usize = 64;

/// Takes out stops that lie no lower than the start of their run, and starts before which VCC has not fallen.
pub(super) fn take_out(
    readings: &mut [Option<Reading>],
    hidden: &mut [Option<Unread>],
    events: &[Event],
    sampled: &Sampled<'_>,
) {
    for here in 1..events.len() {
        let Some(reading) = &readings[here] else {
            continue;
        };
        let why = match (events[here - 1].kind, events[here].kind) {
            (EventKind::Start, EventKind::Stop) => {
                let start = level(&readings[here - 1], hidden[here - 1]);
                start.and_then(|start| no_lower(start, reading))
            }
            (EventKind::Stop, EventKind::Start) if here > 1 => hidden[here - 1]
                .and_then(Unread::otherwise_v)
                .and_then(|_| level(&readings[here - 2], hidden[here - 2]))
                .filter(|(start_v, _)| {
                    lowest(sampled, &events[here - 1], &events[here]) > start_v - MOST_DOUBT_V
                })
                .map(|_| Unread::Again {
                    level_v: reading.seen(),
                }),
            _ => None,
        };
        if why.is_some() {
            (readings[here], hidden[here]) = (None, why);
        }
    }
}

/// VCC at a start and the half-width of it, in volts, whatever made the start.
fn level(reading: &Option<Reading>, hidden: Option<Unread>) -> Option<(f64, f64)> {
    match reading {
        Some(reading) => Some((reading.seen(), within(reading))),
        None => Some((hidden?.otherwise_v()?, 0.0)),
    }
}

fn within(reading: &Reading) -> f64 {
    let stair = reading.stair.map_or(0.0, |s| 0.5 * (s.high_v - s.low_v));
    let ripple = reading.ripple.doubt_v + reading.ripple.hidden_v;
    reading.u_fit + reading.within_v + ripple + stair
}

fn no_lower((start_v, start_within): (f64, f64), stop: &Reading) -> Option<Unread> {
    let doubt = (LOWER * start_within.hypot(within(stop))).min(MOST_DOUBT_V);
    let level_v = stop.seen();
    (level_v > start_v - doubt).then_some(Unread::NoLower { level_v, start_v })
}

/// Lowest VCC between two events: of block means, or, where none lies between them, of samples. Not a number where
/// neither shows it.
fn lowest(sampled: &Sampled<'_>, from: &Event, to: &Event) -> f64 {
    let vcc = sampled.vcc;
    let size = vcc.block_size().max(1);
    let index = |at_s: f64| vcc.channel.time.index_from(at_s);
    let blocks = index(from.at_s).div_ceil(size)..index(to.at_s) / size;
    let low = |values: &mut dyn Iterator<Item = f64>| {
        let finite = values.filter(|v| v.is_finite());
        finite.reduce(f64::min).unwrap_or(f64::NAN)
    };
    if !blocks.is_empty() {
        return low(&mut blocks.map(|b| vcc.block_mean(b)));
    }
    let (first, end) = (sampled.from(from.at_s), sampled.until(to.at_s));
    let first = first.max(end.saturating_sub(MOST_READ));
    low(&mut sampled.uncut(first..end.max(first)).into_iter())
}
