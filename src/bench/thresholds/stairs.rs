//! A knob that turns in steps: VCC stands still, leaps, stands still. The event then lies in a leap, and
//! the step limits what can be said of the threshold.

use crate::data::{Event, EventKind};
use crate::signal::stats;

use super::sampled::Sampled;

/// Volts before an event over which steps are looked for.
const LOOKED_V: f64 = 2.0;
/// Fewest leaps that make a stair.
const FEWEST_LEAPS: usize = 2;
/// Fewest of them in means of several samples, which noise and ripple make leap by chance.
const FEWEST_OF_MEANS: usize = 4;
/// Share of the whole change that leaps make up in a stair …
const LEAP_SHARE: f64 = 0.75;
/// … and the share of the time that they take at most.
const LEAP_TIME: f64 = 0.45;

/// A leap in which so many samples lie is no leap but VCC on its way: the line before the event reads it.
const ON_ITS_WAY: usize = 24;

/// A landing that lasts less than this share of the usual one was left by the event, not by the knob.
const CUT_SHORT: f64 = 0.2;
/// Share of a landing before an event that is certain to be one: landings differ by a fifth.
pub(super) const CERTAIN: f64 = 0.7;
/// Samples that are taken together, one choice after the other: noise hides small steps in single ones.
const TOGETHER: [usize; 7] = [1, 2, 4, 8, 16, 32, 64];

/// Between which levels the event came.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::bench) struct Stair {
    /// The lower of the two landings, true volts.
    pub low_v: f64,
    /// The upper one.
    pub high_v: f64,
    /// Standard uncertainty of a landing's level.
    pub u_v: f64,
}

/// The stair before an event, if VCC comes in steps that are larger than the code step. Up to half as many
/// samples again are read as the line before the event takes at `most`; where there are more, block
/// means serve.
pub(super) fn find(
    vcc: &Sampled<'_>,
    event: &Event,
    previous_s: f64,
    most: usize,
) -> Option<Stair> {
    let (all, each) = values(vcc, event, previous_s, most + most / 2);
    for together in TOGETHER {
        let mean = |chunk: &[f64]| chunk.iter().sum::<f64>() / chunk.len() as f64;
        // groups end with the record: the last landing is the one that counts
        let groups = all.rchunks_exact(together).map(mean);
        let mut values: Vec<f64> = groups.collect();
        values.reverse();
        let enough = |leaps: &Vec<Leap>| together == 1 || leaps.len() >= FEWEST_OF_MEANS;
        let shown = leaps(&values, vcc).filter(|_| values.len() >= 12);
        let Some(leaps) = shown.filter(enough) else {
            continue;
        };
        if on_its_way(&leaps, each * together) {
            return None;
        }
        if let Some(stair) = of(&values, &leaps, event.kind, vcc) {
            return Some(stair);
        }
    }
    None
}

/// Holds between slow turns look like landings; what lies between them is no leap then.
fn on_its_way(leaps: &[Leap], each: usize) -> bool {
    let mut widths: Vec<f64> = leaps.iter().map(|l| l.changes as f64).collect();
    // a leap within one group shows in two changes
    let beyond = (stats::median(&mut widths) - 2.0).max(0.0);
    beyond * each as f64 >= ON_ITS_WAY as f64
}

fn of(values: &[f64], leaps: &[Leap], kind: EventKind, vcc: &Sampled<'_>) -> Option<Stair> {
    let steps: Vec<f64> = leaps.iter().map(|l| l.size_v.abs()).collect();
    let step_v = stats::summary(&steps).mean;
    let up = kind == EventKind::Start;
    let last = *leaps.last()?;
    if !more_than_codes(&steps, step_v, vcc) || (last.size_v > 0.0) != up {
        return None;
    }
    let tail = &values[(last.end + 1).min(values.len() - 1)..];
    let usual = (last.end - leaps[0].end) as f64 / (leaps.len() - 1) as f64;
    let level = |landing: &[f64]| {
        // a leap in it that noise hid is left behind
        let certain = ((CERTAIN * usual) as usize).max(1);
        stats::median(&mut landing[landing.len().saturating_sub(certain)..].to_vec())
    };
    // an event just after a leap lies in that leap, which it may have cut short, one after a whole landing in the next
    let cut_short = (tail.len() as f64) < CUT_SHORT * usual;
    let from = if cut_short {
        level(&values[leaps[leaps.len() - 2].end + 1..=last.end - last.changes])
    } else {
        level(tail)
    };
    let to = if up { from + step_v } else { from - step_v };
    let spread = stats::summary(tail).deviation / (tail.len() as f64).sqrt();
    Some(Stair {
        low_v: from.min(to),
        high_v: from.max(to),
        u_v: spread.max(vcc.code() / 12.0_f64.sqrt()),
    })
}

