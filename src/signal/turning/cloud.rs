//! Samples of many cycles, laid over each other on their falling edges.

use crate::data::Channel;
use crate::signal::period::Lattice;

/// Levels over distances from a falling edge, in samples.
pub(super) type Points = Vec<(f64, f64)>;

/// Samples of all cycles, at their distance from the falling edge.
#[derive(Default)]
pub(super) struct Cloud {
    /// Every sample, from half-way up one rise to half-way up the next.
    pub(super) all: Points,
    /// Those that lie well before the highest of their cycle.
    pub(super) before: Points,
    /// Those between the highest and the lowest, near half-way.
    pub(super) fall: Points,
    /// Those well after the lowest.
    pub(super) after: Points,
    /// All samples near the falls.
    pub(super) near: Points,
    /// Half-width within which the origins lie, in samples, where the falls are steps.
    pub(super) doubt: f64,
    /// Cycles laid over each other.
    pub(super) cycles: usize,
    lengths: f64,
    reaches: (f64, f64),
}

impl Cloud {
    /// Reads cycles, given by the rising edge before, the falling edge and the rising edge after; the
    /// origins lie on the falling edges, or where the lattice puts them.
    pub(super) fn of(
        channel: &Channel,
        cycles: &[(f64, f64, f64)],
        lattice: Option<Lattice>,
    ) -> Self {
        let mut cloud = Self {
            doubt: lattice.map_or(0.5, |l| l.within),
            ..Self::default()
        };
        for cycle in cycles {
            let origin = lattice.map_or(cycle.1, |l| l.nearest(cycle.1));
            cloud.add(channel, *cycle, origin);
        }
        cloud
    }

    fn add(
        &mut self,
        channel: &Channel,
        (rise_before, fall, rise_after): (f64, f64, f64),
        origin: f64,
    ) {
        let start = rise_before.ceil() as usize;
        let values = channel.valid_slice(start..rise_after.floor() as usize + 1);
        let edge = (fall.floor() as usize + 1).saturating_sub(start);
        if edge < 4 || edge + 2 > values.len() || values.iter().any(|v| v.is_nan()) {
            return;
        }
        let top = index_of(&values[..edge], |a, b| a > b);
        let bottom = edge + index_of(&values[edge..], |a, b| a < b);
        let point = |index: usize| ((start + index) as f64 - origin, values[index]);
        let rise_to = bottom + (values.len() - bottom) * 7 / 8;
        // noise may put the largest sample before the corner: keep to the middle of the fall
        let (low, high) = (values[bottom], values[top]);
        let inner = |i: &usize| (0.15..0.85).contains(&((values[*i] - low) / (high - low)));
        self.all.extend((0..values.len()).map(point));
        self.before
            .extend((top / 4..top.saturating_sub(1)).map(point));
        self.fall.extend((top + 1..bottom).filter(inner).map(point));
        self.after.extend((bottom + 2..rise_to).map(point));
        let around = edge.saturating_sub(6)..(edge + 6).min(values.len());
        self.near.extend(around.map(point));
        self.lengths += (bottom - top) as f64;
        self.reaches.0 += rise_before - origin;
        self.reaches.1 += rise_after - origin;
        self.cycles += 1;
    }

    /// Mean number of samples from the highest to the lowest of a cycle; NaN without a cycle.
    pub(super) fn mean_length(&self) -> f64 {
        self.lengths / self.cycles as f64
    }

    /// Mean distance of the rising edges before and after from the falling edge; NaN without a cycle.
    pub(super) fn reach(&self) -> (f64, f64) {
        let n = self.cycles as f64;
        (self.reaches.0 / n, self.reaches.1 / n)
    }

    /// Samples whose distance from the falling edge lies between the two given.
    pub(super) fn within(&self, from: f64, to: f64) -> Points {
        let inside = |p: &&(f64, f64)| from < p.0 && p.0 < to;
        self.all.iter().filter(inside).copied().collect()
    }
}

fn index_of(values: &[f64], better: fn(f64, f64) -> bool) -> usize {
    let mut best = 0;
    for (index, value) in values.iter().enumerate() {
        if better(*value, values[best]) {
            best = index;
        }
    }
    best
}
