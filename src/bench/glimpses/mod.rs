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
use walk::{apart, likeliest, place, rippled};

/// Points that a record is looked at in; of longer ones several blocks make a point.
const MOST_POINTS: usize = 2_000;
/// High samples that return evenly stay away for less than so many of their usual distances while it runs.
const AWAY: f64 = 2.0;
/// A pause longer than any between high points counts as so many of them.
const UNSEEN_EVER: f64 = 0.3;

/// Starts and stops of capture `index` by both; empty where they don't tell.
pub(super) fn find(index: usize, vcc: &Trace<'_>, seen: &Glimpses) -> Vec<Event> {
    let points = Points::of(vcc);
    let means = points.means();
    let mut runs = vec![false; points.count];
    for (from_s, to_s) in &seen.high_s {
        let after = (points.at(*to_s) + 1).min(points.count);
        runs[points.at(*from_s)..after].fill(true);
    }
    let mut evidence = Evidence::of(&means, vcc.resolution());
    let vcc_alone = evidence.clone();
    evidence.keep(|kind, at| fits(kind, at, &runs));
    let unseen = Unseen::of(&runs);
    evidence.add(|kind, at| unseen.speaks_for(kind, at));
    let away = seen.usual_s.map(|usual_s| AWAY * usual_s / points.each_s());
    let costs = away.map(|away| unseen.costs(&runs, away.ceil() as usize));
    let seen = Seen {
        costs: costs.unwrap_or_else(|| vec![0.0; points.count]),
        runs,
    };
    let walk = likeliest(&seen, &evidence);
    if !apart(&walk, &means) || rippled(&walk, &vcc_alone) {
        return Vec::new();
    }
    let event = |k: usize| {
        let (kind, _) = walk[k];
        let (middle, within) = place(&walk, k, &seen.runs, &evidence)?;
        Some(Event {
            capture: index,
            kind,
            at_s: points.time(middle),
            within_s: within * points.each_s(),
            witness: Role::Vcc,
            vcc: None,
            why_no_vcc: None,
        })
    };
    (0..walk.len()).filter_map(event).collect()
}

/// Blocks of VCC, some to a point.
struct Points<'a> {
    vcc: &'a Trace<'a>,
    together: usize,
    count: usize,
}

impl<'a> Points<'a> {
    fn of(vcc: &'a Trace<'a>) -> Self {
        let mut together = vcc.blocks().div_ceil(MOST_POINTS).max(1);
        if vcc.channel.kind == SampleKind::MinMaxPair {
            together = together.next_multiple_of(2);
        }
        Self {
            vcc,
            together,
            count: vcc.blocks().div_ceil(together),
        }
    }

    fn means(&self) -> Vec<f64> {
        let mean = |point: usize| {
            let first = point * self.together;
            let last = (first + self.together).min(self.vcc.blocks());
            let sum: f64 = (first..last).map(|b| self.vcc.block_mean(b)).sum();
            sum / (last - first) as f64
        };
        (0..self.count).map(mean).collect()
    }

    fn samples(&self) -> usize {
        self.together * self.vcc.block_size()
    }

    fn each_s(&self) -> f64 {
        self.samples() as f64 * self.vcc.interval_s()
    }

    /// The point of the sample nearest to a time; their number after the last.
    fn at(&self, time_s: f64) -> usize {
        let sample = time_s - 0.5 * self.vcc.interval_s();
        let point = self.vcc.channel.time.index_from(sample) / self.samples();
        point.min(self.count)
    }

    /// Time of a place between points; there must be one.
    fn time(&self, place: f64) -> f64 {
        let whole = place.max(0.0) as usize * self.together;
        let first = self.vcc.block_middle(whole.min(self.vcc.blocks() - 1));
        self.vcc.time(first + place.fract() * self.samples() as f64)
    }
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
