//! The likeliest walk through stopped and running, and how surely it tells each start and stop.

use std::ops::Range;

use crate::data::EventKind;

use super::super::activity::LEAST_HYSTERESIS_V;
use super::Seen;
use super::steps::{Evidence, WIDTH};

/// What a start or a stop has to raise the logarithm of the likelihood by: a step of 4.2 times its standard
/// uncertainty does. In 300 drawn records 23 other places gave as much before turning points
/// were told by their direction.
const COSTS: f64 = 9.0;
/// Of places within so many points of each other one is taken.
const NEAR: usize = 5;
/// So many places left out of a walk speak for nothing else: in 400 drawn records without ripple none had more.
const MOST_LEFT_OUT: usize = 3;
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

/// Starts and stops, each with the point that stands for it, of the likeliest walk.
pub(super) fn likeliest(seen: &Seen, evidence: &Evidence) -> Vec<(EventKind, usize)> {
    // [stopped, running]; where each came from by a change of state, point by point
    let mut best = [0.0_f64, 0.0];
    let mut changed: Vec<[bool; 2]> = Vec::with_capacity(seen.runs.len());
    for (at, runs) in seen.runs.iter().enumerate() {
        let gain = |kind| peak(evidence.of_kind(kind), at).map_or(f64::NEG_INFINITY, |g| g - COSTS);
        let (stop, start) = (
            best[1] + gain(EventKind::Stop),
            best[0] + gain(EventKind::Start),
        );
        let now = [stop > best[0], start > best[1]];
        best = [best[0].max(stop), best[1].max(start)];
        best[1] -= seen.costs[at];
        if *runs {
            best[0] = f64::NEG_INFINITY;
        }
        changed.push(now);
    }
    if best[0].max(best[1]) == f64::NEG_INFINITY {
        return Vec::new();
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
        let volts = |k: usize| before(means, pair[k].1);
        let rise = match pair[1].0 {
            EventKind::Start => volts(1) - volts(0),
            EventKind::Stop => volts(0) - volts(1),
        };
        rise > LEAST_HYSTERESIS_V
    })
}

/// Does VCC speak as loudly for many events that the walk leaves out? Ripple that falls in step with the samples
/// makes such steps in each of its cycles, and then none is believed.
pub(super) fn rippled(walk: &[(EventKind, usize)], vcc_alone: &Evidence) -> bool {
    let left_out = |kind: EventKind| {
        let gains = vcc_alone.of_kind(kind);
        let loud = (0..gains.len()).filter(|at| peak(gains, *at).is_some_and(|g| g > COSTS));
        let of_walk = |at: &usize| {
            let same = |event: &&(EventKind, usize)| event.0 == kind;
            let mut places = walk.iter().filter(same).map(|event| event.1);
            places.any(|to| at.abs_diff(to) <= 2 * NEAR)
        };
        loud.filter(|at| !of_walk(at)).count()
    };
    left_out(EventKind::Start) + left_out(EventKind::Stop) > MOST_LEFT_OUT.max(walk.len())
}

/// VCC before a point: the mean of the last few that hold a number.
fn before(means: &[f64], at: usize) -> f64 {
    let near = means[at.saturating_sub(NEAR)..at].iter();
    let finite: Vec<f64> = near.copied().filter(|v| v.is_finite()).collect();
    finite.iter().sum::<f64>() / finite.len() as f64
}

/// Middle and half-width, in points, of what is likely for the `k`th event of a walk; `None` where that is
/// too wide to be told.
pub(super) fn place(
    walk: &[(EventKind, usize)],
    k: usize,
    runs: &[bool],
    evidence: &Evidence,
) -> Option<(f64, f64)> {
    let (kind, at) = walk[k];
    let from = k.checked_sub(1).map_or(0, |k| at.min(walk[k].1 + WIDTH));
    let to = walk.get(k + 1).map_or(runs.len(), |next| next.1);
    let range = possible(kind, at, runs, from..to);
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
    // a step lies between the last point before it and the first that surely is after it
    let within = 0.5 * (high - low).max(WIDTH + 1) as f64;
    let middle = (range.start + low) as f64 + 0.5 * (high - low) as f64 + Evidence::off(kind);
    (within <= WIDEST).then_some((middle, within))
}

