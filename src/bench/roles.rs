//! Roles proposed from the waveforms alone, with the reason in words.

use crate::data::text::engineering;
use crate::data::{InspectedCapture, Proposed, Role, Unit};

use super::trace::Trace;

/// A role that a channel might have.
#[derive(Debug, Clone)]
struct Claim {
    channel: usize,
    role: Role,
    score: f64,
    reason: String,
}

/// Scores closer than this count as equal.
const CLOSE: f64 = 0.1;

/// Proposes roles for the channels whose role the user did not set. A role goes to one channel of
/// a capture; where two claim it with about the same right, neither gets it.
pub fn propose(shot: &mut InspectedCapture) {
    let looks: Vec<Look> = (0..shot.channels.len())
        .map(|i| Look::of(Trace::new(shot, i)))
        .collect();
    let mut claims: Vec<Claim> = looks
        .iter()
        .flat_map(|look| claims_of(look, &looks))
        .collect();
    claims.retain(|c| shot.channels[c.channel].role.value.is_none());
    let taken: Vec<Role> = shot.channels.iter().filter_map(|c| c.role.value).collect();
    claims.retain(|c| !taken.contains(&c.role));
    claims.sort_by(|a, b| b.score.total_cmp(&a.score));
    for (channel, look) in shot.channels.iter_mut().zip(&looks) {
        if channel.role.value.is_none() {
            channel.role = decide(look.channel, &claims, look);
        }
    }
}

fn decide(channel: usize, claims: &[Claim], look: &Look) -> Proposed<Role> {
    let mut own = claims.iter().filter(|c| c.channel == channel);
    let Some(best) = own.next() else {
        return Proposed::unknown(format!("can't tell: {}", look.words()));
    };
    if let Some(second) = own.find(|c| best.score - c.score < CLOSE && c.role != best.role) {
        return Proposed::unknown(format!(
            "can't tell: {} fits {} and {}",
            look.words(),
            best.role.title(),
            second.role.title()
        ));
    }
    // a channel that fits another role better is no rival
    let first_choice = |c: &&Claim| {
        claims
            .iter()
            .find(|o| o.channel == c.channel)
            .is_some_and(|o| o.role == c.role)
    };
    let rival = claims
        .iter()
        .filter(first_choice)
        .find(|c| c.role == best.role && c.channel != channel && c.score > best.score - CLOSE);
    match rival {
        Some(rival) => Proposed::unknown(format!(
            "can't tell: channels {} and {} both look like {}",
            channel.min(rival.channel) + 1,
            channel.max(rival.channel) + 1,
            best.role.title()
        )),
        None => Proposed::because(best.role, best.reason.clone()),
    }
}

/// What a channel looks like, in true volts.
#[derive(Debug, Clone)]
struct Look {
    channel: usize,
    volts: bool,
    low: f64,
    high: f64,
    mean: f64,
    flat: bool,
    gap: bool,
    low_state: f64,
    high_state: f64,
    /// Quantiles of what lies above the gap.
    active: (f64, f64),
    edges: usize,
    /// Median duration of the shorter of both states, in seconds and in samples.
    width_s: f64,
    width_samples: f64,
    /// Share of the blocks whose mean lies well between the extremes.
    between: f64,
    blocks: usize,
    span_s: f64,
}

impl Look {
    fn of(trace: Trace<'_>) -> Self {
        let facts = trace.facts();
        let quantile = |q| trace.true_of(facts.histogram.quantile(q));
        let (low, high) = (quantile(0.005), quantile(0.995));
        let pulses = trace.pulses();
        let width = pulses.map_or(f64::NAN, |p| {
            median_width(&p.rising, &p.falling).min(median_width(&p.falling, &p.rising))
        });
        let margin = 0.15 * (high - low);
        let between = (0..trace.blocks())
            .filter(|b| (low + margin..high - margin).contains(&trace.block_mean(*b)))
            .count();
        let state = |raw: f64| trace.true_of(raw);
        Self {
            channel: trace.index,
            volts: matches!(trace.channel.unit, Unit::Volt | Unit::Unknown),
            low,
            high,
            mean: trace.true_of(facts.mean),
            flat: pulses.is_none(),
            gap: pulses.is_some_and(|p| p.gap),
            low_state: pulses.map_or(f64::NAN, |p| state(p.low)),
            high_state: pulses.map_or(f64::NAN, |p| state(p.high)),
            active: pulses.map_or((f64::NAN, f64::NAN), |p| active(&trace, p.threshold)),
            edges: pulses.map_or(0, crate::data::Pulses::edges),
            width_s: width * trace.interval_s(),
            width_samples: width,
            between: between as f64 / trace.blocks().max(1) as f64,
            blocks: trace.blocks(),
            span_s: trace.span_s(),
        }
    }

    fn words(&self) -> String {
        let v = |x: f64| engineering(x, Unit::Volt, 3);
        if self.flat {
            format!("steady at {}", v(self.mean))
        } else {
            format!("moving between {} and {}", v(self.low), v(self.high))
        }
    }

    /// Do its high states last no longer than pulses of a switching supply can?
    fn fast_pulses(&self) -> bool {
        self.edges >= 6 && (self.width_s < 200e-6 || self.width_samples <= 3.0)
    }
}

