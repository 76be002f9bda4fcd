//! VCC at one event: a line through the samples before it, the ripple about the line, a stair.

use crate::data::{Event, EventKind};
use crate::signal::{Line, stats};

use super::super::trace::Trace;
use super::ripple::{self, Ripple, Scatter};
use super::stairs::{self, Stair};
use super::tone::{self, Tone};

/// Most samples in the line before an event.
const MOST_SAMPLES: usize = 400;
/// Fewest of them.
pub(super) const FEWEST_SAMPLES: usize = 5;
/// Volts over which VCC counts as straight before an event.
const STRAIGHT_V: f64 = 1.0;

/// A record of more samples than this is long: what is read of it near events is kept well below a
/// hundredth, by shorter lines where the events are many.
const LONG: usize = 500_000;
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
    /// What lies about the line, for the ripple.
    scatter: Scatter,
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
        return MOST_SAMPLES;
    }
    (samples / 250 / events.max(1)).clamp(SHORTEST_LINE, MOST_SAMPLES)
}

/// The reading of each event; `None` where too few samples lie before it.
pub(super) fn all(vcc: &Trace<'_>, events: &[Event]) -> Vec<Option<Reading>> {
    let mut previous = f64::NEG_INFINITY;
    let most = line_samples(vcc.len(), events.len());
    let mut readings: Vec<Option<Reading>> = events
        .iter()
        .map(|event| {
            let reading = read(vcc, event, previous, most);
            previous = event.at_s + event.within_s;
            reading
        })
        .collect();
    share_stair(&mut readings);
    let quiet = quiet_square(&readings);
    for reading in readings.iter_mut().flatten() {
        reading.ripple = ripple::find(&reading.scatter, quiet);
        reading.scatter = Scatter::default();
    }
    readings
}

