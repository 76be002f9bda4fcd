//! What is true of a run, in the words of the catalogue of quantities.

use serde_json::{Map, Value, json};

use super::record::{ChannelSettings, Signal, TimeBase};
use super::timeline::{Event, Phase, Segment, Timeline, What};
use crate::data::{Quantity, Setup};

/// What a capture shows, for its truth.
pub(super) struct Shown<'a> {
    pub cause: &'a str,
    pub setup: Setup,
    pub timeline: &'a Timeline,
    pub time: &'a TimeBase,
    pub channels: &'a [ChannelSettings],
    /// Does the record resolve single cycles?
    pub fast: bool,
}

/// The truth of a capture: only events within it, only quantities of the pins in it.
pub(super) fn truth(shown: &Shown) -> Value {
    let parts: Map<String, Value> = shown
        .timeline
        .parts
        .named()
        .into_iter()
        .map(|(name, value)| (name.to_owned(), json!(value)))
        .collect();
    json!({
        "cause": shown.cause,
        "setup": shown.setup.id(),
        "parts": parts,
        "channels": shown.channels.iter().map(channel).collect::<Vec<_>>(),
        "events": events(shown),
        "quantities": quantities(shown),
    })
}

fn channel(channel: &ChannelSettings) -> Value {
    json!({
        "name": channel.name,
        "role": channel.signal.id(),
        "gain_error": channel.gain_error,
        "offset_error": channel.offset_error_v,
        "noise": channel.noise_v,
        "step": channel.step_v(),
    })
}

fn events(shown: &Shown) -> Vec<Value> {
    let within = |event: &&Event| (shown.time.from_s..=shown.time.end_s()).contains(&event.at_s);
    let shift_s = shown.time.start_s - shown.time.from_s;
    let events = shown.timeline.events.iter().filter(within);
    events
        .map(|event| {
            json!({
                "what": event.what.id(),
                "at_s": event.at_s + shift_s,
                "vcc": event.vcc_v,
            })
        })
        .collect()
}

fn quantities(shown: &Shown) -> Value {
    let has = |signal| {
        shown
            .channels
            .iter()
            .any(|channel| channel.signal == signal)
    };
    let mut found: Vec<(Quantity, f64)> = Vec::new();
    if shown.fast {
        running(shown.timeline, &has, &mut found);
    } else {
        thresholds(shown.timeline, &mut found);
        levels(shown.timeline, &has, &mut found);
        if shown.setup == Setup::Mains {
            own_supply(shown.timeline, &mut found);
            outputs(shown.timeline, &has, &mut found);
        } else {
            sweeps(shown.timeline, &mut found);
        }
    }
    let map: Map<String, Value> = found
        .into_iter()
        .map(|(quantity, value)| (quantity.info().id.to_owned(), json!(value)))
        .collect();
    Value::Object(map)
}

fn thresholds(timeline: &Timeline, found: &mut Vec<(Quantity, f64)>) {
    let started = timeline.events_of(What::Start).next().is_some();
    let stopped = timeline.events_of(What::Stop).next().is_some();
    let parts = &timeline.parts;
    if started {
        found.push((Quantity::StartThreshold, parts.vcc_start_v));
    }
    if stopped {
        found.push((Quantity::StopThreshold, parts.vcc_stop_v));
    }
    if started && stopped {
        found.push((Quantity::Hysteresis, parts.vcc_start_v - parts.vcc_stop_v));
    }
}

/// Levels that a slow record shows of VREF and RT/CT.
fn levels(timeline: &Timeline, has: &dyn Fn(Signal) -> bool, found: &mut Vec<(Quantity, f64)>) {
    let started = timeline.events_of(What::Start).next().is_some();
    if has(Signal::Vref) {
        found.push((Quantity::VrefOffVoltage, 0.0));
        if started {
            found.push((Quantity::VrefVoltage, timeline.parts.vref_loaded_v()));
        }
    }
    if has(Signal::RtCt) && started {
        ramp_levels(timeline, found);
    }
}

fn ramp_levels(timeline: &Timeline, found: &mut Vec<(Quantity, f64)>) {
    if let Some(ramp) = timeline.ramp {
        found.push((Quantity::RampPeak, ramp.peak_v));
        found.push((Quantity::RampValley, ramp.valley_v));
        found.push((Quantity::RampAmplitude, ramp.peak_v - ramp.valley_v));
    }
}

fn sweeps(timeline: &Timeline, found: &mut Vec<(Quantity, f64)>) {
    let starts = timeline.events_of(What::Start).count() as f64;
    found.push((
        Quantity::StartsPerSweep,
        starts / f64::from(super::shots::SWEEPS),
    ));
}

