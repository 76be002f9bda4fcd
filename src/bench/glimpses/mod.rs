//! Starts and stops where the samples of OUT meet its pulses only now and then: a high sample says that it
//! runs, the step of VCC says since when and until when.
//!
//! A walk through stopped and running, point by point, has to run where OUT is high; where its high samples
//! return evenly it costs to run where they stay away. Each start and stop costs, and earns what VCC
//! speaks for a step there.

mod steps;
mod walk;

use crate::data::{Event, EventKind, Role, SampleKind};

use super::activity::Glimpses;
use super::trace::Trace;
use steps::Evidence;
use walk::{apart, likeliest, place};

/// Points that a record is looked at in; of longer ones several blocks make a point.
const MOST_POINTS: usize = 2_000;
/// High samples that return evenly stay away for less than so many of their usual distances while it runs.
const AWAY: f64 = 2.0;
/// A pause longer than any between high points counts as so many of them.
const UNSEEN_EVER: f64 = 0.3;

/// Starts and stops of capture `index` by both; empty where they don't tell.
pub(super) fn find(index: usize, vcc: &Trace<'_>, seen: &Glimpses) -> Vec<Event> {
    let mut together = vcc.blocks().div_ceil(MOST_POINTS).max(1);
    if vcc.channel.kind == SampleKind::MinMaxPair {
        together = together.next_multiple_of(2);
    }
    let points = vcc.blocks().div_ceil(together);
    let blocks = |point: usize| point * together..((point + 1) * together).min(vcc.blocks());
    let mean = |point: usize| {
        let range = blocks(point);
        let count = range.len() as f64;
        range.map(|b| vcc.block_mean(b)).sum::<f64>() / count
    };
    let means: Vec<f64> = (0..points).map(mean).collect();
    let position = |point: f64| {
        let block = vcc.block_middle((point.max(0.0) as usize * together).min(vcc.blocks() - 1));
        block + point.fract() * (together * vcc.block_size()) as f64
    };
    // the nearest sample, whose time a rounding may put before or after
    let nearest = |time_s: f64| vcc.channel.time.index_from(time_s - 0.5 * vcc.interval_s());
    let point_of = |time_s: f64| nearest(time_s) / (together * vcc.block_size());
    let point_of = |time_s: f64| point_of(time_s).min(points);
    let mut runs = vec![false; points];
    for (from_s, to_s) in &seen.high_s {
        runs[point_of(*from_s)..(point_of(*to_s) + 1).min(points)].fill(true);
    }
    let mut evidence = Evidence::of(&means, vcc.resolution());
    evidence.keep(|kind, at| fits(kind, at, &runs));
    let unseen = Unseen::of(&runs);
    evidence.add(|kind, at| unseen.speaks_for(kind, at));
    let point_s = (together * vcc.block_size()) as f64 * vcc.interval_s();
    let away = seen
        .usual_s
        .map(|usual_s| (AWAY * usual_s / point_s).ceil() as usize);
    let seen = Seen {
        costs: away.map_or_else(|| vec![0.0; points], |away| unseen.costs(&runs, away)),
        runs,
    };
    let walk = likeliest(&seen, &evidence);
    if !apart(&walk, &means) {
        return Vec::new();
    }
    let event = |k: usize| {
        let (kind, _) = walk[k];
        let (middle, within) = place(&walk, k, &seen.runs, &evidence)?;
        Some(Event {
            capture: index,
            kind,
            at_s: vcc.time(position(middle)),
            within_s: within * (together * vcc.block_size()) as f64 * vcc.interval_s(),
            witness: Role::Vcc,
            vcc: None,
        })
    };
    (0..walk.len()).filter_map(event).collect()
}

/// What OUT says of each point.
struct Seen {
    /// It runs there.
    runs: Vec<bool>,
    /// What it costs to run there.
    costs: Vec<f64>,
}

