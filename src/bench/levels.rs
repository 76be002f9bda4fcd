//! Levels that are not pulses: VREF, VCC, COMP, FB, bulk, output.

use crate::data::{Event, InspectedCapture, Mark, Quantity, Role, ShotKind, Term, Value};
use crate::signal::stats;

use super::ripple::ripple;
use super::states::{self, level_value};
use super::trace::Trace;
use super::{Findings, bulk, events};

/// Levels of every role that has one.
pub fn measure(shot: &InspectedCapture, events: &[Event], found: &mut Findings) {
    if let Some(vref) = Trace::of_role(shot, Role::Vref) {
        measure_vref(&vref, events, found);
    }
    let running = shot.kind.value == Some(ShotKind::Running);
    if let Some(vcc) = Trace::of_role(shot, Role::Vcc).filter(|_| running) {
        whole(&vcc, Quantity::VccMean, found);
        ripple(&vcc, 0..vcc.blocks(), None, Quantity::VccRipple, found);
    }
    if let Some(bulk) = Trace::of_role(shot, Role::Bulk) {
        whole(&bulk, Quantity::BulkVoltage, found);
        bulk::ripple(&bulk, found);
    }
    if let Some(output) = Trace::of_role(shot, Role::Output) {
        measure_output(&output, shot.kind.value, found);
        if running {
            let cycle = bulk::of_mains(&output).ok().and_then(|mains| mains.cycle);
            let blocks = 0..output.blocks();
            ripple(
                &output,
                blocks,
                cycle.as_ref(),
                Quantity::OutputRipple,
                found,
            );
        }
    }
    for (role, quantity) in [
        (Role::Comp, Quantity::CompLevel),
        (Role::Fb, Quantity::FbLevel),
    ] {
        if let Some(trace) = Trace::of_role(shot, role).filter(|_| running) {
            whole(&trace, quantity, found);
        }
    }
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
    let marks = parts.iter().map(|part| {
        let end = part.end.saturating_sub(1);
        Mark::Level {
            level: summary.mean,
            from_s: trace.time(trace.block_middle(part.start)),
            to_s: trace.time(trace.block_middle(end)),
        }
    });
    let value = Value::from_terms(summary.mean, terms);
    found.marked(quantity, trace.index, value, Some(span), marks.collect());
}

/// First tenth of a run minus its last; the offset of the channel cancels.
fn droop(vref: &Trace<'_>, run: std::ops::Range<usize>, found: &mut Findings) {
    let tenth = run.len() / 10;
    if tenth < 2 {
        return;
    }
    let mean_of = |blocks: std::ops::Range<usize>| {
        let mut values: Vec<f64> = blocks.map(|b| vref.block_mean(b)).collect();
        values.retain(|v| v.is_finite());
        stats::summary(&values)
    };
    let (first, last) = (run.start..run.start + tenth, run.end - tenth..run.end);
    let (before, after) = (mean_of(first.clone()), mean_of(last.clone()));
    let fall = before.mean - after.mean;
    let mut terms = vref.systematic_over(fall);
    terms.extend([
        vref.resolution_term(),
        Term::mean_of(
            "noise, first tenth",
            before.deviation,
            before.count as usize,
        ),
        Term::mean_of("noise, last tenth", after.deviation, after.count as usize),
    ]);
    let mark = |blocks: &std::ops::Range<usize>, level| Mark::Level {
        level,
        from_s: vref.time(vref.block_middle(blocks.start)),
        to_s: vref.time(vref.block_middle(blocks.end - 1)),
    };
    let marks = vec![mark(&first, before.mean), mark(&last, after.mean)];
    let span = (
        vref.time(vref.block_middle(first.start)),
        vref.time(vref.block_middle(last.end - 1)),
    );
    let value = Value::from_terms(fall, terms);
    found.marked(Quantity::VrefDroop, vref.index, value, Some(span), marks);
}

/// A VREF that never falls below this was up all the time, in volts.
const UP_V: f64 = 2.5;

/// VREF while running, and before the first start.
fn measure_vref(vref: &Trace<'_>, events: &[Event], found: &mut Findings) {
    let lowest = vref.true_of(vref.facts().histogram.quantile(0.001));
    if vref.pulses().is_none() || lowest > UP_V {
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
        ripple(vref, longest.clone(), None, Quantity::VrefRipple, found);
        droop(vref, longest, found);
        let high = vref
            .pulses()
            .map(|p| if vref.known.gain > 0.0 { p.high } else { p.low });
        if let Some(why) = high.and_then(|raw| states::cut_off(vref, raw)) {
            for quantity in [
                Quantity::VrefVoltage,
                Quantity::VrefRipple,
                Quantity::VrefDroop,
            ] {
                found.withdraw(quantity, &why);
            }
        }
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
        ripple(vref, 0..vref.blocks(), None, Quantity::VrefRipple, found);
        droop(vref, 0..vref.blocks(), found);
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
