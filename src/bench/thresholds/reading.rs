//! VCC at one event: a line through the samples before it, the ripple about the line, a stair.

use crate::data::{Event, EventKind};
use crate::signal::{Line, stats};

use super::super::course::{self, Course, Hand};
use super::super::trace::Trace;
use super::lead::{self, Lead};
use super::ripple::{self, Noise, Ripple, Scatter};
use super::sampled::Sampled;
use super::stairs::Stair;
use super::tone::{self, Tone};
use super::unread::{self, Unread};
use super::wave::{self, Wave};
use super::{charge, common, cycles, extremes, hand, slow, unsteady};

/// Most samples in the line before an event.
const MOST_SAMPLES: usize = 3000;
/// So many samples are read before an event of any record that has them.
const ALWAYS: usize = 400;
/// Fewest of them.
pub(super) const FEWEST_SAMPLES: usize = 5;

/// A record of more samples than this is long: what is read of it near events is kept well below a
/// hundredth, by shorter lines where the events are many.
const LONG: usize = 500_000;
/// Of a shorter record one in so many samples is read.
const ONE_IN: usize = 4;
/// Fewest samples that a line is shortened to for that.
const SHORTEST_LINE: usize = 40;

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

/// Samples that the line before one of so many events may run over.
fn line_samples(samples: usize, events: usize) -> usize {
    if samples < LONG {
        return (samples / ONE_IN / events.max(1)).clamp(ALWAYS, MOST_SAMPLES);
    }
    (samples / 250 / events.max(1)).clamp(SHORTEST_LINE, ALWAYS)
}

/// The reading of each event, or why there is none.
pub(super) fn all(vcc: &Trace<'_>, events: &[Event]) -> Vec<Result<Reading, Unread>> {
    let sampled = Sampled::new(vcc);
    let most = line_samples(vcc.len(), events.len());
    let mut previous = f64::NEG_INFINITY;
    let mut leads: Vec<Option<Lead>> = Vec::with_capacity(events.len());
    let mut runs = Vec::with_capacity(events.len());
    let mut before = Vec::with_capacity(events.len());
    let mut hidden: Vec<Option<Unread>> = events.iter().map(|e| unread::at(&sampled, e)).collect();
    for (event, hidden) in events.iter().zip(&hidden) {
        runs.push(slow::run(&sampled, previous, event));
        let lead = lead::before(&sampled, event, previous, (FEWEST_SAMPLES, most));
        leads.push(lead.filter(|_| hidden.is_none()));
        before.push(previous);
        previous = event.at_s + event.within_s;
    }
    unsteady::agree(&mut leads);
    common::take_out(&mut leads, &sampled);
    unsteady::share(&mut leads, &sampled);
    for lead in leads.iter_mut().flatten() {
        own_tone(lead, &sampled);
    }
    common::tone_of_one(&mut leads);
    slow::take_out(&mut leads, &runs, &sampled);
    charge::straighten(&mut leads, &before);
    for (lead, hidden) in leads.iter_mut().zip(&mut hidden) {
        if let Some(away) = lead.as_ref().and_then(unread::away) {
            (*lead, *hidden) = (None, Some(away));
        }
    }
    let hand = hand_of(&leads, &sampled);
    let mut readings: Vec<Option<Reading>> = leads
        .into_iter()
        .map(|lead| read(lead?, &sampled, hand))
        .collect();
    share_stair(&mut readings);
    let quiet = quiet(&readings, sampled.code());
    let waves: Vec<Wave> = readings
        .iter()
        .flatten()
        .filter_map(|r| r.scatter.wave)
        .collect();
    let way = wave::way(&waves);
    for reading in readings.iter_mut().flatten() {
        reading.ripple = ripple::find(&reading.scatter, quiet, sampled.code(), way);
    }
    if sampled.pairs() {
        extremes::within_intervals(&mut readings, vcc.resolution());
    }
    for reading in readings.iter_mut().flatten() {
        reading.scatter = Scatter::default();
    }
    let told = |(reading, hidden): (Option<Reading>, Option<Unread>)| {
        reading.ok_or(hidden.unwrap_or(Unread::Few))
    };
    readings.into_iter().zip(hidden).map(told).collect()
}

