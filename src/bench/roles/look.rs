//! What a channel looks like, in true volts, from its facts alone.

use crate::data::text::engineering;
use crate::data::{Role, Unit};

use super::super::trace::Trace;

/// Most edges looked at.
const EDGES: usize = 2000;

/// What a channel looks like, in true volts.
#[derive(Debug, Clone)]
pub(super) struct Look {
    pub channel: usize,
    /// Letters and digits of its name, in capitals.
    name: String,
    pub volts: bool,
    pub low: f64,
    pub high: f64,
    pub mean: f64,
    pub flat: bool,
    pub gap: bool,
    pub low_state: f64,
    pub high_state: f64,
    /// Quantiles of what lies above the gap.
    pub active: (f64, f64),
    pub edges: usize,
    /// Median duration of the shorter of both states, in seconds and in samples.
    pub width_s: f64,
    pub width_samples: f64,
    /// Share of the blocks whose mean lies well between the extremes.
    pub between: f64,
    pub blocks: usize,
    pub span_s: f64,
    /// Rising and falling edges, sample positions.
    pub rising: Vec<f64>,
    pub falling: Vec<f64>,
    /// Means of the blocks, and samples in a block.
    means: Vec<f64>,
    block_size: usize,
}

impl Look {
    pub fn of(trace: Trace<'_>) -> Self {
        let facts = trace.facts();
        let quantile = |q| trace.true_of(facts.histogram.quantile(q));
        let (low, high) = (quantile(0.005), quantile(0.995));
        let pulses = trace.pulses();
        let width = pulses.map_or(f64::NAN, |p| {
            median_width(&p.rising, &p.falling).min(median_width(&p.falling, &p.rising))
        });
        let margin = 0.15 * (high - low);
        let means: Vec<f64> = (0..trace.blocks()).map(|b| trace.block_mean(b)).collect();
        let inside = low + margin..high - margin;
        let between = means.iter().filter(|m| inside.contains(*m)).count();
        let kept = |edges: &[f64]| edges.iter().take(EDGES).copied().collect();
        Self {
            channel: trace.index,
            name: plain(&trace.channel.name),
            volts: matches!(trace.channel.unit, Unit::Volt | Unit::Unknown),
            low,
            high,
            mean: trace.true_of(facts.mean),
            flat: pulses.is_none(),
            gap: pulses.is_some_and(|p| p.gap),
            low_state: pulses.map_or(f64::NAN, |p| trace.true_of(p.low)),
            high_state: pulses.map_or(f64::NAN, |p| trace.true_of(p.high)),
            active: pulses.map_or((f64::NAN, f64::NAN), |p| active(&trace, p.threshold)),
            edges: pulses.map_or(0, crate::data::Pulses::edges),
            width_s: width * trace.interval_s(),
            width_samples: width,
            between: between as f64 / trace.blocks().max(1) as f64,
            blocks: trace.blocks(),
            span_s: trace.span_s(),
            rising: pulses.map_or(Vec::new(), |p| kept(&p.rising)),
            falling: pulses.map_or(Vec::new(), |p| kept(&p.falling)),
            means,
            block_size: trace.block_size().max(1),
        }
    }

    /// The same channel if its probe had this factor.
    pub fn scaled(&self, factor: f64) -> Self {
        let mut made = self.clone();
        for value in [
            &mut made.low,
            &mut made.high,
            &mut made.mean,
            &mut made.low_state,
            &mut made.high_state,
            &mut made.active.0,
            &mut made.active.1,
        ] {
            *value *= factor;
        }
        made.means.iter_mut().for_each(|m| *m *= factor);
        made
    }

    pub fn words(&self) -> String {
        if !self.mean.is_finite() {
            "no sample holds a number".to_owned()
        } else if self.flat {
            format!("steady at {}", volts(self.mean))
        } else {
            format!(
                "moving between {} and {}",
                volts(self.low),
                volts(self.high)
            )
        }
    }

    /// Do its states last no longer than pulses of a switching supply can?
    pub fn fast_pulses(&self) -> bool {
        self.edges >= 6 && (self.width_s < 200e-6 || self.width_samples <= 3.0)
    }