/// A slow rise climbs from code to code as a stair does, where noise does not carry it across; but it
/// never takes two codes at once.
fn more_than_codes(steps: &[f64], mean_v: f64, vcc: &Sampled<'_>) -> bool {
    let code = vcc.code();
    carried(vcc) || (mean_v > 1.1 * code && steps.iter().any(|s| *s > 1.6 * code))
}

/// Does noise carry means across codes? From 0.3 of a code on what a mean is off by is below a
/// twentieth of one.
fn carried(vcc: &Sampled<'_>) -> bool {
    vcc.noise() > 0.3 * vcc.code()
}

/// Levels before the event, as far back as VCC lies within [`LOOKED_V`], and how many samples each stands
/// for: block means where the samples are many.
fn values(vcc: &Sampled<'_>, event: &Event, previous_s: f64, most: usize) -> (Vec<f64>, usize) {
    let trace = vcc.vcc;
    let end = vcc.until(event.at_s - event.within_s + 0.25 * trace.interval_s());
    let begin = vcc.from(previous_s + 2.0 * vcc.interval_s());
    let size = (trace.block_size() / (trace.len() / vcc.len()).max(1)).max(1);
    let level = trace.block_mean((end / size).saturating_sub(1));
    let far = |block: &usize| (trace.block_mean(*block) - level).abs() > LOOKED_V;
    let first = (begin / size..end / size).rev().find(far);
    let begin = first.map_or(begin, |b| ((b + 1) * size).max(begin));
    let (mut values, each) = if end.saturating_sub(begin) <= most {
        (vcc.values(begin..end.max(begin)), 1)
    } else {
        let blocks = begin.div_ceil(size)..end / size;
        (blocks.map(|b| trace.block_mean(b)).collect(), size)
    };
    values.retain(|v| v.is_finite());
    // only since the knob was last turned round
    let up = event.kind == EventKind::Start;
    let further = |a: f64, b: f64| if up { a < b } else { a > b };
    let turn = (0..values.len()).reduce(|best, i| {
        if further(values[i], values[best]) {
            i
        } else {
            best
        }
    });
    (values.split_off(turn.unwrap_or(0)), each)
}

/// A leap between two landings.
#[derive(Debug, Clone, Copy)]
struct Leap {
    /// Index of the last value before the landing.
    end: usize,
    /// How far, in volts.
    size_v: f64,
    /// In how many changes it shows.
    changes: usize,
}

/// Leaps between points; `None` where VCC does not come in leaps. Changes are taken over two intervals: a leap within a group of samples takes both.
fn leaps(values: &[f64], vcc: &Sampled<'_>) -> Option<Vec<Leap>> {
    let changes: Vec<f64> = values.windows(3).map(|w| w[2] - w[0]).collect();
    let mut sizes: Vec<f64> = changes.iter().map(|c| c.abs()).collect();
    let least = if carried(vcc) { 0.04 } else { 0.2 };
    let usual = stats::median(&mut sizes).max(least * vcc.code());
    let large = 7.5 * usual;
    let mut leaps: Vec<Leap> = Vec::new();
    let mut begin = None;
    let mut taken = 0;
    for (index, change) in changes.iter().chain([&0.0]).enumerate() {
        match (change.abs() > large, begin) {
            (true, None) => begin = Some(index),
            (false, Some(first)) => {
                leaps.push(Leap {
                    end: index,
                    size_v: values[index + 1] - values[first],
                    changes: index - first,
                });
                taken += index - first;
                begin = None;
            }
            _ => {}
        }
    }
    let largest = leaps.iter().map(|l| l.size_v.abs()).fold(0.0, f64::max);
    leaps.retain(|l| l.size_v.abs() > 0.4 * largest);
    let whole = values.last()? - values.first()?;
    let by_leaps: f64 = leaps.iter().map(|l| l.size_v).sum();
    // dips leap both ways, a stair one way
    let one_way = leaps.iter().all(|l| (l.size_v > 0.0) == (whole > 0.0));
    let stair = one_way
        && leaps.len() >= FEWEST_LEAPS
        && by_leaps / whole > LEAP_SHARE
        && by_leaps / whole < 1.3
        && (taken as f64) < LEAP_TIME * changes.len() as f64;
    stair.then_some(leaps)
}