/// How the hand turns, by the leads that show it.
fn hand_of(leads: &[Option<Lead>], sampled: &Sampled<'_>) -> Hand {
    let turned = leads.iter().flatten().filter(|l| l.stair.is_none());
    hand::of(turned.map(|lead| (lead, sigma(&lead.clean, sampled))))
}

/// One knob turns in one kind of step: where the tone of some events shows it, the others lie within one too.
fn share_stair(readings: &mut [Option<Reading>]) {
    let shown = readings.iter().flatten().filter_map(|r| r.stair);
    let mut steps: Vec<f64> = shown.map(|s| s.high_v - s.low_v).collect();
    if steps.is_empty() {
        return;
    }
    if unsteady::SHOWN_BY * steps.len() < readings.iter().flatten().count() {
        readings.iter_mut().flatten().for_each(|r| r.stair = None);
        return;
    }
    let half = 0.5 * stats::median(&mut steps);
    for reading in readings.iter_mut().flatten().filter(|r| r.stair.is_none()) {
        reading.stair = Some(Stair {
            low_v: reading.mean_v - half,
            high_v: reading.mean_v + half,
            u_v: reading.u_fit,
        });
    }
}

/// Noise where the controller is stopped: before the starts.
fn quiet(readings: &[Option<Reading>], code: f64) -> Option<Noise> {
    let stopped = |r: &&Reading| r.kind == EventKind::Start;
    let starts = readings.iter().flatten().filter(stopped);
    Noise::pooled(starts.filter_map(|r| Noise::of(&r.scatter.clean, code)))
}

/// A line through the straight samples before the event.
fn read(mut lead: Lead, sampled: &Sampled<'_>, hand: Hand) -> Option<Reading> {
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
    let stair = lead.stair.or_else(by_tone);
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
    let sign = if lead.kind == EventKind::Start {
        1.0
    } else {
        -1.0
    };
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

/// Ripple that only this lead shows.
fn own_tone(lead: &mut Lead, sampled: &Sampled<'_>) {
    if lead.tone.amplitude > 0.0 {
        return;
    }
    let straight = lead.straight();
    let end = &straight[straight.len().saturating_sub(ALWAYS)..];
    let (clean, tone) = without_tone(end, lead.stair.is_some(), sampled);
    if tone.amplitude > 0.0 {
        (lead.clean, lead.tone) = (clean, tone);
    } else if lead.tone.hidden <= 0.0 {
        lead.tone.hidden = tone.hidden;
    }
}

/// Fewest samples of a stretch in which a tone is looked for.
const FEWEST_OF_TONE: usize = 64;

/// The end of the samples with the ripple of one frequency taken out: the longest stretch whose tone its
/// own second half shows too; all of them where there is none. What small noise leaves of the code steps
/// is no ripple, nor are the steps of a knob.
fn without_tone(values: &[f64], stepped: bool, vcc: &Sampled<'_>) -> (Vec<f64>, Tone) {
    let none = |hidden| Tone {
        hidden,
        ..Tone::default()
    };
    if stepped || values.iter().any(|v| !v.is_finite()) {
        return (values.to_vec(), none(0.0));
    }
    let found = |length: usize| {
        let mut clean = values[values.len() - length..].to_vec();
        let tone = tone::take_out(&mut clean);
        (clean, tone)
    };
    let mut hidden = None;
    let mut length = values.len();
    while length >= FEWEST_OF_TONE {
        let (clean, tone) = found(length);
        let (_, half) = found(length / 2);
        if tone.agrees(&half, length / 2) && !vcc.of_codes(tone.amplitude) {
            return (clean, tone);
        }
        let may_hide = if tone.amplitude > 0.0 {
            half.hidden
        } else {
            tone.hidden
        };
        if may_hide > 0.0 {
            hidden.get_or_insert(may_hide);
        }
        length /= 2;
    }
    (values.to_vec(), none(hidden.unwrap_or(0.0)))
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
fn sigma(values: &[f64], sampled: &Sampled<'_>) -> f64 {
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