    /// Does it step a few times between two levels, and stay?
    pub fn steps(&self) -> bool {
        self.gap && self.edges >= 1 && !self.fast_pulses()
    }

    /// Its level around a sample position, from the block means before it.
    pub fn level_before(&self, position: f64) -> Option<f64> {
        let block = (position.max(0.0) as usize / self.block_size).saturating_sub(1);
        self.means.get(block).copied().filter(|m| m.is_finite())
    }

    /// Median delay of this channel's rising and falling edges behind the nearest of another, in
    /// samples, where most of its edges have one within a quarter of a cycle.
    pub fn delays(&self, other: &Look) -> Option<(f64, f64)> {
        Some((
            delay(&other.rising, &self.rising)?,
            delay(&other.falling, &self.falling)?,
        ))
    }

    /// Is the name that of this pin or node?
    pub fn is_named(&self, role: Role) -> bool {
        let words: &[&str] = match role {
            Role::Vcc => &["VCC", "VDD", "PIN7"],
            Role::Vref => &["VREF", "REF", "PIN8"],
            Role::RtCt => &["RTCT", "RCT", "OSC", "PIN4"],
            Role::Out => &["OUT", "DRV", "PIN6"],
            Role::Gate => &["GATE"],
            Role::Cs => &["CS", "ISENSE", "PIN3"],
            Role::Comp => &["COMP", "PIN1"],
            Role::Fb => &["FB", "VFB", "PIN2"],
            Role::Bulk => &["BULK", "VBULK"],
            Role::Aux => &["AUX"],
            Role::Output => &["OUTPUT", "VOUT"],
            Role::Other => &[],
        };
        words.contains(&self.name.as_str())
    }
}

pub(super) fn volts(value: f64) -> String {
    engineering(value, Unit::Volt, 3)
}

fn plain(name: &str) -> String {
    name.chars()
        .filter(char::is_ascii_alphanumeric)
        .map(|c| c.to_ascii_uppercase())
        .collect()
}

/// Median distance from the nearest of `from` to each of `to`; none where the edges do not go
/// together.
fn delay(from: &[f64], to: &[f64]) -> Option<f64> {
    let span = from.last()? - from.first()?;
    let cycle = span / (from.len().checked_sub(1).filter(|n| *n > 0)? as f64);
    let mut distances: Vec<f64> = to
        .iter()
        .filter_map(|edge| {
            let next = from.partition_point(|f| f < edge);
            let around = [next.checked_sub(1), Some(next)];
            around
                .into_iter()
                .flatten()
                .filter_map(|i| from.get(i))
                .map(|f| edge - f)
                .min_by(|a, b| a.abs().total_cmp(&b.abs()))
        })
        .filter(|d| d.abs() < 0.25 * cycle)
        .collect();
    (10 * distances.len() >= 8 * to.len() && distances.len() >= 3)
        .then(|| crate::signal::stats::median(&mut distances))
}

/// Median distance from each of `from` to the next of `to`.
fn median_width(from: &[f64], to: &[f64]) -> f64 {
    let mut widths: Vec<f64> = from
        .iter()
        .take(EDGES)
        .filter_map(|start| {
            let next = to.partition_point(|t| t < start);
            to.get(next).map(|end| end - start)
        })
        .collect();
    crate::signal::stats::median(&mut widths)
}

/// The 2 % and 98 % quantiles of what lies above the threshold, true volts.
fn active(trace: &Trace<'_>, threshold: f64) -> (f64, f64) {
    let upper = above(&trace.facts().histogram, threshold);
    (
        trace.true_of(upper.quantile(0.02)),
        trace.true_of(upper.quantile(0.98)),
    )
}

/// The part of a histogram above a level.
pub(in super::super) fn above(
    histogram: &crate::data::Histogram,
    level: f64,
) -> crate::data::Histogram {
    let mut upper = histogram.clone();
    for index in 0..upper.counts.len() {
        if upper.middle(index) < level {
            upper.counts[index] = 0;
        }
    }
    upper
}
