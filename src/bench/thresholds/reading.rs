//! VCC at one event: a line through the samples before it, the ripple about the line, a stair.

use crate::data::EventKind;
use crate::signal::{Line, stats};

use super::super::course::{self, Course, Hand};
use super::cycles;
use super::lead::Lead;
use super::ripple::{self, Ripple, Scatter};
use super::sampled::Sampled;
use super::spikes::Spikes;
use super::stairs::Stair;
use super::tone::Tone;
use super::wave::Wave;

/// Fewest samples of a line before an event.
pub(super) const FEWEST_SAMPLES: usize = 5;

/// VCC at one event.
#[derive(Debug, Clone)]
pub(in crate::bench) struct Reading {
    /// Start or stop.
    pub kind: EventKind,
    /// The fitted line at the event: what a multimeter would have shown.
    pub mean_v: f64,
    /// What of the scatter about the line is ripple.
    pub ripple: Ripple,
    /// Standard uncertainty of the line.
    pub u_fit: f64,
    /// Half-width of what VCC does within the interval in which the event lies.
    pub within_v: f64,
    /// Code steps that the line runs over.
    pub codes: f64,
    /// When, in seconds.
    pub at_s: f64,
    /// The landings between which it lies, where VCC comes in steps.
    pub stair: Option<Stair>,
    /// Does VCC leap between them at the event itself?
    pub(super) leap: bool,
    /// Spikes that were left out.
    pub(super) spikes: Option<Spikes>,
    /// Where the record holds extremes, mean half of what lies between them, and its standard uncertainty.
    pub half: Option<(f64, f64)>,
    /// What lies about the line, for the ripple.
    pub(super) scatter: Scatter,
}

impl Reading {
    /// What the comparator saw.
    pub fn seen(&self) -> f64 {
        match self.kind {
            EventKind::Start => self.mean_v + self.ripple.above_v,
            EventKind::Stop => self.mean_v - self.ripple.below_v,
        }
    }

    /// How far the ripple goes towards the side that the comparator acts on.
    pub fn ripple_v(&self) -> f64 {
        match self.kind {
            EventKind::Start => self.ripple.above_v,
            EventKind::Stop => self.ripple.below_v,
        }
    }
}

/// A line through the straight samples before the event.
pub(super) fn read(mut lead: Lead, sampled: &Sampled<'_>, hand: Hand) -> Option<Reading> {
    let (lowest, highest) = ends(lead.straight());
    if lead.tone.amplitude > highest - lowest {
        // laid through few samples, it shows nothing of them
        lead.tone = Tone::default();
        lead.clean = lead.straight().to_vec();
    }
    let times = &lead.times[lead.times.len() - lead.clean.len()..];
    let mut course = course::at_event(times, &lead.clean, sigma(&lead.clean, sampled), hand)?;
    let carried = carried(&lead.tone, course.line.count);
    let mut u_fit = course.u.hypot(carried).hypot(lead.u_bent);
    let within = |stair: &Stair| stair.high_v - stair.low_v < highest - lowest;
    let by_tone = || stair_of_tone(&lead.tone, &course).filter(within);
    let stair = lead.leap.or(lead.stair).or_else(by_tone);
    if stair.is_none()
        && let Some(through) = cycles::through(times, &lead, &course, sampled)
    {
        (course, u_fit) = (through, through.u);
        lead.clean = lead.straight().to_vec();
        lead.tone = Tone::default();
    }
    let times = &lead.times[lead.times.len() - lead.clean.len()..];
    let line = course.line;
    let straight = &lead.straight()[lead.straight - lead.clean.len()..];
    let about = |values: &[f64]| -> Vec<f64> {
        let from = values.len() - line.count.min(values.len());
        let left = times[from..]
            .iter()
            .zip(&values[from..])
            .map(|(t, v)| v - line.at(*t));
        left.filter(|r| r.is_finite()).collect()
    };
    let scatter = match &stair {
        Some(_) if lead.tone.amplitude > 0.0 => Scatter::default(),
        Some(stair) => Scatter::of_one(about_landing(straight, stair, sampled.noise())),
        None => Scatter {
            clean: about(&lead.clean),
            whole: about(straight),
            tone: lead.tone,
            wave: wave_of(&lead, &line, u_fit),
        },
    };
    let (low, high) = ends(straight);
    let by_slope = 0.5 * line.slope.abs() * lead.interval_s;
    Some(Reading {
        kind: lead.kind,
        mean_v: stair.map_or(course.value, |s| 0.5 * (s.low_v + s.high_v)),
        ripple: Ripple::default(),
        u_fit,
        within_v: line.slope.abs() * lead.within_s,
        codes: if sampled.code() > 0.0 {
            (high - low) / sampled.code()
        } else {
            f64::INFINITY
        },
        at_s: lead.at_s,
        stair,
        leap: lead.leap.is_some(),
        spikes: lead.spikes,
        half: lead.half.map(|(half, u)| ((half - by_slope).max(0.0), u)),
        scatter,
    })
}

