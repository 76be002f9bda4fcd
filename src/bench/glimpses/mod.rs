//! Starts and stops where the samples of OUT meet its pulses only now and then: a high sample says that it
//! runs, the step of VCC says since when and until when.
//!
//! A walk through stopped and running, point by point, has to run where OUT is high; where its high samples
//! return evenly it has to stand where they stay away. Each start and stop costs, and earns what VCC
//! speaks for a step there.

mod steps;
mod walk;

use crate::data::{Event, EventKind, Role};

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

/// What a point is known to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Known {
    Running,
    Stopped,
    Open,
}

/// Starts and stops of capture `index` by both; empty where they don't tell.
pub(super) fn find(index: usize, vcc: &Trace<'_>, seen: &Glimpses) -> Vec<Event> {
    let together = vcc.blocks().div_ceil(MOST_POINTS).max(1);
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
    let known = known(points, seen, point_of);
    let mut evidence = Evidence::of(&means, vcc.resolution());
    evidence.keep(|kind, at| fits(kind, at, &known));
    let unseen = Unseen::of(&known);
    evidence.add(|kind, at| unseen.speaks_for(kind, at));
    let walk = likeliest(&known, &evidence);
    if !apart(&walk, &means) {
        return Vec::new();
    }
    let event = |k: usize| {
        let (kind, _) = walk[k];
        let (middle, within) = place(&walk, k, &known, &evidence)?;
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
fn known(points: usize, seen: &Glimpses, point_of: impl Fn(f64) -> usize) -> Vec<Known> {
    let start = if seen.usual_s.is_some() {
        Known::Stopped
    } else {
        Known::Open
    };
    let mut known = vec![start; points];
    let mut mark = |from_s: f64, to_s: f64, as_known: Known| {
        let range = point_of(from_s).min(points)..(point_of(to_s) + 1).min(points);
        known[range].fill(as_known);
    };
    if let Some(usual_s) = seen.usual_s {
        let away = AWAY * usual_s;
        seen.high_s
            .iter()
            .for_each(|(from, to)| mark(from - away, to + away, Known::Open));
    }
    seen.high_s
        .iter()
        .for_each(|(from, to)| mark(*from, *to, Known::Running));
    known
}

/// How many points in a row pulses stay unseen while it runs.
struct Unseen {
    /// The logarithm of the share of high points after which so many are low, at least.
    shares: Vec<f64>,
    /// The points of which one sees it run.
    high: Vec<usize>,
}

impl Unseen {
    fn of(known: &[Known]) -> Self {
        let high: Vec<usize> = (0..known.len())
            .filter(|i| known[*i] == Known::Running)
            .collect();
        let mut longer: Vec<f64> = vec![0.0; known.len() + 1];
        high.windows(2)
            .for_each(|pair| longer[pair[1] - pair[0] - 1] += 1.0);
        for i in (0..known.len()).rev() {
            longer[i] += longer[i + 1];
        }
        let all = longer[0].max(1.0);
        let share = |n: f64| (n.max(UNSEEN_EVER) / all).min(1.0).ln();
        Self {
            shares: longer.into_iter().map(share).collect(),
            high,
        }
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

/// Does what is known of the points beside it leave room for an event?
fn fits(kind: EventKind, at: usize, known: &[Known]) -> bool {
    let before = at.checked_sub(1).map_or(Known::Open, |i| known[i]);
    match kind {
        EventKind::Start => before != Known::Running && known[at] != Known::Stopped,
        EventKind::Stop => before != Known::Stopped && known[at] != Known::Running,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two of five points are high, at the beginning of each five: a start lies one, two or three points inside
    /// its run half as often as none (renewal theory: as often as pauses are longer).
    #[test]
    fn pauses_say_how_far_inside_its_run_a_pulse_is_first_seen() {
        let mut known = vec![Known::Open; 200];
        (100..200)
            .filter(|i| i % 5 < 2)
            .for_each(|i| known[i] = Known::Running);
        let unseen = Unseen::of(&known);
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
}
