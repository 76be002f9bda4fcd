//! VCC at the starts and stops: a line before the event, and what of its ripple the comparator saw.
//!
//! What lags is taken back where it shows: VREF's fall begins at the stop (`decay.rs`), a rise begins
//! at its foot, and an event lies in the interval between two samples, whose share of the sweep is the
//! term `sample interval`. VREF's rise itself (0.1 ms for each microfarad behind it) is less than a
//! millivolt of any sweep made by hand.

mod budget;
mod chain;
mod charge;
mod common;
mod cycles;
mod every;
mod extremes;
mod gap;
mod hand;
mod landings;
mod lead;
mod otherwise;
mod own_tone;
mod reading;
mod ripple;
mod sampled;
mod slow;
mod slow_run;
mod smooth;
mod spikes;
mod stairs;
mod tone;
mod unread;
mod unsteady;
mod wave;
mod words;

use crate::data::{Event, EventKind, InspectedCapture, Mark, Quantity, Role, ShotKind};

use super::trace::Trace;
use super::{Findings, count, events, kinds};
use budget::{Level, joined};
pub(super) use reading::Reading;

/// Fits VCC before each event and writes value and u95 into it. The readings are empty without VCC.
pub(super) fn fill_vcc(shot: &InspectedCapture, events: &mut [Event]) -> Vec<Option<Reading>> {
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return Vec::new();
    };
    let readings = every::all(&vcc, events);
    for (event, reading) in events.iter_mut().zip(&readings) {
        event.vcc = reading.as_ref().ok().map(|r| {
            let value = budget::single(&vcc, r);
            (value.value, value.u95)
        });
        event.why_no_vcc = reading.as_ref().err().map(|why| why.told(event.kind));
    }
    readings.into_iter().map(Result::ok).collect()
}

/// So many events outvote one that VCC jumps past: their samples are not read for that.
const MANY: usize = 32;

/// Whether the record can show how VCC comes to each event and goes on, so many volts each way.
pub(super) fn show_way(vcc: &Trace<'_>, events: &[Event], by_v: f64) -> Vec<bool> {
    let sampled = sampled::Sampled::new(vcc);
    let few = events.len() <= MANY;
    let shows = |event: &Event| {
        let block = vcc.channel.time.index_from(event.at_s) / vcc.block_size();
        let near = sampled.piled_within(by_v, vcc.block_mean(block.saturating_sub(1)));
        !(near || few && unread::at(&sampled, &gap::Near::of(&sampled, event)).is_some())
    };
    events.iter().map(shows).collect()
}

/// Start and stop threshold, their means, hysteresis and starts per sweep.
pub(super) fn measure(
    shot: &InspectedCapture,
    events: &[Event],
    all: &[Option<Reading>],
    found: &mut Findings,
) {
    if !matches!(shot.kind.value, Some(ShotKind::Sweep | ShotKind::Start)) {
        return;
    }
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return;
    };
    let of_kind = |kind| -> Vec<Reading> {
        events
            .iter()
            .zip(all)
            .filter(|(e, _)| e.kind == kind)
            .filter_map(|(_, r)| r.clone())
            .collect()
    };
    let starts = of_kind(EventKind::Start);
    let stops = of_kind(EventKind::Stop);
    one(shot, &vcc, EventKind::Start, &starts, events, found);
    one(shot, &vcc, EventKind::Stop, &stops, events, found);
    // a start that holds has no stop, and no hysteresis to be missed
    let holds = shot.kind.value == Some(ShotKind::Start) && stops.is_empty();
    let none = starts.is_empty() && stops.is_empty();
    if !holds && !none {
        hysteresis(&vcc, &starts, &stops, found);
    }
    if shot.kind.value == Some(ShotKind::Sweep) {
        starts_per_sweep(&vcc, events, found);
    }
}