/// How many points in a row pulses stay unseen while it runs.
struct Unseen {
    /// The logarithm of the share of high points after which so many are low, at least.
    shares: Vec<f64>,
    /// The points of which one sees it run.
    high: Vec<usize>,
}

impl Unseen {
    fn of(runs: &[bool]) -> Self {
        let high: Vec<usize> = (0..runs.len()).filter(|i| runs[*i]).collect();
        let mut longer: Vec<f64> = vec![0.0; runs.len() + 1];
        high.windows(2)
            .for_each(|pair| longer[pair[1] - pair[0] - 1] += 1.0);
        for i in (0..runs.len()).rev() {
            longer[i] += longer[i + 1];
        }
        let all = longer[0].max(1.0);
        let share = |n: f64| (n.max(UNSEEN_EVER) / all).min(1.0).ln();
        Self {
            shares: longer.into_iter().map(share).collect(),
            high,
        }
    }

    /// What it costs to run where high points stay away for more than `away`, once a pause: at the point by which
    /// it should have been seen again, or before which it should have been seen.
    fn costs(&self, runs: &[bool], away: usize) -> Vec<f64> {
        let mut costs = vec![0.0; runs.len()];
        let cost = -self.shares[self.shares.len() - 1];
        let after = self.high.iter().map(|high| high + away);
        let overdue =
            after.filter(|at| *at < runs.len() && !runs[at - away + 1..=*at].contains(&true));
        let before = self.high.first().and_then(|first| first.checked_sub(away));
        overdue.chain(before).for_each(|at| costs[at] = cost);
        costs
    }

    /// The logarithm of the chance of an event at a point, by how far the next high point lies inside its run.
    fn speaks_for(&self, kind: EventKind, at: usize) -> f64 {
        let next = self.high.partition_point(|high| *high < at);
        let inside = match kind {
            EventKind::Start => self.high.get(next).map(|high| high - at),
            EventKind::Stop => next.checked_sub(1).map(|last| at - 1 - self.high[last]),
        };
        let all = self.shares.len() - 1;
        self.shares[inside.unwrap_or(all).min(all)]
    }
}

/// Is it not seen to run on the side of an event where it stands?
fn fits(kind: EventKind, at: usize, runs: &[bool]) -> bool {
    match kind {
        EventKind::Start => !at.checked_sub(1).is_some_and(|before| runs[before]),
        EventKind::Stop => !runs[at],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two of five points are high, at the beginning of each five: a start lies one, two or three points inside
    /// its run half as often as none (renewal theory: as often as pauses are longer).
    #[test]
    fn pauses_say_how_far_inside_its_run_a_pulse_is_first_seen() {
        let runs: Vec<bool> = (0..200).map(|i| i >= 100 && i % 5 < 2).collect();
        let unseen = Unseen::of(&runs);
        let share = |kind, at| unseen.speaks_for(kind, at).exp();
        assert!((share(EventKind::Start, 100) - 1.0).abs() < 1e-9);
        for inside in 1..4 {
            let share = share(EventKind::Start, 100 - inside);
            assert!((share - 0.5).abs() < 0.02, "{share}");
        }
        assert!(share(EventKind::Start, 96) < 0.01);
        assert!((share(EventKind::Stop, 197) - 1.0).abs() < 1e-9);
        assert!((share(EventKind::Stop, 199) - 0.5).abs() < 0.02);
        assert!(share(EventKind::Stop, 50) < 0.01);
    }

    /// Once for the time before the first, once after the last; pauses as long as the others cost nothing.
    #[test]
    fn a_pulse_that_stays_away_costs_once() {
        let runs: Vec<bool> = (0..300)
            .map(|i| (100..200).contains(&i) && i % 20 < 5)
            .collect();
        let costs = Unseen::of(&runs).costs(&runs, 30);
        let dear: Vec<usize> = (0..300).filter(|i| costs[*i] > 0.0).collect();
        assert_eq!(dear, [70, 214]);
        assert!(costs[70] > 3.0, "{}", costs[70]);
    }
}
