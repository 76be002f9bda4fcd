//! Events at which the record does not show VCC: cut off, missing, or jumping past them.

use crate::data::text::engineering;
use crate::data::{EventKind, NoVcc, Unit};
use crate::signal::Line;

use super::gap::{BESIDE, Gap, Near};
use super::lead::Lead;
use super::reading::FEWEST_SAMPLES;
use super::sampled::Sampled;

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
    /// It stands at so many volts at a stop, no lower than at the start before.
    NoLower { level_v: f64, start_v: f64 },
    /// It stands at so many volts at a start, after something else than VCC stopped it, and has not been below.
    Again { level_v: f64 },
    /// It stands at so many volts at a stop, after which it starts again while VCC falls.
    Back { level_v: f64 },
    /// It stands at so many volts, the highest of the record, at a stop, and the start before was below.
    AtTop { level_v: f64 },
    /// The whole record lies below 0 V, down to so many volts.
    UpsideDown(f64),
    /// There is too little of it.
    Few,
}

impl Unread {
    /// What an event of this kind is given in place of a voltage.
    pub fn told(self, kind: EventKind) -> NoVcc {
        NoVcc {
            why: self.words(kind),
            away: self.otherwise_v().is_some(),
        }
    }

    /// VCC at an event that something else than VCC made, in volts; `None` at others.
    pub fn otherwise_v(self) -> Option<f64> {
        match self {
            Unread::Away { level_v, .. }
            | Unread::NoLower { level_v, .. }
            | Unread::Back { level_v }
            | Unread::AtTop { level_v }
            | Unread::Again { level_v } => Some(level_v),
            _ => None,
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
            Unread::NoLower { level_v, start_v } => format!(
                "VCC does not fall below where it started, {1}, as it {word}s near {0}: that is no threshold of VCC; look at what else {word}s it",
                engineering(level_v, Unit::Volt, 3),
                engineering(start_v, Unit::Volt, 3)
            ),
            Unread::Again { level_v } => format!(
                "VCC stands near {} where it {word}s again, and was no lower since something else than VCC stopped it: that is no threshold of VCC",
                engineering(level_v, Unit::Volt, 3)
            ),
            Unread::Back { level_v } => format!(
                "VCC is near {} where it {word}s, and it starts again while VCC only falls: that is no threshold of VCC; look at what else {word}s it",
                engineering(level_v, Unit::Volt, 3)
            ),
            Unread::AtTop { level_v } => format!(
                "VCC stands at {}, the highest of this record, where it {word}s: that is no threshold of VCC; look at what else {word}s it",
                engineering(level_v, Unit::Volt, 3)
            ),
            Unread::UpsideDown(low_v) => upside_down("VCC", low_v),
            Unread::Few => format!(
                "fewer than {FEWEST_SAMPLES} samples of VCC lie before each {word}; record it with a faster time base"
            ),
        }
    }
}

/// What is said of a pin whose record lies below 0 V.
pub(super) fn upside_down(pin: &str, low_v: f64) -> String {
    format!(
        "{pin} lies below 0 V, down to {}: its channel is inverted, or probe and ground are exchanged; set that right and record it again",
        engineering(low_v, Unit::Volt, 3)
    )
}

fn volts(value: f64) -> String {
    engineering(value, Unit::Volt, 4)
}

/// What keeps VCC from being read at an event by the levels next to it; `None` where nothing does.
pub(super) fn at(sampled: &Sampled<'_>, near: &Near) -> Option<Unread> {
    let before = &near.before;
    let last = &before[before.len().saturating_sub(BESIDE)..];
    if last.is_empty() {
        return None;
    }
    if last.iter().all(|v| !v.is_finite()) {
        return Some(Unread::Missing);
    }
    let jumps = |gap: &Gap| gap.beyond(JUMP_V + 6.0 * sampled.grain());
    if let Some(gap) = near.gap.filter(jumps) {
        return Some(Unread::Jump(gap.from_v, gap.to_v));
    }
    sampled.at_cut_end(last).map(Unread::CutOff)
}

/// Least move over the straight samples before an event that counts as one, in volts, and by how many standard
/// deviations the slope stands out in all of them, in half and in a quarter.
const LEAST_MOVE_V: f64 = 0.1;
const STANDS_OUT: [(usize, f64); 3] = [(1, 5.0), (2, 3.0), (4, 2.0)];

/// Does VCC move away from the threshold that it would pass at the event?
pub(super) fn away(lead: &Lead) -> Option<Unread> {
    let sign = lead.kind.way();
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
