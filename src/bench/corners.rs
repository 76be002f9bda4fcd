//! Turning points of VCC where nothing else witnesses starts and stops: lines before and after,
//! intersected, or the leap from one to the other.

use crate::data::{Event, EventKind, Role};
use crate::signal::Line;

use super::trace::Trace;

/// A turning point of a slow channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Sample position.
    pub position: f64,
    /// Level there, true volts.
    pub volts: f64,
    /// An upper corner (or a lower one).
    pub top: bool,
}

/// Turning points of the block means, each more than `swing` volts from the next.
pub fn turning_points(trace: &Trace<'_>, swing: f64) -> Vec<Corner> {
    let mut corners: Vec<Corner> = Vec::new();
    let mut extreme: Option<(usize, f64)> = None;
    let mut rising: Option<bool> = None;
    for block in 0..trace.blocks() {
        let value = trace.block_mean(block);
        if !value.is_finite() {
            continue;
        }
        let (at, best) = *extreme.get_or_insert((block, value));
        match rising {
            None if (value - best).abs() > swing => {
                rising = Some(value > best);
                extreme = Some((block, value));
            }
            None => {}
            Some(up) => {
                if (value > best) == up && (value - best).abs() > 0.0 {
                    extreme = Some((block, value));
                } else if (value - best).abs() > swing {
                    corners.push(Corner {
                        position: trace.block_middle(at),
                        volts: best,
                        top: up,
                    });
                    rising = Some(!up);
                    extreme = Some((block, value));
                }
            }
        }
    }
    corners
}

/// The swing that counts as a turn: well above the noise, well below the hysteresis of the
/// narrowest variant (0.8 V typical, SLUS223G).
pub fn swing_of(trace: &Trace<'_>) -> f64 {
    let blocks = (trace.block_size() as f64).sqrt();
    (8.0 * trace.grain() / blocks)
        .max(2.0 * trace.resolution())
        .max(0.03 * range(trace))
        .min(0.4_f64.max(8.0 * trace.grain() / blocks))
}

fn range(trace: &Trace<'_>) -> f64 {
    trace.facts().peak_to_peak() * trace.known.gain.abs()
}

/// Starts and stops of a VCC that climbs and falls by itself.
///
/// Every upper corner is a start. A lower corner is a stop when another start follows it at about
/// the same level, or when it lies where the stops before it lie; a lower corner alone may as well
/// be the own winding taking over.
pub fn events(index: usize, vcc: &Trace<'_>) -> Vec<Event> {
    let corners = turning_points(vcc, swing_of(vcc));
    if !climbs_by_itself(&corners) || !falls_by_itself(vcc, &corners) {
        return Vec::new();
    }
    let half = 0.5 * vcc.block_size() as f64 * vcc.interval_s();
    let mut stops: Vec<f64> = Vec::new();
    let mut events = Vec::new();
    for (number, corner) in corners.iter().enumerate() {
        if !corner.top {
            if number == 0 || !is_stop(&corners, number, &stops) {
                continue;
            }
            stops.push(corner.volts);
        }
        let kind = if corner.top {
            EventKind::Start
        } else {
            EventKind::Stop
        };
        let (position, within) = intersection(vcc, &corners, number);
        let at_s = vcc.time(position);
        let within_s = half.max(within * vcc.interval_s());
        events.push(Event {
            capture: index,
            kind,
            at_s,
            within_s,
            witness: Role::Vcc,
            vcc: None,
            why_no_vcc: None,
        });
    }
    events
}

fn is_stop(corners: &[Corner], number: usize, before: &[f64]) -> bool {
    let Some(first_top) = corners.iter().find(|c| c.top) else {
        return false;
    };
    let here = corners[number].volts;
    let next_top = corners.get(number + 1).filter(|c| c.top);
    if next_top.is_some_and(|c| (c.volts - first_top.volts).abs() < 0.1 * first_top.volts) {
        return true;
    }
    let mean = before.iter().sum::<f64>() / before.len().max(1) as f64;
    !before.is_empty() && (here - mean).abs() < 0.1 * (first_top.volts - mean).abs()
}

