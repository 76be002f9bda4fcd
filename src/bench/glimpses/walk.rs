//! The likeliest walk through stopped and running, and how surely it tells each start and stop.

use std::ops::Range;

use crate::data::EventKind;

use super::super::activity::LEAST_HYSTERESIS_V;
use super::Known;
use super::steps::{Evidence, WIDTH};

/// What a start or a stop has to raise the logarithm of the likelihood by: a step of 4.2 times its standard
/// uncertainty does. In 300 drawn records 23 other places gave as much, most of them turning
/// points, where it seldom can start or stop.
const COSTS: f64 = 9.0;
/// Of places within so many points of each other one is taken.
const NEAR: usize = 5;
/// The point at which VCC has not yet gone far of its step is taken for one before it.
const SETTLES: f64 = 0.3;
/// An event within more points than this on either side is not told.
const WIDEST: f64 = 25.0;
/// The part of what is likely that lies within the bounds of an event.
const LIKELY: f64 = 0.95;

/// The gain at a point that no other near it exceeds.
fn peak(gains: &[f64], at: usize) -> Option<f64> {
    let near = at.saturating_sub(NEAR)..(at + NEAR + 1).min(gains.len());
    let exceeded = gains[near].iter().any(|g| *g > gains[at]);
    (!exceeded).then_some(gains[at])
}

/// Starts and stops, each with the first point after it, of the likeliest walk.
pub(super) fn likeliest(known: &[Known], evidence: &Evidence) -> Vec<(EventKind, usize)> {
    // [stopped, running]; where each came from by a change of state, point by point
    let mut best = [0.0_f64, 0.0];
    let mut changed: Vec<[bool; 2]> = Vec::with_capacity(known.len());
    for (at, point) in known.iter().enumerate() {
        let gain = |kind| peak(evidence.of_kind(kind), at).map_or(f64::NEG_INFINITY, |g| g - COSTS);
        let (stop, start) = (
            best[1] + gain(EventKind::Stop),
            best[0] + gain(EventKind::Start),
        );
        let now = [stop > best[0], start > best[1]];
        best = [best[0].max(stop), best[1].max(start)];
        match point {
            Known::Running => best[0] = f64::NEG_INFINITY,
            Known::Stopped => best[1] = f64::NEG_INFINITY,
            Known::Open => {}
        }
        changed.push(now);
    }
    let mut state = usize::from(best[1] > best[0]);
    let mut walk = Vec::new();
    for (at, now) in changed.iter().enumerate().rev() {
        if now[state] {
            let kind = [EventKind::Stop, EventKind::Start][state];
            walk.push((kind, at));
            state = 1 - state;
        }
    }
    walk.reverse();
    walk
}

/// Does each stop lie below the start before it, and each start above the stop?
pub(super) fn apart(walk: &[(EventKind, usize)], means: &[f64]) -> bool {
    walk.windows(2).all(|pair| {
        let volts = |k: usize| means[pair[k].1.saturating_sub(1)];
        let rise = match pair[1].0 {
            EventKind::Start => volts(1) - volts(0),
            EventKind::Stop => volts(0) - volts(1),
        };
        rise > LEAST_HYSTERESIS_V
    })
}

/// Middle and half-width, in points, of what is likely for the `k`th event of a walk; `None` where that is
/// too wide to be told.
pub(super) fn place(
    walk: &[(EventKind, usize)],
    k: usize,
    known: &[Known],
    evidence: &Evidence,
) -> Option<(f64, f64)> {
    let (kind, at) = walk[k];
    let from = k.checked_sub(1).map_or(0, |k| at.min(walk[k].1 + WIDTH));
    let to = walk.get(k + 1).map_or(known.len(), |next| next.1);
    let range = possible(kind, at, known, from..to);
    let gains = &evidence.of_kind(kind)[range.clone()];
    let most = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = gains.iter().map(|g| (g - most).exp()).collect();
    let whole: f64 = weights.iter().sum();
    let bound = |share: f64| {
        let mut sum = 0.0;
        let beyond = |w: &f64| {
            sum += w;
            sum >= share * whole
        };
        weights.iter().position(beyond).unwrap_or(weights.len())
    };
    let (low, high) = (bound(0.5 - 0.5 * LIKELY), bound(0.5 + 0.5 * LIKELY));
    let within = 0.5 * (high - low) as f64 + 0.5 * WIDTH as f64 + SETTLES;
    let middle = (range.start + low) as f64 + 0.5 * (high - low) as f64;
    (within <= WIDEST).then_some((middle, within))
}