/// Lowest and highest.
fn ends(values: &[f64]) -> (f64, f64) {
    let wider = |a: (f64, f64), v: &f64| (a.0.min(*v), a.1.max(*v));
    values.iter().fold((f64::MAX, f64::MIN), wider)
}

/// What an error of the tone that was taken out leaves in the line at the event: most of it where the line holds a
/// cycle or less, little where it holds many (sums of a sine by a line).
fn carried(tone: &Tone, samples: usize) -> f64 {
    let cycles = tone.cycles * samples as f64;
    if cycles > 0.0 {
        tone.u_phase * (1.0 / cycles).min(1.4)
    } else {
        0.0
    }
}

/// The tone of a lead as the comparator saw it.
fn wave_of(lead: &Lead, line: &Line, u_fit: f64) -> Option<Wave> {
    let tone = &lead.tone;
    let sign = lead.kind.way();
    let hertz = tone.cycles / lead.interval_s;
    let last = lead.times.last()?;
    let upside_down = if sign < 0.0 {
        std::f64::consts::PI
    } else {
        0.0
    };
    (tone.amplitude > 0.0).then(|| Wave {
        slope: sign * line.slope,
        amplitude: tone.amplitude,
        hertz,
        phase: tone.phase - std::f64::consts::TAU * hertz * last + upside_down,
        within_s: lead.within_s,
        u: u_fit.hypot(tone.u_phase),
    })
}

/// Landings about the course, where the tone is what a stair leaves about it.
fn stair_of_tone(tone: &Tone, course: &Course) -> Option<Stair> {
    let step = tone.of_stair()?;
    Some(Stair {
        low_v: course.value - 0.5 * step,
        high_v: course.value + 0.5 * step,
        u_v: course.u,
    })
}

/// Standard deviation of single levels: what scatters from one to the next, in few of them that of the record,
/// and what a code step adds where they show less.
pub(super) fn sigma(values: &[f64], sampled: &Sampled<'_>) -> f64 {
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let rounded = sampled.code() / 12.0_f64.sqrt();
    ripple::noise_square(&finite).map_or(sampled.grain(), |square| square.sqrt().max(rounded))
}

/// What scatters about the last landing of a stair: its steps are no ripple.
fn about_landing(values: &[f64], stair: &Stair, noise_v: f64) -> Vec<f64> {
    let half = 0.5 * (stair.high_v - stair.low_v);
    if half < 3.0 * noise_v {
        return Vec::new();
    }
    let mut last = values[values.len().saturating_sub(100)..].to_vec();
    let level = stats::median(&mut last);
    let mut near: Vec<f64> = values
        .iter()
        .copied()
        .filter(|v| (v - level).abs() < half)
        .collect();
    let mean = near.iter().sum::<f64>() / near.len().max(1) as f64;
    near.iter_mut().for_each(|v| *v -= mean);
    near
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Turned by 0.1 rad, a sine of 0.2 V leaves 0.02 V of itself: what a line through so many of its cycles makes
    /// of the rest at the event, whatever its phase.
    #[test]
    fn what_a_turned_tone_leaves_is_in_the_line() {
        for cycles in [0.5, 1.0, 2.0, 5.0, 12.0] {
            let samples = 400;
            let tone = Tone {
                cycles: cycles / samples as f64,
                u_phase: 0.02,
                ..Tone::default()
            };
            let at_event = |phase: f64| {
                let rest = |i: usize| {
                    let back = i as f64 - samples as f64;
                    (
                        back,
                        0.02 * (std::f64::consts::TAU * tone.cycles * back + phase).cos(),
                    )
                };
                Line::fit((0..samples).map(rest)).unwrap().at(0.0)
            };
            let square = (0..24).map(|k| at_event(0.2618 * f64::from(k)).powi(2));
            let rms = (square.sum::<f64>() / 24.0).sqrt();
            let found = carried(&tone, samples);
            assert!(
                (0.9 * rms..4.0 * rms).contains(&found),
                "{cycles}: {found} {rms}"
            );
        }
        assert!(carried(&Tone::default(), 400) <= 0.0);
    }
}
