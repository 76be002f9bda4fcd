//! Levels that are not pulses: VREF, VCC, bulk, output; and the state levels of OUT.

use crate::data::{Event, InspectedCapture, Quantity, Role, ShotKind, Term, Value};
use crate::signal::stats;

use super::trace::Trace;
use super::{Findings, events};

/// Levels of every role that has one.
pub fn measure(shot: &InspectedCapture, events: &[Event], found: &mut Findings) {
    if let Some(vref) = Trace::of_role(shot, Role::Vref) {
        measure_vref(&vref, events, found);
    }
    let running = shot.kind.value == Some(ShotKind::Running);
    if let Some(vcc) = Trace::of_role(shot, Role::Vcc).filter(|_| running) {
        whole(&vcc, Quantity::VccMean, found);
        ripple(&vcc, 0..vcc.blocks(), Quantity::VccRipple, found);
    }
    if let Some(bulk) = Trace::of_role(shot, Role::Bulk) {
        whole(&bulk, Quantity::BulkVoltage, found);
    }
    if let Some(output) = Trace::of_role(shot, Role::Output) {
        measure_output(&output, shot.kind.value, found);
    }
    states(
        shot,
        Role::Out,
        [Quantity::OutHighLevel, Quantity::OutLowLevel],
        found,
    );
    states(
        shot,
        Role::Gate,
        [Quantity::GateHighLevel, Quantity::GateLowLevel],
        found,
    );
    headroom(shot, found);
    current_sense(shot, found);
}

/// The level at the end where it is steady; what it reaches at most in a start.
fn measure_output(output: &Trace<'_>, kind: Option<ShotKind>, found: &mut Findings) {
    let last = output.blocks().saturating_sub(output.blocks() / 5 + 1)..output.blocks();
    let ends = last.clone().map(|b| output.block_range(b));
    let (low, high) = ends.fold((f64::MAX, f64::MIN), |a, r| (a.0.min(r.0), a.1.max(r.1)));
    if high - low < 0.1 * high.abs() + 10.0 * output.grain() {
        mean_over(output, &[last], Quantity::OutputVoltage, found);
    } else {
        let why = "the output is not steady at the end of the record";
        found.refuse(Quantity::OutputVoltage, output.index, why);
    }
    if kind == Some(ShotKind::Start) {
        let raw = output.facts().histogram.quantile(0.995);
        let level = output.true_of(raw) - 2.0 * output.noise();
        found.value(
            Quantity::OutputPeak,
            output.index,
            level_value(output, level),
            None,
        );
    }
}

fn whole(trace: &Trace<'_>, quantity: Quantity, found: &mut Findings) {
    mean_over(
        trace,
        std::slice::from_ref(&(0..trace.blocks())),
        quantity,
        found,
    );
}

fn mean_over(
    trace: &Trace<'_>,
    parts: &[std::ops::Range<usize>],
    quantity: Quantity,
    found: &mut Findings,
) {
    let values: Vec<f64> = parts
        .iter()
        .cloned()
        .flatten()
        .map(|b| trace.block_mean(b))
        .filter(|v| v.is_finite())
        .collect();
    if values.is_empty() {
        found.refuse(
            quantity,
            trace.index,
            "no sample of it lies in the part of the record that counts",
        );
        return;
    }
    let summary = stats::summary(&values);
    let mut terms = trace.systematic(summary.mean);
    terms.push(trace.resolution_term());
    let scatter = if summary.count > 1 {
        summary.deviation
    } else {
        trace.grain()
    };
    terms.push(Term::normal(
        "noise",
        scatter / (values.len() as f64).sqrt(),
    ));
    let (first, last) = (parts[0].start, parts[parts.len() - 1].end.saturating_sub(1));
    let span = (
        trace.time(trace.block_middle(first)),
        trace.time(trace.block_middle(last)),
    );
    found.value(
        quantity,
        trace.index,
        Value::from_terms(summary.mean, terms),
        Some(span),
    );
}

/// VREF while running, and before the first start.
fn measure_vref(vref: &Trace<'_>, events: &[Event], found: &mut Findings) {
    if vref.pulses().is_none() {
        flat_vref(vref, found);
        return;
    }
    let runs = events::runs(events);
    let on: Vec<_> = runs
        .iter()
        .filter_map(|(start, stop)| settled_part(vref, start, *stop))
        .collect();
    if on.is_empty() {
        found.refuse(
            Quantity::VrefVoltage,
            vref.index,
            "VREF never stays up long enough to be read",
        );
    } else {
        mean_over(vref, &on, Quantity::VrefVoltage, found);
        let longest = on.iter().max_by_key(|r| r.len()).cloned().unwrap_or(0..0);
        ripple(vref, longest, Quantity::VrefRipple, found);
    }
    if let Some(first) = runs.first() {
        let end = vref
            .channel
            .time
            .index_from(first.0.at_s - first.0.within_s) as f64
            - 1.0;
        if end >= 1.0 {
            mean_over(
                vref,
                &[vref.blocks_within(0.0, end)],
                Quantity::VrefOffVoltage,
                found,
            );
        }
    }
}