/// The points that an event can have without contradicting what is seen, `at` among them.
fn possible(kind: EventKind, at: usize, runs: &[bool], within: Range<usize>) -> Range<usize> {
    let next = runs[at..within.end].iter().position(|runs| *runs);
    let last = runs[within.start..at].iter().rposition(|runs| *runs);
    match kind {
        EventKind::Start => within.start..next.map_or(within.end, |i| at + i + 1),
        EventKind::Stop => last.map_or(within.start, |i| within.start + i + 1)..within.end,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINTS: usize = 600;
    const COST: f64 = 7.0;

    /// It is seen to run in these ranges, and costs to run at these points.
    fn seen(ranges: &[(usize, usize)], dear: &[usize]) -> Seen {
        let mut seen = Seen {
            runs: vec![false; POINTS],
            costs: vec![0.0; POINTS],
        };
        ranges
            .iter()
            .for_each(|(from, to)| seen.runs[*from..*to].fill(true));
        dear.iter().for_each(|at| seen.costs[*at] = COST);
        seen
    }

    #[test]
    fn what_speaks_within_a_run_is_no_event() {
        let gains = [
            (EventKind::Start, 280, 12.0),
            (EventKind::Stop, 330, 14.0),
            (EventKind::Stop, 390, 12.0),
        ];
        let seen = seen(&[(300, 320), (340, 360)], &[]);
        let walk = likeliest(&seen, &Evidence::made(POINTS, &gains));
        assert_eq!(walk, [(EventKind::Start, 280), (EventKind::Stop, 390)]);
    }

    /// Pulses that stay away make no stop of what VCC does not show, but are weighed where it shows a little;
    /// what VCC shows clearly they don't talk away.
    #[test]
    fn pulses_that_stay_away_are_weighed() {
        let seen = seen(&[(0, 300)], &[340]);
        let stop = |gain: f64, at: usize| {
            let gains = [(EventKind::Stop, at, gain)];
            likeliest(&seen, &Evidence::made(POINTS, &gains))
        };
        assert_eq!(stop(COSTS - COST + 1.0, 320), [(EventKind::Stop, 320)]);
        assert!(stop(COSTS - COST - 1.0, 320).is_empty());
        assert_eq!(stop(COSTS + COST + 1.0, 500), [(EventKind::Stop, 500)]);
    }

    /// Ripple in step with the samples makes a step in each of its cycles; a few left-over places, and those near
    /// the events themselves, take nothing away.
    #[test]
    fn many_steps_that_are_no_event_are_ripple() {
        let walk = [(EventKind::Start, 100), (EventKind::Stop, 400)];
        let left_out = |many: usize, gain: f64| {
            let each = (0..many).map(|i| (EventKind::Stop, 140 + 40 * i, gain));
            let own = walk.map(|(kind, at)| (kind, at + NEAR, 20.0));
            let gains: Vec<_> = each.chain(own).collect();
            rippled(&walk, &Evidence::made(POINTS, &gains))
        };
        assert!(left_out(4, COSTS + 1.0));
        assert!(!left_out(3, COSTS + 1.0));
        assert!(!left_out(6, COSTS - 1.0));
    }

    /// A step says where; what is likely over more points than can be told is no answer.
    #[test]
    fn an_event_lies_where_it_is_likely() {
        let seen = seen(&[(300, POINTS)], &[]);
        let bounds = |gains: &[(EventKind, usize, f64)]| {
            let evidence = Evidence::made(POINTS, gains);
            place(&likeliest(&seen, &evidence), 0, &seen.runs, &evidence)
        };
        let (middle, within) = bounds(&[(EventKind::Start, 240, 20.0)]).unwrap();
        assert!(
            (middle - 240.5).abs() < 0.1 && (within - 1.5).abs() < 0.1,
            "{middle} {within}"
        );
        let wide: Vec<_> = (230..251).map(|at| (EventKind::Start, at, 12.0)).collect();
        let (middle, within) = bounds(&wide).unwrap();
        assert!(
            (middle - 240.5).abs() < 0.6 && (within - 9.5).abs() < 0.6,
            "{middle} {within}"
        );
        let wider: Vec<_> = (180..251).map(|at| (EventKind::Start, at, 12.0)).collect();
        assert!(bounds(&wider).is_none());
    }
}
