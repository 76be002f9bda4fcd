//! Where VREF begins to rise or to fall: its edges lag the start and the stop.

use crate::data::{Event, EventKind, Role};
use crate::signal::{Line, stats};

use super::trace::Trace;

/// Samples that are read at first on the way back; each further look reads four times as many.
const FIRST_LOOK: usize = 16;

/// Points of a decay that are fitted; of a longer one only every k-th sample is read.
const MOST_POINTS: usize = 160;

/// How far a witness is followed back from its edge to where the change began, in samples.
const FARTHEST_BACK: usize = 4096;

/// Samples before a fall over which the level that it falls from is read.
const LEVEL_SAMPLES: usize = 64;

/// Where a decay began, as a sample position, with the half-width within which it lies.
pub(super) struct DecayStart {
    position: f64,
    within: f64,
}

impl DecayStart {
    pub(super) fn event(&self, index: usize, witness: &Trace<'_>) -> Event {
        Event {
            capture: index,
            kind: EventKind::Stop,
            at_s: witness.time(self.position),
            within_s: self.within * witness.interval_s(),
            witness: Role::Vref,
            vcc: None,
            why_no_vcc: None,
        }
    }
}

/// VREF falls as its capacitor discharges through some kilohms, so its edge lags the stop. The first
/// part of the decay, from `clear` below the level down to half of it, is fitted by an exponential
/// towards `rest` and followed back to the level. `None` when it is too fast to hold five samples.
/// All in raw values.
pub(super) fn decay_start(
    witness: &Trace<'_>,
    position: f64,
    (rest, high): (f64, f64),
    clear: f64,
) -> Option<DecayStart> {
    let last = last_before(witness, position, high - clear);
    let falling = |v: f64| v - rest > 0.5 * (high - rest) && v < high - 0.2 * clear;
    let points = falling_part(witness, last + 1, falling);
    let first = followed_back(witness, &points, last, (rest, high - rest), 1.0)?;
    // the state level of the record may not be that of this run: read it before the stop just found
    let end = (first.position - first.within - 4.0).max(0.0) as usize;
    let mut before = witness
        .channel
        .valid_slice(end.saturating_sub(LEVEL_SAMPLES)..end);
    before.retain(|v| *v > high - 2.0 * clear && *v < high + 2.0 * clear);
    let count = before.len() as f64;
    if count < 4.0 {
        return Some(first);
    }
    let level = stats::median(&mut before) - rest;
    followed_back(witness, &points, last, (rest, level), count).or(Some(first))
}

/// Share of its height by which VREF has to have fallen when the record ends, for its decay to show: one that is loaded
/// sags too, and comes to rest.
const FALLEN: f64 = 0.5;

/// The same for a VREF that still falls where the record ends.
pub(super) fn decay_start_at_end(
    witness: &Trace<'_>,
    (rest, high): (f64, f64),
    clear: f64,
) -> Option<DecayStart> {
    let end = witness.block_mean(witness.blocks().checked_sub(1)?);
    let end = (end - witness.known.offset) / witness.known.gain;
    let fallen = high - end > (FALLEN * (high - rest)).max(2.0 * clear);
    let last = witness.len().checked_sub(1).filter(|_| fallen)?;
    decay_start(witness, last as f64, (rest, high), clear)
}

/// The decay after sample `last` followed back to `level` above `rest`, which was read from so many
/// samples.
fn followed_back(
    witness: &Trace<'_>,
    points: &[(usize, f64)],
    last: usize,
    (rest, level): (f64, f64),
    level_samples: f64,
) -> Option<DecayStart> {
    let count = points.last()?.0 - last;
    if points.len() < 5 || level.is_nan() || level <= 0.0 {
        return None;
    }
    let logs = points.iter();
    let line = Line::fit(logs.map(|(i, v)| (*i as f64, ((v - rest) / level).ln())))?;
    if line.slope >= 0.0 {
        return None;
    }
    let at = line.origin - line.at_origin / line.slope;
    // the level is known to half a code step, and to the noise of what it was read from
    let facts = witness.facts();
    let doubt = 0.5 * facts.resolution.unwrap_or(0.0) + 2.5 * facts.noise / level_samples.sqrt();
    let within = ((2.0 * line.u_at(at) + doubt / level) / line.slope.abs()).max(0.5);
    let near = at <= (last + 1) as f64 && at > last as f64 - 20.0 - 0.5 * count as f64;
    near.then_some(DecayStart {
        position: at,
        within,
    })
}