fn running(timeline: &Timeline, has: &dyn Fn(Signal) -> bool, found: &mut Vec<(Quantity, f64)>) {
    let Some(last) = timeline.segments.last().filter(|s| s.phase == Phase::Run) else {
        return;
    };
    let parts = &timeline.parts;
    if let Some(ramp) = timeline.ramp.filter(|_| has(Signal::RtCt)) {
        ramp_levels(timeline, found);
        found.push((Quantity::OscillatorFrequency, ramp.frequency_hz()));
        found.push((Quantity::RampRiseDuration, ramp.rise_s));
        found.push((Quantity::RampFallDuration, ramp.fall_s));
    }
    let frequency_hz = parts.out_frequency_hz();
    if has(Signal::Out) && frequency_hz > 0.0 {
        let vcc_v = timeline.at(last.to_s).vcc_v;
        found.push((Quantity::OutFrequency, frequency_hz));
        found.push((Quantity::OutDutyCycle, last.on_time_s * frequency_hz));
        found.push((Quantity::OutHighLevel, vcc_v - parts.out_drop_v));
        found.push((Quantity::OutLowLevel, parts.out_low_v));
        if has(Signal::RtCt) {
            found.push((Quantity::OscillatorToOutRatio, f64::from(parts.divide)));
        }
    }
}

fn own_supply(timeline: &Timeline, found: &mut Vec<(Quantity, f64)>) {
    let starts: Vec<&Event> = timeline.events_of(What::Start).collect();
    let stops: Vec<&Event> = timeline.events_of(What::Stop).collect();
    found.push((Quantity::StartAttempts, starts.len() as f64));
    let mains = timeline.events_of(What::MainsOn).next();
    if let (Some(mains), Some(first)) = (mains, starts.first()) {
        found.push((Quantity::FirstStartDelay, first.at_s - mains.at_s));
    }
    if let Some(last) = timeline.events_of(What::TakeOver).last() {
        let margin_v = last.vcc_v - timeline.parts.vcc_stop_v;
        found.push((Quantity::StartMargin, margin_v));
    }
    if let Some(segment) = timeline.segments.last().filter(|s| s.phase == Phase::Run) {
        let settled_v = segment.vcc_v(&timeline.parts, segment.to_s - segment.from_s);
        found.push((Quantity::VccSettled, settled_v));
    }
    hiccup(timeline, &starts, &stops, found);
}

/// Means over all complete bursts and recharges.
fn hiccup(
    timeline: &Timeline,
    starts: &[&Event],
    stops: &[&Event],
    found: &mut Vec<(Quantity, f64)>,
) {
    let (Some(first), Some(last)) = (starts.first(), starts.last()) else {
        return;
    };
    let bursts: Vec<f64> = starts
        .iter()
        .zip(stops)
        .map(|(a, b)| b.at_s - a.at_s)
        .collect();
    let rests = starts.iter().skip(1).zip(stops);
    let rests: Vec<f64> = rests.map(|(start, stop)| start.at_s - stop.at_s).collect();
    if !bursts.is_empty() {
        let falls = timeline
            .segments
            .windows(2)
            .filter_map(|pair| fall(timeline, pair));
        found.push((Quantity::BurstSlope, mean(&falls.collect::<Vec<_>>())));
    }
    if !rests.is_empty() {
        let period_s = (last.at_s - first.at_s) / rests.len() as f64;
        found.push((Quantity::HiccupPeriod, period_s));
        found.push((Quantity::HiccupRatio, mean(&rests) / mean(&bursts)));
        let parts = &timeline.parts;
        let swing_v = parts.vcc_start_v - parts.vcc_stop_v;
        let slopes: Vec<f64> = rests.iter().map(|rest| swing_v / rest).collect();
        found.push((Quantity::ChargeSlope, mean(&slopes)));
    }
}

/// Slope of a run that ends in a stop, from its first to its last moment.
fn fall(timeline: &Timeline, pair: &[Segment]) -> Option<f64> {
    let [run, after] = pair else { return None };
    if run.phase != Phase::Run || after.phase != Phase::Off {
        return None;
    }
    let run_from = timeline
        .segments
        .iter()
        .rfind(|s| s.phase != Phase::Run && s.to_s <= run.from_s)?
        .to_s;
    let first_v = timeline.segment(run_from)?.vcc_v(&timeline.parts, 0.0);
    let last_v = run.vcc_v(&timeline.parts, run.to_s - run.from_s);
    Some((last_v - first_v) / (run.to_s - run_from))
}

fn outputs(timeline: &Timeline, has: &dyn Fn(Signal) -> bool, found: &mut Vec<(Quantity, f64)>) {
    if has(Signal::Output) {
        found.push((
            Quantity::OutputVoltage,
            timeline.at(timeline.end_s()).output_v,
        ));
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
