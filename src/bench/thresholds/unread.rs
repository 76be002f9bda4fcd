//! Events at which the record does not show VCC: cut off, missing, or jumping past them.

use crate::data::text::engineering;
use crate::data::{Event, EventKind, NoVcc, Unit};
use crate::signal::{Line, stats};

use super::lead::{self, Lead};
use super::reading::FEWEST_SAMPLES;
use super::sampled::Sampled;

/// Levels on each side of an event that are looked at, and those that its course is taken from.
const BESIDE: usize = 3;
const COURSE: usize = 16;
/// Volts by which VCC may run ahead of its course between two levels without hiding the threshold: steps of a
/// knob and ripple that aliases stay below (common practice).
const JUMP_V: f64 = 1.0;

/// Why VCC can't be read at an event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unread {
    /// It lies beyond this end of the range.
    CutOff(f64),
    /// No sample holds a number there.
    Missing,
    /// It goes from one level to the other at once.
    Jump(f64, f64),
    /// It stands at so many volts and moves away from the threshold, by so many volts a second.
    Away { level_v: f64, slope: f64 },
    /// There is too little of it.
    Few,
}

impl Unread {
    /// What an event of this kind is given in place of a voltage.
    pub fn told(self, kind: EventKind) -> NoVcc {
        NoVcc {
            why: self.words(kind),
            away: matches!(self, Unread::Away { .. }),
        }
    }

    fn words(self, kind: EventKind) -> String {
        let word = kind.id();
        match self {
            Unread::CutOff(end_v) => format!(
                "VCC is clipped at {} where it {word}s; record it with more volts per division, or zero lower",
                volts(end_v)
            ),
            Unread::Missing => {
                format!("samples of VCC are missing where it {word}s; record it again")
            }
            Unread::Jump(from_v, to_v) => format!(
                "VCC jumps from {} to {} as it {word}s: the threshold lies somewhere between; turn VCC by hand, look for a loose contact, or record with a faster time base",
                volts(from_v),
                volts(to_v)
            ),
            Unread::Away { level_v, slope } => format!(
                "VCC {} by {} a second, near {}, where it {word}s: that is no threshold of VCC; look at what else {word}s it",
                if slope > 0.0 { "rises" } else { "falls" },
                engineering(slope.abs(), Unit::Volt, 2),
                engineering(level_v, Unit::Volt, 3)
            ),
            Unread::Few => format!(
                "fewer than {FEWEST_SAMPLES} samples of VCC lie before each {word}; record it with a faster time base"
            ),
        }
    }
}

fn volts(value: f64) -> String {
    engineering(value, Unit::Volt, 4)
}

/// What keeps VCC from being read at an event, whatever lies before it; `None` where nothing does.
pub(super) fn at(sampled: &Sampled<'_>, event: &Event) -> Option<Unread> {
    let end = lead::end(sampled, event).min(sampled.len());
    let before = sampled.uncut(end.saturating_sub(COURSE)..end);
    let last = &before[before.len().saturating_sub(BESIDE)..];
    if last.is_empty() {
        return None;
    }
    if last.iter().all(|v| !v.is_finite()) {
        return Some(Unread::Missing);
    }
    if let Some((from_v, to_v)) = jump(sampled, event, &before, end) {
        return Some(Unread::Jump(from_v, to_v));
    }
    sampled.at_cut_end(last).map(Unread::CutOff)
}

/// Least move over the straight samples before an event that counts as one, in volts, and by how many standard
/// deviations the slope stands out in all of them, in half and in a quarter.
const LEAST_MOVE_V: f64 = 0.1;
const STANDS_OUT: [(usize, f64); 3] = [(1, 5.0), (2, 3.0), (4, 2.0)];

/// Does VCC move away from the threshold that it would pass at the event?
pub(super) fn away(lead: &Lead) -> Option<Unread> {
    let sign = if lead.kind == EventKind::Start {
        1.0
    } else {
        -1.0
    };
    let times = &lead.times[lead.times.len() - lead.clean.len()..];
    let line = |(share, sure): (usize, f64)| {
        let from = lead.clean.len() - lead.clean.len() / share;
        let points = times[from..]
            .iter()
            .copied()
            .zip(lead.clean[from..].iter().copied());
        let away = |line: &Line| sign * line.slope < -sure * line.u_slope();
        Line::fit(points).filter(away)
    };
    let [whole, half, quarter] = STANDS_OUT.map(line);
    let line = whole.filter(|_| half.is_some() && quarter.is_some())?;
    let (slope, last) = (line.slope, *times.last()?);
    let level_v = line.at(last);
    let move_v = slope * (last - times.first()?);
    (move_v.abs() > LEAST_MOVE_V).then_some(Unread::Away { level_v, slope })
}

/// VCC before and after an event that it jumps past, the way that leads to it.
fn jump(sampled: &Sampled<'_>, event: &Event, before: &[f64], end: usize) -> Option<(f64, f64)> {
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
    let line = Line::fit(times.zip(before.iter().copied()));
    let then_s = sampled.at(first + after.len() / 2);
    let course = line.map(|l| (l.at(then_s), 4.0 * l.u_at(then_s)));
    let (course_v, doubt_v) = course.unwrap_or((from_v, 0.0));
    let sign = if event.kind == EventKind::Start {
        1.0
    } else {
        -1.0
    };
    let further = |from: f64| sign * (to_v - from);
    let allowed = JUMP_V + 6.0 * sampled.grain();
    (further(from_v) > allowed && further(course_v) > allowed + doubt_v).then_some((from_v, to_v))
}
