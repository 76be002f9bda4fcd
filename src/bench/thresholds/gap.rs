//! How far VCC goes at once where it starts or stops: past a threshold, or from landing to landing of a knob.

use crate::data::{Event, EventKind};
use crate::signal::{Line, stats};

use super::lead;
use super::sampled::Sampled;
use super::stairs::Stair;

/// Levels on each side of an event that are looked at, and those that its course is taken from.
pub(super) const BESIDE: usize = 3;
pub(super) const COURSE: usize = 16;
/// A leap of the knob is so many times what VCC covers about its course before it, and so many standard deviations of a
/// level …
const LEAP_OF_RANGE: f64 = 1.5;
const LEAP_OF_GRAIN: f64 = 6.0;
/// … and no less than this: smaller steps are found by those before them.
const LEAST_LEAP_V: f64 = 0.2;

/// What VCC does between the last levels before an event and the first after it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gap {
    pub from_v: f64,
    pub to_v: f64,
    /// The same in the direction that leads to the event.
    further_v: f64,
    /// What of it its course does not explain, less what the course is uncertain by.
    off_course_v: f64,
    /// Highest less lowest about the course before.
    range_v: f64,
}

impl Gap {
    /// Does VCC go by more than this at once, whatever its course was?
    pub fn beyond(&self, volts: f64) -> bool {
        self.further_v > volts && self.off_course_v > volts
    }
}

/// The levels next to an event.
#[derive(Debug, Clone)]
pub(super) struct Near {
    /// The last ones before it.
    pub before: Vec<f64>,
    /// What lies between them and those after it; `None` where samples are missing.
    pub gap: Option<Gap>,
}

impl Near {
    pub fn of(sampled: &Sampled<'_>, event: &Event) -> Self {
        let end = lead::end(sampled, event).min(sampled.len());
        let before = sampled.uncut(end.saturating_sub(COURSE)..end);
        let gap = gap(sampled, event, &before, end);
        Self { before, gap }
    }
}

fn gap(sampled: &Sampled<'_>, event: &Event, before: &[f64], end: usize) -> Option<Gap> {
    let first = sampled.from(event.at_s + event.within_s).max(end);
    let mut after = sampled.uncut(first..(first + BESIDE).min(sampled.len()));
    after.retain(|v| v.is_finite());
    let mut last = before[before.len().saturating_sub(BESIDE)..].to_vec();
    last.retain(|v| v.is_finite());
    if after.is_empty() || last.is_empty() {
        return None;
    }
    let (from_v, to_v) = (stats::median(&mut last), stats::median(&mut after));
    let times = (end - before.len()..end).map(|i| sampled.at(i));
    let points: Vec<(f64, f64)> = times
        .zip(before.iter().copied())
        .filter(|p| p.1.is_finite())
        .collect();
    let line = Line::fit(points.iter().copied());
    let then_s = sampled.at(first + after.len() / 2);
    let (course_v, doubt_v) = line.map_or((from_v, 0.0), |l| (l.at(then_s), 4.0 * l.u_at(then_s)));
    let about = |(at_s, v): &(f64, f64)| v - line.map_or(from_v, |l| l.at(*at_s));
    let (low, high) = points
        .iter()
        .map(about)
        .fold((0.0_f64, 0.0_f64), |a, v| (a.0.min(v), a.1.max(v)));
    let sign = event.kind.way();
    Some(Gap {
        from_v,
        to_v,
        further_v: sign * (to_v - from_v),
        off_course_v: sign * (to_v - course_v) - doubt_v,
        range_v: high - low,
    })
}

/// The landings that a knob leaps between as it starts or stops: the last before the event, and one further by the
/// leap, or by the one before where that was larger (the load takes some of this one away).
pub(super) fn leap(
    gap: &Gap,
    kind: EventKind,
    levels: &[f64],
    (grain, code): (f64, f64),
) -> Option<Stair> {
    let least = (LEAP_OF_RANGE * gap.range_v).max(LEAP_OF_GRAIN * grain);
    let leaps = gap.beyond(least.max(LEAST_LEAP_V));
    if !leaps || levels.len() < COURSE {
        return None;
    }
    let (landing, before) = landings(levels, 0.5 * gap.further_v)?;
    let size = before
        .map_or(0.0, |v| (landing - v).abs())
        .max(gap.further_v);
    let to = if kind == EventKind::Start {
        landing + size
    } else {
        landing - size
    };
    Some(Stair {
        low_v: landing.min(to),
        high_v: landing.max(to),
        u_v: (code / 12.0_f64.sqrt()).max(grain / 4.0),
    })
}

/// The last landing of the levels, and the one before it where they show one: where they first lie further off than
/// this.
fn landings(levels: &[f64], apart_v: f64) -> Option<(f64, Option<f64>)> {
    let median = stats::median_of_finite;
    let landing = median(&levels[levels.len() - COURSE..]);
    let off = |chunk: &[f64]| (median(chunk) - landing).abs() > apart_v;
    let before = levels.rchunks(BESIDE).position(off).map(|left| {
        // a little further back the knob is at rest again
        let end = levels.len().saturating_sub((left + 1) * BESIDE);
        median(&levels[end.saturating_sub(COURSE)..end])
    });
    let before = before.filter(|v| v.is_finite());
    landing.is_finite().then_some((landing, before))
}