/// Samples from `first` on as long as they are `falling`, as index and raw value. Where the blocks of
/// the pyramid show that they are many, they are read in strides.
fn falling_part(
    witness: &Trace<'_>,
    first: usize,
    falling: impl Fn(f64) -> bool,
) -> Vec<(usize, f64)> {
    let channel = witness.channel;
    let (size, means) = (witness.block_size(), &witness.facts().pyramid.means);
    let from = first.div_ceil(size.max(1));
    let until = (from + FARTHEST_BACK / size.max(1)).min(means.len());
    let blocks = means.get(from..until).unwrap_or_default();
    let long = blocks.iter().take_while(|mean| falling(**mean)).count();
    let stride = (long * size).div_ceil(MOST_POINTS).max(1);
    let mut points = Vec::new();
    let mut index = first;
    while index < first + FARTHEST_BACK {
        let value = match channel.samples.at(index) {
            Some(value) if falling(value) && !channel.missing.contains(index) => value,
            _ => break,
        };
        points.push((index, value));
        index += stride;
    }
    points
}

/// Share of the way to the threshold that a witness may creep up before it rises: VREF that leaks, or follows VCC.
/// A capacitor charged from 0 V takes about as long for that share of the way as for the rest.
const PEDESTAL: f64 = 0.6;
/// Samples of its level there; a quarter of them more is how late samples may show the rise.
const PEDESTAL_SAMPLES: usize = 16;

/// Where a rise begins that creeps up first, in samples from the last one at rest: no rise takes longer for the
/// first part of its way than for the rest of it. `None` where none creeps.
fn knee(rise: &[f64], part: f64, spread: f64) -> Option<usize> {
    let low = rise.iter().rposition(|v| *v <= part)?;
    let high = rise.len() - 1 - low;
    let longest = 2 * high + PEDESTAL_SAMPLES / 4;
    let before = low.checked_sub(longest)?;
    let mut level = rise[before.saturating_sub(PEDESTAL_SAMPLES)..=before].to_vec();
    level.retain(|v| v.is_finite());
    let level = stats::median(&mut level);
    let near = |v: &f64| *v <= level + spread;
    rise[..=low].iter().rposition(near)
}

/// The last sample before a rise: the last one at rest, or, where the level has not come to rest
/// since it was last up, the last one that lies no higher than the one before it.
pub(super) fn foot_of_rise(
    witness: &Trace<'_>,
    position: f64,
    (low, spread): (f64, f64),
    (threshold, band): (f64, f64),
) -> usize {
    let edge = position.floor() as usize;
    let mut look = FIRST_LOOK;
    loop {
        let begin = (edge + 1).saturating_sub(look);
        let raw = witness.channel.valid_slice(begin..edge + 1);
        let rest = raw.iter().rposition(|v| *v <= low + spread);
        // noise about the threshold of a slow rise is no run before it
        let up = raw.iter().rposition(|v| *v > threshold + band);
        match (rest, up) {
            (None, None) if begin > 0 && look < FARTHEST_BACK => look *= 4,
            (Some(rest), up) if up.is_none_or(|up| rest > up) => {
                let rest = last_at_rest(&raw, rest, spread);
                let half = threshold - low;
                let knee = knee(&raw[rest..], low + PEDESTAL * half, spread);
                return begin + rest + knee.unwrap_or(0);
            }
            _ => {
                let step = 3.0 * witness.facts().noise;
                let falls = |i: &usize| raw[i - 1] >= raw[*i] - step;
                return begin + (1..raw.len()).rev().find(falls).unwrap_or(0);
            }
        }
    }
}

/// A level that still creeps down may lie above `low + spread` but for single noisy samples: the level
/// around the last of them tells what rest is here.
fn last_at_rest(raw: &[f64], rest: usize, spread: f64) -> usize {
    let mut near = raw[rest.saturating_sub(8)..(rest + 1).min(raw.len())].to_vec();
    near.retain(|v| v.is_finite());
    let here = stats::median(&mut near);
    raw.iter()
        .rposition(|v| *v <= here + spread)
        .map_or(rest, |last| last.max(rest))
}

/// The last sample at or before `position` that still lies at `level` or above; the edge itself if
/// none is near. Blocks that hold no such sample are not read.
pub(super) fn last_before(witness: &Trace<'_>, position: f64, level: f64) -> usize {
    let edge = position.floor() as usize;
    let size = witness.block_size().max(1);
    let nearest = (edge + 1).saturating_sub(FARTHEST_BACK) / size;
    let ranges = witness.facts().pyramid.levels.first();
    for block in (nearest..=edge / size).rev() {
        let highest = ranges.and_then(|level| level.get(block)).map(|r| r.1);
        if highest.is_some_and(|high| f64::from(high) < level) {
            continue;
        }
        let begin = block * size;
        let end = (begin + size).min(edge + 1);
        let raw = witness.channel.valid_slice(begin..end);
        if let Some(found) = raw.iter().rposition(|v| *v >= level) {
            return begin + found;
        }
    }
    edge
}