/// Median distance from each of `from` to the next of `to`.
fn median_width(from: &[f64], to: &[f64]) -> f64 {
    let mut widths: Vec<f64> = from
        .iter()
        .take(2000)
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
pub(super) fn above(histogram: &crate::data::Histogram, level: f64) -> crate::data::Histogram {
    let mut upper = histogram.clone();
    for index in 0..upper.counts.len() {
        if upper.middle(index) < level {
            upper.counts[index] = 0;
        }
    }
    upper
}

fn claims_of(look: &Look, all: &[Look]) -> Vec<Claim> {
    if !look.volts || !look.mean.is_finite() {
        return Vec::new();
    }
    let claim = |role, (score, reason)| Claim {
        channel: look.channel,
        role,
        score,
        reason,
    };
    [
        vref(look).map(|c| claim(Role::Vref, c)),
        rtct(look).map(|c| claim(Role::RtCt, c)),
        out(look).map(|c| claim(Role::Out, c)),
        vcc(look, all).map(|c| claim(Role::Vcc, c)),
        bulk(look).map(|c| claim(Role::Bulk, c)),
        output(look, all).map(|c| claim(Role::Output, c)),
        cs(look).map(|c| claim(Role::Cs, c)),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// VREF is 5 V in this family (SLUS223G and all others): 4.9 to 5.1 V, wider here by what an
/// uncalibrated channel may add.
fn vref(look: &Look) -> Option<(f64, String)> {
    let v = |x: f64| engineering(x, Unit::Volt, 3);
    if look.gap
        && (look.high_state - 5.0).abs() < 0.4
        && look.low_state.abs() < 1.0
        && !look.fast_pulses()
    {
        let reason = format!(
            "steps between {} and {}, as a 5 V reference",
            v(look.low_state),
            v(look.high_state)
        );
        return (look.high < 5.7).then_some((0.95, reason));
    }
    if !look.flat
        && !look.gap
        && (look.high - 5.0).abs() < 0.4
        && look.low.abs() < 0.7
        && !look.fast_pulses()
        && look.between < 0.5
    {
        return Some((
            0.6,
            format!(
                "rises to {} and falls back, as a 5 V reference",
                v(look.high)
            ),
        ));
    }
    (look.flat && (look.mean - 5.0).abs() < 0.3).then(|| {
        (
            0.7,
            format!("steady at {}, as a 5 V reference", v(look.mean)),
        )
    })
}

/// The bipolar ramp runs from about 1.0 to 2.7 V (SLUS223G 8.3.6), the CMOS one from 0.7 to 2.5 V.
fn rtct(look: &Look) -> Option<(f64, String)> {
    let v = |x: f64| engineering(x, Unit::Volt, 3);
    let fits = |low: f64, high: f64| (0.5..1.6).contains(&low) && (2.1..3.3).contains(&high);
    if !look.gap && !look.flat && fits(look.low, look.high) && look.edges >= 6 {
        return Some((
            0.9,
            format!("ramp between {} and {}", v(look.low), v(look.high)),
        ));
    }
    (look.gap && look.low_state.abs() < 0.35 && fits(look.active.0, look.active.1)).then(|| {
        (
            0.9,
            format!(
                "near 0 V while stopped, spread from {} to {} while running",
                v(look.active.0),
                v(look.active.1)
            ),
        )
    })
}

fn out(look: &Look) -> Option<(f64, String)> {
    let v = |x: f64| engineering(x, Unit::Volt, 3);
    let levels = (-1.5..1.8).contains(&look.low_state) && (5.6..32.0).contains(&look.high_state);
    (look.gap && levels && look.fast_pulses()).then(|| {
        (
            0.85,
            format!(
                "pulses between {} and {}",
                v(look.low_state),
                v(look.high_state)
            ),
        )
    })
}

fn vcc(look: &Look, all: &[Look]) -> Option<(f64, String)> {
    let v = |x: f64| engineering(x, Unit::Volt, 3);
    if !(6.3..34.0).contains(&look.high) || look.low < -1.5 || look.fast_pulses() {
        return None;
    }
    if look.flat {
        let driver = all
            .iter()
            .find(|o| o.channel != look.channel && out(o).is_some())?;
        let over = look.mean - driver.high_state;
        return (-0.6..3.2).contains(&over).then(|| {
            (
                0.8,
                format!(
                    "steady at {}, {} above the pulses of channel {}",
                    v(look.mean),
                    v(over),
                    driver.channel + 1
                ),
            )
        });
    }
    let slow =
        look.between > 0.03 && look.between * look.blocks as f64 > 15.0 && look.span_s > 0.02;
    (slow && look.high - look.low > 0.4).then(|| {
        (
            0.8,
            format!(
                "climbs and falls slowly between {} and {}",
                v(look.low),
                v(look.high)
            ),
        )
    })
}

fn bulk(look: &Look) -> Option<(f64, String)> {
    (look.mean > 60.0).then(|| {
        (
            0.8,
            format!(
                "{}, as rectified mains",
                engineering(look.mean, Unit::Volt, 3)
            ),
        )
    })
}

/// A step that stays, beside a channel that climbs as VCC does.
fn output(look: &Look, all: &[Look]) -> Option<(f64, String)> {
    let steps = look.gap
        && look.low_state.abs() < 1.0
        && (1.5..60.0).contains(&look.high_state)
        && look.edges <= 2
        && !look.fast_pulses();
    let beside = all
        .iter()
        .any(|o| o.channel != look.channel && vcc(o, all).is_some());
    (steps && beside && look.between < 0.05 && vref(look).is_none()).then(|| {
        (
            0.5,
            format!(
                "comes up to {} and stays",
                engineering(look.high_state, Unit::Volt, 3)
            ),
        )
    })
}

/// The current-sense pin is limited to 1.0 V (SLUS223G, 0.9 to 1.1 V).
fn cs(look: &Look) -> Option<(f64, String)> {
    let levels = (0.25..1.5).contains(&look.high) && (-0.3..0.2).contains(&look.low);
    (!look.flat && levels && look.fast_pulses()).then(|| {
        (
            0.5,
            format!("pulses up to {}", engineering(look.high, Unit::Volt, 3)),
        )
    })
}