/// Tops at one level and bottoms at one level well above zero: a hiccup, or a single start.
fn climbs_by_itself(corners: &[Corner]) -> bool {
    let tops: Vec<f64> = corners.iter().filter(|c| c.top).map(|c| c.volts).collect();
    let bottoms: Vec<f64> = corners
        .iter()
        .skip_while(|c| !c.top)
        .filter(|c| !c.top)
        .map(|c| c.volts)
        .collect();
    let level = |set: &[f64]| {
        let (low, high) = set
            .iter()
            .fold((f64::MAX, f64::MIN), |a, v| (a.0.min(*v), a.1.max(*v)));
        (high - low) < 0.06 * high.abs()
    };
    let Some(top) = tops.first() else {
        return false;
    };
    *top > 5.0
        && level(&tops)
        && (bottoms.is_empty() || (level(&bottoms) && bottoms[0] > 0.3 * top))
}

/// A running controller empties the VCC capacitor at least this many times as fast as the start-up
/// path fills it (common practice: recharge to burst ratio 5 to 20) …
const LEAST_RATIO: f64 = 2.0;

/// … and at least this fast, in volts a second: 100 µF, the largest usual VCC capacitor, at the 7 mA
/// below which no bipolar controller of the family runs. A hand on a knob is slower.
const LEAST_FALL: f64 = 50.0;

/// Does VCC fall from its tops as a running controller makes it fall, and not as a hand does?
fn falls_by_itself(vcc: &Trace<'_>, corners: &[Corner]) -> bool {
    (0..corners.len())
        .filter(|n| corners[*n].top)
        .all(|number| {
            let (Some(rise), Some(fall)) = flanks(vcc, corners, number) else {
                return false;
            };
            let per_second = -fall.slope / vcc.interval_s();
            per_second > LEAST_FALL && -fall.slope > LEAST_RATIO * rise.slope
        })
        && (corners.iter().filter(|c| c.top).count() > 1 || climbs_evenly(vcc, corners))
}

/// A single top is a start only where VCC came to it as it had climbed before: one that its own winding
/// lifts comes to its top in a leap.
fn climbs_evenly(vcc: &Trace<'_>, corners: &[Corner]) -> bool {
    let Some(top) = corners.iter().find(|c| c.top) else {
        return false;
    };
    let slope =
        |share: f64| flank(vcc, (1.0 - share) * top.position, top.position).map(|l| l.slope);
    match (slope(0.05), slope(0.4)) {
        (Some(last), Some(before)) => (0.3..2.5).contains(&(last / before)),
        _ => false,
    }
}

/// Where the lines fitted to the two flanks of a corner meet, and the half-width within which that
/// lies, both in samples: raw extremes would be off by what happens between two samples, and by noise.
fn intersection(vcc: &Trace<'_>, corners: &[Corner], number: usize) -> (f64, f64) {
    let here = corners[number].position;
    let before = number.checked_sub(1).map_or(0.0, |n| corners[n].position);
    let after = corners
        .get(number + 1)
        .map_or(vcc.len() as f64 - 1.0, |c| c.position);
    let margin = vcc.block_size() as f64;
    let (left, right) = flanks(vcc, corners, number);
    let (Some(left), Some(right)) = (left, right) else {
        return (here, 2.0 * margin);
    };
    let leap = leap(vcc, &corners[number], (&left, &right));
    if let Some(leap) = leap.as_ref().filter(|l| l.sure) {
        return (leap.position, leap.within);
    }
    let bend = (left.slope - right.slope).abs();
    let position = here + (right.at(here) - left.at(here)) / (left.slope - right.slope);
    // noise moves an extreme along the flatter flank
    let flatter = left.slope.abs().min(right.slope.abs());
    let reach = 4.0 * margin + 2.0 + 6.0 * vcc.grain() / flatter;
    if (position - here).abs() > reach || !position.is_finite() {
        return (here, reach.min(0.2 * (after - before)));
    }
    let u = left.u_at(position).hypot(right.u_at(position)) / bend;
    // few codes on a flank leave its line open by a part of one
    let coarse = 0.25 * vcc.resolution() / flatter;
    // a leap that noise hides puts it off by as much
    let hidden = leap.map_or(0.0, |l| l.gap_v.max(0.0) / bend);
    (position, 2.0 * u + 0.5 * margin + coarse + hidden)
}