/// A steady VREF: up all the time, or never up.
fn flat_vref(vref: &Trace<'_>, found: &mut Findings) {
    let level = vref.true_of(vref.facts().mean);
    let quantity = if level > 1.0 {
        Quantity::VrefVoltage
    } else {
        Quantity::VrefOffVoltage
    };
    whole(vref, quantity, found);
    if level > 1.0 {
        ripple(vref, 0..vref.blocks(), Quantity::VrefRipple, found);
    } else {
        found.refuse(
            Quantity::VrefVoltage,
            vref.index,
            "VREF never comes up in this capture",
        );
    }
}

/// The blocks without those at the beginning, a fifth at most, in which VREF is still on its way up:
/// below 98 % of the median of the run.
fn risen(vref: &Trace<'_>, blocks: std::ops::Range<usize>) -> std::ops::Range<usize> {
    let mut means: Vec<f64> = blocks.clone().map(|b| vref.block_mean(b)).collect();
    means.retain(|v| v.is_finite());
    let up = 0.98 * stats::median(&mut means);
    let early = blocks.clone().take(blocks.len() / 5);
    let low = early.take_while(|b| vref.block_mean(*b) < up).count();
    blocks.start + low..blocks.end
}

/// From a twentieth after the start to just before the stop; `None` when that is less than four
/// blocks.
fn settled_part(
    vref: &Trace<'_>,
    start: &Event,
    stop: Option<&Event>,
) -> Option<std::ops::Range<usize>> {
    let end_s = stop.map_or(vref.channel.time.end_s(), |s| s.at_s - s.within_s);
    let from_s = start.at_s + start.within_s + 0.05 * (end_s - start.at_s);
    let first = vref.channel.time.index_from(from_s) + 1;
    let last = vref.channel.time.index_from(end_s).saturating_sub(2);
    let blocks = risen(vref, vref.blocks_within(first as f64, last as f64));
    (last > first && blocks.len() >= 4).then_some(blocks)
}

/// Peak-to-peak within the blocks, less what noise of the known size shows over so many samples
/// (2σ√(2 ln n), the usual estimate for the range of n Gaussian values).
fn ripple(
    trace: &Trace<'_>,
    blocks: std::ops::Range<usize>,
    quantity: Quantity,
    found: &mut Findings,
) {
    let samples = (blocks.len() * trace.block_size()) as f64;
    let (low, high) = blocks
        .map(|b| trace.block_range(b))
        .fold((f64::MAX, f64::MIN), |a, r| (a.0.min(r.0), a.1.max(r.1)));
    if low > high || samples < 2.0 {
        return;
    }
    let expected = 2.0 * trace.noise() * (2.0 * samples.ln()).sqrt();
    let stands_out = (high - low - expected.max(trace.resolution())).max(0.0);
    let terms = vec![
        trace.gain_term(stands_out),
        Term::within("noise", 0.5 * expected),
        Term::within("resolution", trace.resolution()),
    ];
    found.value(
        quantity,
        trace.index,
        Value::from_terms(stands_out, terms),
        None,
    );
}

/// State levels of a pulsing pin.
fn states(shot: &InspectedCapture, role: Role, quantities: [Quantity; 2], found: &mut Findings) {
    let Some(trace) = Trace::of_role(shot, role) else {
        return;
    };
    let Some(pulses) = trace.pulses().filter(|p| p.gap) else {
        let level = trace.true_of(trace.facts().mean);
        let why = format!("it does not pulse: it stays at {level:.2} V");
        found.refuse(quantities[0], trace.index, why);
        return;
    };
    for (quantity, raw) in quantities.into_iter().zip([pulses.high, pulses.low]) {
        found.value(
            quantity,
            trace.index,
            level_value(&trace, trace.true_of(raw)),
            None,
        );
    }
}

fn level_value(trace: &Trace<'_>, level: f64) -> Value {
    let mut terms = trace.systematic(level);
    terms.push(trace.resolution_term());
    // the mode of a histogram is known to a bin (IEEE 181): half a bin either way
    let bin = trace.facts().histogram.width * trace.known.gain.abs();
    terms.push(Term::within("histogram bin", 0.5 * bin));
    terms.push(Term::normal(
        "noise",
        trace.grain() / (trace.len() as f64 / 10.0).max(1.0).sqrt(),
    ));
    Value::from_terms(level, terms)
}

/// Mean VCC minus OUT high; two channels, so nothing cancels.
fn headroom(shot: &InspectedCapture, found: &mut Findings) {
    let Some(vcc) = found.found(Quantity::VccMean).cloned() else {
        return;
    };
    let (Some(high), Some(out)) = (
        found.found(Quantity::OutHighLevel).cloned(),
        shot.channel_of(Role::Out),
    ) else {
        return;
    };
    let terms = vcc.terms.iter().chain(&high.terms).copied().collect();
    found.value(
        Quantity::OutHeadroom,
        out,
        Value::from_terms(vcc.value - high.value, terms),
        None,
    );
}

fn current_sense(shot: &InspectedCapture, found: &mut Findings) {
    let Some(cs) = Trace::of_role(shot, Role::Cs) else {
        return;
    };
    if shot.kind.value == Some(ShotKind::Running) {
        let peak = cs.true_of(cs.facts().histogram.quantile(0.995));
        found.value(Quantity::CsPeak, cs.index, level_value(&cs, peak), None);
    }
}
