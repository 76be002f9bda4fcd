//! Events that something else than VCC made: a stop without hysteresis, and the start after it.

use crate::data::{Event, EventKind};

use super::reading::Reading;
use super::sampled::Sampled;
use super::unread::Unread;

/// Half-widths of both readings that a stop lies below its start, at least …
const LOWER: f64 = 3.0;
/// … but no more than this: the least hysteresis that is published of a controller with a profile (UCC2808A-2: 0.1 V),
/// so that no doubt of the readings takes a stop that is one for none.
const MOST_DOUBT_V: f64 = 0.1;
/// Half-width up to which a reading can tell that.
const SHARP_V: f64 = 0.15;
/// Most samples that are read between a stop and the next start.
const MOST_READ: usize = 64;

/// Takes out stops that lie no lower than the start of their run, and those and the next start between which VCC has
/// not fallen below the last start that VCC made.
pub(super) fn take_out(
    readings: &mut [Option<Reading>],
    hidden: &mut [Option<Unread>],
    events: &[Event],
    sampled: &Sampled<'_>,
) {
    let seen = |r: &Option<Reading>| r.as_ref().map(Reading::seen);
    let mut by_vcc = None;
    for here in 0..events.len() {
        let before = here.checked_sub(1).map(|b| events[b].kind);
        match (before, events[here].kind) {
            (Some(EventKind::Start), EventKind::Stop) => {
                let start = level(&readings[here - 1], hidden[here - 1]);
                let why = match (start, &readings[here], hidden[here]) {
                    (Some(start), Some(stop), _) => no_lower(start, stop),
                    (Some((start_v, _)), None, Some(Unread::CutOff(end_v))) => {
                        // cut off or not, it lies at the top of all that the record shows, and above its start
                        (end_v > start_v).then_some(Unread::AtTop { level_v: end_v })
                    }
                    _ => None,
                };
                take(readings, hidden, here, why);
            }
            (Some(EventKind::Stop), EventKind::Start) => {
                let (stop, start) = (seen(&readings[here - 1]), seen(&readings[here]));
                let lowest = lowest(sampled, &events[here - 1], &events[here]);
                let above = |v: f64| lowest > v - MOST_DOUBT_V;
                if let Some(start_v) = by_vcc.filter(|v| above(*v)) {
                    let why = stop.map(|level_v| Unread::NoLower { level_v, start_v });
                    take(readings, hidden, here - 1, why);
                }
                // what something else stopped starts again at any VCC above the stop, and not only where VCC rises
                let otherwise = hidden[here - 1].and_then(Unread::otherwise_v).is_some();
                let again =
                    start.filter(|v| otherwise && above(by_vcc.map_or(*v, |b: f64| b.min(*v))));
                let again = again.map(|level_v| Unread::Again { level_v });
                take(readings, hidden, here, again);
                // where it starts again while VCC falls, the lockout had not stopped it
                if let Some(Unread::Away { .. }) = hidden[here] {
                    let back = stop.filter(|_| readings[here - 1].is_some());
                    let back = back.map(|level_v| Unread::Back { level_v });
                    take(readings, hidden, here - 1, back);
                }
            }
            _ => {}
        }
        if events[here].kind == EventKind::Start {
            by_vcc = seen(&readings[here]).or(by_vcc);
        }
    }
}

fn take(
    readings: &mut [Option<Reading>],
    hidden: &mut [Option<Unread>],
    event: usize,
    why: Option<Unread>,
) {
    if why.is_some() {
        (readings[event], hidden[event]) = (None, why);
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
    let doubt = start_within.hypot(within(stop));
    let level_v = stop.seen();
    // a coarse reading speaks against a stop only if it lies above the start for sure
    let limit_v = if doubt < SHARP_V {
        start_v - (LOWER * doubt).min(MOST_DOUBT_V)
    } else {
        start_v + LOWER * doubt
    };
    (level_v > limit_v).then_some(Unread::NoLower { level_v, start_v })
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