fn one(
    shot: &InspectedCapture,
    vcc: &Trace<'_>,
    kind: EventKind,
    readings: &[Reading],
    events: &[Event],
    found: &mut Findings,
) {
    let (threshold, mean) = match kind {
        EventKind::Start => (Quantity::StartThreshold, Quantity::StartThresholdMean),
        EventKind::Stop => (Quantity::StopThreshold, Quantity::StopThresholdMean),
    };
    if readings.is_empty() {
        if let Some(why) = words::why_none(shot, kind, events) {
            found.refuse(threshold, vcc.index, why);
        }
        return;
    }
    let (kept, outliers) = budget::without_outliers(vcc, readings);
    let span = Some((readings[0].at_s, readings[readings.len() - 1].at_s));
    let seen_value = joined(vcc, &kept, Level::Seen);
    let mean_value = joined(vcc, &kept, Level::Mean);
    let mut remarks = words::remarks(kind, &kept, &outliers, (&seen_value, &mean_value));
    remarks.extend(words::not_counted(kind, events));
    found.marked(
        threshold,
        vcc.index,
        seen_value,
        span,
        marks(&kept, Reading::seen),
    );
    found.remark(remarks);
    // without ripple both are the same
    if kept.iter().any(|r| r.ripple_v() > 0.0) {
        found.marked(
            mean,
            vcc.index,
            mean_value,
            span,
            marks(&kept, |r| r.mean_v),
        );
    }
}

/// The volts of single events where they were taken.
fn marks(readings: &[Reading], of: impl Fn(&Reading) -> f64) -> Vec<Mark> {
    let mark = |reading: &Reading| Mark::Instant {
        at_s: reading.at_s,
        level: Some(of(reading)),
    };
    readings.iter().map(mark).collect()
}

/// Start minus stop: the offset cancels, the gain acts on the difference only.
fn hysteresis(vcc: &Trace<'_>, starts: &[Reading], stops: &[Reading], found: &mut Findings) {
    if starts.is_empty() || stops.is_empty() {
        found.refuse(
            Quantity::Hysteresis,
            vcc.index,
            "needs a start and a stop in one capture",
        );
        return;
    }
    let (starts, _) = budget::without_outliers(vcc, starts);
    let (stops, _) = budget::without_outliers(vcc, stops);
    let span = Some((
        starts[0].at_s.min(stops[0].at_s),
        starts[starts.len() - 1]
            .at_s
            .max(stops[stops.len() - 1].at_s),
    ));
    let mut shown = marks(&starts, Reading::seen);
    shown.extend(marks(&stops, Reading::seen));
    let value = budget::difference(vcc, &starts, &stops);
    if value.value < -value.u95 {
        let why =
            "the starts lie below the stops: no threshold does that; look at what VCC does there";
        found.refuse(Quantity::Hysteresis, vcc.index, why);
        return;
    }
    found.marked(Quantity::Hysteresis, vcc.index, value, span, shown);
}

/// Starts between two deep falls of VCC; more than one is chatter.
fn starts_per_sweep(vcc: &Trace<'_>, events: &[Event], found: &mut Findings) {
    let starts = events::runs(events).len();
    if starts > 0 {
        let per_sweep = (starts as f64 / rises(vcc, events) as f64).ceil() as usize;
        found.value(Quantity::StartsPerSweep, vcc.index, count(per_sweep), None);
    }
}

/// How often a hand has turned VCC up.
fn rises(vcc: &Trace<'_>, events: &[Event]) -> usize {
    let swing = (0.25 * vcc.facts().peak_to_peak() * vcc.known.gain.abs()).max(1.0);
    let corners = super::corners::turning_points(vcc, swing);
    if kinds::driven(vcc, events) == Some(false) {
        // a soft feed turns VCC at the thresholds; a hand turns it beyond
        let stops = events.iter().filter(|e| e.kind == EventKind::Stop);
        let lowest = stops.filter_map(|e| e.vcc).map(|v| v.0).reduce(f64::min);
        let deep = lowest.unwrap_or(f64::NEG_INFINITY) - kinds::followed_v(vcc);
        return 1 + corners.iter().filter(|c| !c.top && c.volts < deep).count();
    }
    let tops = corners.iter().filter(|c| c.top).count();
    // the last rise may end with the record
    tops + usize::from(corners.last().is_none_or(|c| !c.top))
}
