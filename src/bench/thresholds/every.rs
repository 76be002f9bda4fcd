//! VCC at every event of a record: what one shows of ripple, steps and hand is used for the others.

use crate::data::{Event, EventKind};
use crate::signal::stats;

use super::super::course::Hand;
use super::super::trace::Trace;
use super::gap::Near;
use super::lead::{self, Lead};
use super::own_tone::{self, ALWAYS};
use super::reading::{FEWEST_SAMPLES, Reading, read, sigma};
use super::ripple::{self, Noise, Scatter};
use super::sampled::Sampled;
use super::stairs::Stair;
use super::unread::{self, Unread};
use super::wave::{self, Wave};
use super::{charge, common, extremes, hand, otherwise, slow, unsteady};

/// Most samples in the line before an event.
const MOST_SAMPLES: usize = 3000;

/// A record of more samples than this is long: what is read of it near events is kept well below a
/// hundredth, by shorter lines where the events are many.
const LONG: usize = 500_000;
/// Of a shorter record one in so many samples is read.
const ONE_IN: usize = 4;
/// Fewest samples that a line is shortened to for that.
const SHORTEST_LINE: usize = 40;

/// Samples that the line before one of so many events may run over.
fn line_samples(samples: usize, events: usize) -> usize {
    if samples < LONG {
        return (samples / ONE_IN / events.max(1)).clamp(ALWAYS, MOST_SAMPLES);
    }
    (samples / 250 / events.max(1)).clamp(SHORTEST_LINE, ALWAYS)
}

/// The reading of each event, or why there is none.
pub(super) fn all(vcc: &Trace<'_>, events: &[Event]) -> Vec<Result<Reading, Unread>> {
    if let Some(low_v) = vcc.upside_down() {
        return vec![Err(Unread::UpsideDown(low_v)); events.len()];
    }
    let sampled = Sampled::new(vcc);
    let most = line_samples(vcc.len(), events.len());
    let mut previous = f64::NEG_INFINITY;
    let mut leads: Vec<Option<Lead>> = Vec::with_capacity(events.len());
    let mut runs = Vec::with_capacity(events.len());
    let mut before = Vec::with_capacity(events.len());
    let near: Vec<Near> = events.iter().map(|e| Near::of(&sampled, e)).collect();
    let mut hidden: Vec<Option<Unread>> = near.iter().map(|n| unread::at(&sampled, n)).collect();
    for ((event, hidden), near) in events.iter().zip(&hidden).zip(&near) {
        runs.push(slow::run(&sampled, previous, event));
        let lead = lead::before(
            &sampled,
            event,
            near.gap.as_ref(),
            previous,
            (FEWEST_SAMPLES, most),
        );
        leads.push(lead.filter(|_| hidden.is_none()));
        before.push(previous);
        previous = event.at_s + event.within_s;
    }
    unsteady::agree(&mut leads);
    common::take_out(&mut leads, &sampled);
    unsteady::share(&mut leads, &sampled);
    for lead in leads.iter_mut().flatten() {
        own_tone::find(lead, &sampled);
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
    otherwise::take_out(&mut readings, &mut hidden, events, &sampled);
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
    let shown = readings.iter().flatten().filter(|r| !r.leap);
    let shown = shown.filter_map(|r| r.stair);
    let mut steps: Vec<f64> = shown.map(|s| s.high_v - s.low_v).collect();
    if steps.is_empty() {
        return;
    }
    if unsteady::SHOWN_BY * steps.len() < readings.iter().flatten().count() {
        let others = readings.iter_mut().flatten().filter(|r| !r.leap);
        others.for_each(|r| r.stair = None);
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