/// A leap stands out of so many times the noise of a sample.
const LEAP: f64 = 4.0;
/// Blocks of more samples are not looked into: a leap lies between two of them.
const LARGEST_BLOCK: usize = 8;
/// Samples or blocks on each side of a corner in which its leap is looked for.
const AROUND: usize = 3;

/// Where VCC leaps from one flank to the other, as the load comes or goes at the resistance of its capacitor.
struct Leap {
    /// Sample position, and the half-width within which it lies.
    position: f64,
    within: f64,
    /// How far, in volts; about 0 or less where the flanks meet.
    gap_v: f64,
    sure: bool,
}

/// `None` where no sample or block lies nearer to the line before the corner.
fn leap(vcc: &Trace<'_>, corner: &Corner, (left, right): (&Line, &Line)) -> Option<Leap> {
    let (size, block) = (
        vcc.block_size(),
        (corner.position / vcc.block_size() as f64) as usize,
    );
    let blocks = block.saturating_sub(AROUND)..(block + AROUND + 1).min(vcc.blocks());
    let (points, each): (Vec<(f64, f64)>, f64) = if size > LARGEST_BLOCK {
        let middle = |b| (vcc.block_middle(b), vcc.block_mean(b));
        (blocks.map(middle).collect(), size as f64)
    } else {
        let samples = blocks.start * size..(blocks.end * size).min(vcc.len());
        let places = samples.clone().map(|i| i as f64);
        (places.zip(vcc.values(samples)).collect(), 1.0)
    };
    let on_left = |(at, v): &(f64, f64)| (v - left.at(*at)).abs() <= (v - right.at(*at)).abs();
    let last = points.iter().rposition(on_left)?;
    let (before, after) = (points[last], *points.get(last + 1)?);
    let position = 0.5 * (before.0 + after.0);
    let back = if corner.top { -1.0 } else { 1.0 };
    let gap_v = back * (right.at(position) - left.at(position));
    // lines that meet do so within half of a sample or block
    let meet = 0.6 * (left.slope - right.slope).abs() * each;
    Some(Leap {
        position,
        within: 0.5 * each,
        gap_v,
        sure: gap_v > LEAP * vcc.grain() + meet,
    })
}

/// Lines over the flanks before and after a corner. The first climb bends: of it only the end counts.
fn flanks(vcc: &Trace<'_>, corners: &[Corner], number: usize) -> (Option<Line>, Option<Line>) {
    let here = corners[number].position;
    let end = vcc.len() as f64 - 1.0;
    let after = corners.get(number + 1).map_or(end, |c| c.position);
    let left = match number.checked_sub(1) {
        Some(before) => middle(vcc, corners[before].position, here),
        None => flank(vcc, 0.6 * here, here - vcc.block_size() as f64),
    };
    (left, middle(vcc, here, after))
}

/// A line over the middle of a flank, between its fifth and four-fifths levels: a coarse code step may
/// put either end of it far out.
fn middle(vcc: &Trace<'_>, from: f64, to: f64) -> Option<Line> {
    let size = vcc.block_size() as f64;
    let (first, last) = (
        (from / size) as usize,
        ((to / size) as usize).min(vcc.blocks() - 1),
    );
    let (v0, v1) = (vcc.block_mean(first), vcc.block_mean(last));
    let part = |block: usize| (vcc.block_mean(block) - v0) / (v1 - v0);
    let begin = (first..=last).rev().find(|b| part(*b) < 0.2)?;
    let begin = (first..=begin).find(|b| part(*b) > 0.2).unwrap_or(begin);
    let end = (begin..=last).rev().find(|b| part(*b) < 0.8)?;
    let (begin, end) = if end < begin + 3 {
        (begin.saturating_sub(1).max(first), (end + 2).min(last))
    } else {
        (begin, end)
    };
    Line::fit((begin..=end).map(|b| (vcc.block_middle(b), vcc.block_mean(b))))
}

fn flank(vcc: &Trace<'_>, from: f64, to: f64) -> Option<Line> {
    let blocks = vcc.blocks_within(from, to);
    Line::fit(blocks.map(|b| (vcc.block_middle(b), vcc.block_mean(b))))
}