/// The first points that an event can have without contradicting what is known, `at` among them.
fn possible(kind: EventKind, at: usize, known: &[Known], within: Range<usize>) -> Range<usize> {
    let (before, after) = match kind {
        EventKind::Start => (Known::Running, Known::Stopped),
        EventKind::Stop => (Known::Stopped, Known::Running),
    };
    let barred = known[at..within.end].iter().position(|p| *p == before);
    let end = barred.map_or(within.end, |i| at + i + 1);
    let last = known[within.start..at].iter().rposition(|p| *p == after);
    let start = last.map_or(within.start, |i| within.start + i + 1);
    start..end.min(within.end).max(start + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINTS: usize = 600;

    fn known(parts: &[(usize, usize, Known)]) -> Vec<Known> {
        let mut known = vec![Known::Open; POINTS];
        parts
            .iter()
            .for_each(|(from, to, as_known)| known[*from..*to].fill(*as_known));
        known
    }

    #[test]
    fn what_speaks_within_a_run_is_no_event() {
        let known = known(&[(300, 320, Known::Running), (340, 360, Known::Running)]);
        let gains = [
            (EventKind::Start, 280, 12.0),
            (EventKind::Stop, 330, 14.0),
            (EventKind::Stop, 390, 12.0),
        ];
        let walk = likeliest(&known, &Evidence::made(POINTS, &gains));
        assert_eq!(walk, [(EventKind::Start, 280), (EventKind::Stop, 390)]);
    }

    /// What is seen of OUT needs no step of VCC where both sides are known; nothing is made of a step too small.
    #[test]
    fn what_is_known_makes_events_and_a_small_step_none() {
        let both = known(&[
            (0, 280, Known::Stopped),
            (300, 400, Known::Running),
            (430, POINTS, Known::Stopped),
        ]);
        let none = Evidence::made(POINTS, &[]);
        let kinds: Vec<EventKind> = likeliest(&both, &none).iter().map(|e| e.0).collect();
        assert_eq!(kinds, [EventKind::Start, EventKind::Stop]);
        let small = Evidence::made(POINTS, &[(EventKind::Start, 200, COSTS - 1.0)]);
        assert!(likeliest(&known(&[]), &small).is_empty());
    }

    /// Nothing but that it happens within 21 or 31 points: 95 % of these. A step says where; within 121 points
    /// without one is no answer.
    #[test]
    fn an_event_lies_where_it_is_likely() {
        let bounds = |stopped: usize, gains: &[(EventKind, usize, f64)]| {
            let known = known(&[(0, stopped, Known::Stopped), (300, POINTS, Known::Running)]);
            let evidence = Evidence::made(POINTS, gains);
            place(&likeliest(&known, &evidence), 0, &known, &evidence)
        };
        for stopped in [280, 270] {
            let (middle, within) = bounds(stopped, &[]).unwrap();
            let half = 0.5 * (300 - stopped) as f64;
            assert!((middle - 300.0 + half).abs() <= 1.0, "{middle}");
            let more = 0.5 * WIDTH as f64 + SETTLES;
            assert!((within - 0.95 * half - more).abs() < 1.0, "{within}");
        }
        assert!(bounds(180, &[]).is_none());
        let (middle, within) = bounds(180, &[(EventKind::Start, 240, 15.0)]).unwrap();
        assert!(
            (middle - 240.0).abs() < 0.1 && within < 1.5,
            "{middle} {within}"
        );
    }
}