/// One knob turns in one kind of step: where some events show it, the others lie within one too.
fn share_stair(readings: &mut [Option<Reading>]) {
    let shown = readings.iter().flatten().filter_map(|r| r.stair);
    let mut steps: Vec<f64> = shown.map(|s| s.high_v - s.low_v).collect();
    if steps.is_empty() {
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

/// Variance of the noise where the controller is stopped: before the starts.
fn quiet_square(readings: &[Option<Reading>]) -> Option<f64> {
    let starts = readings
        .iter()
        .flatten()
        .filter(|r| r.kind == EventKind::Start);
    let mut squares: Vec<f64> = starts
        .filter_map(|r| ripple::noise_square(&r.scatter.clean))
        .collect();
    (!squares.is_empty()).then(|| stats::median(&mut squares))
}

/// A line through the samples before the event, as far back as VCC is straight.
fn read(vcc: &Trace<'_>, event: &Event, previous_s: f64, most: usize) -> Option<Reading> {
    let step = vcc.interval_s();
    // the event is certain to lie after this sample
    let end = vcc
        .channel
        .time
        .index_from(event.at_s - event.within_s + 0.25 * step);
    let begin = end
        .saturating_sub(most)
        .max(vcc.channel.time.index_from(previous_s + 2.0 * step));
    let values = vcc.values(begin..end);
    let straight = straight_tail(&values, vcc);
    if straight.len() < FEWEST_SAMPLES {
        return None;
    }
    let stair = stairs::find(vcc, event, previous_s, most);
    let first = end - straight.len();
    let times: Vec<f64> = (first..end)
        .map(|i| vcc.channel.time.at(i) - event.at_s)
        .collect();
    let (clean, tone) = without_tone(straight, stair.is_some(), vcc);
    let straight = &straight[straight.len() - clean.len()..];
    let times = &times[times.len() - clean.len()..];
    let (line, u_fit) = best_line(times, &clean, vcc.grain())?;
    let stair = stair.or_else(|| stair_of_tone(&tone, times, &clean));
    let about = |values: &[f64]| -> Vec<f64> {
        let from = values.len() - line.count.min(values.len());
        let left = times[from..]
            .iter()
            .zip(&values[from..])
            .map(|(t, v)| v - line.at(*t));
        left.filter(|r| r.is_finite()).collect()
    };
    let scatter = match &stair {
        Some(_) if tone.amplitude > 0.0 => Scatter::default(),
        Some(stair) => Scatter::of_one(about_landing(straight, stair, vcc.noise())),
        None => Scatter {
            clean: about(&clean),
            whole: about(straight),
            tone,
        },
    };
    let (low, high) = straight
        .iter()
        .fold((f64::MAX, f64::MIN), |a, v| (a.0.min(*v), a.1.max(*v)));
    Some(Reading {
        kind: event.kind,
        mean_v: stair.map_or(line.at(0.0), |s| 0.5 * (s.low_v + s.high_v)),
        ripple: Ripple::default(),
        u_fit,
        within_v: line.slope.abs() * event.within_s,
        codes: if vcc.resolution() > 0.0 {
            (high - low) / vcc.resolution()
        } else {
            f64::INFINITY
        },
        at_s: event.at_s,
        stair,
        scatter,
    })
}

/// Fewest samples of a stretch in which a tone is looked for.
const FEWEST_OF_TONE: usize = 64;

/// The end of the samples with the ripple of one frequency taken out: the longest stretch whose tone its
/// own second half shows too; all of them where there is none. What small noise leaves of the code steps
/// is no ripple, nor are the steps of a knob.
fn without_tone(values: &[f64], stepped: bool, vcc: &Trace<'_>) -> (Vec<f64>, Tone) {
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
    let code = vcc.resolution();
    let bare = |tone: &Tone| vcc.noise() < 0.3 * code && tone.amplitude < 0.7 * code;
    let mut hidden = None;
    let mut length = values.len();
    while length >= FEWEST_OF_TONE {
        let (clean, tone) = found(length);
        let (_, half) = found(length / 2);
        if tone.agrees(&half, length / 2) && !bare(&tone) {
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

/// Landings about a line through all samples, where the tone is what a stair leaves about it.
fn stair_of_tone(tone: &Tone, times: &[f64], clean: &[f64]) -> Option<Stair> {
    let step = tone.of_stair()?;
    let line = Line::fit(times.iter().copied().zip(clean.iter().copied()))?;
    Some(Stair {
        low_v: line.at(0.0) - 0.5 * step,
        high_v: line.at(0.0) + 0.5 * step,
        u_v: line.u_at(0.0),
    })
}

/// Fewest samples of a line that is shortened because a longer one is bent.
const SHORTEST: usize = 8;
/// A line that says something else than a shorter one by so many of its standard uncertainties is bent.
const BENT: f64 = 2.5;

/// The longest line that ends with the samples and agrees, at the event (x = 0), with all shorter ones (a
/// hand does not turn evenly), and its standard uncertainty there. Where longer ones disagreed, half of
/// what the last step changed is added: the bend need not end just there.
fn best_line(times: &[f64], values: &[f64], grain: f64) -> Option<(Line, f64)> {
    // what scatters from sample to sample counts in short lines too, where chance may show none of it
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let grain = ripple::noise_square(&finite).map_or(grain, |square| square.sqrt().max(grain));
    let mut lengths = vec![values.len()];
    while lengths[lengths.len() - 1] >= 2 * SHORTEST {
        lengths.push(lengths[lengths.len() - 1] * 2 / 3);
    }
    let mut kept: Vec<(Line, f64)> = Vec::new();
    for length in lengths.into_iter().rev() {
        let from = values.len() - length;
        let points = times[from..]
            .iter()
            .copied()
            .zip(values[from..].iter().copied());
        let Some(line) = Line::fit(points) else {
            continue;
        };
        let here = line.at(0.0);
        if kept
            .iter()
            .any(|(other, u)| (here - other.at(0.0)).abs() > BENT * u)
        {
            let (best, u) = kept[kept.len() - 1];
            let before = kept.len().checked_sub(2).map_or(best, |i| kept[i].0);
            return Some((best, u.hypot(0.5 * (best.at(0.0) - before.at(0.0)))));
        }
        kept.push((line, line.u_at_with(0.0, line.scatter.max(grain))));
    }
    kept.pop()
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

/// Samples whose median stands for VCC there: dips within pulses are no move of it.
const MEDIAN_OF: usize = 15;

/// The end of `values` over which VCC moves by at most [`STRAIGHT_V`].
fn straight_tail<'a>(values: &'a [f64], vcc: &Trace<'_>) -> &'a [f64] {
    let median = |chunk: &[f64]| {
        let mut finite: Vec<f64> = chunk.iter().copied().filter(|v| v.is_finite()).collect();
        stats::median(&mut finite)
    };
    let last = median(&values[values.len().saturating_sub(MEDIAN_OF)..]);
    let allowed = STRAIGHT_V + 4.0 * vcc.grain();
    let near = |chunk: &&[f64]| (median(chunk) - last).abs() <= allowed;
    let kept: usize = values
        .rchunks(MEDIAN_OF)
        .take_while(near)
        .map(<[f64]>::len)
        .sum();
    &values[values.len() - kept..]
}
