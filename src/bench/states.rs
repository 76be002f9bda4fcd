//! State levels of the pins that pulse (IEEE 181 histogram method).

use crate::data::{InspectedCapture, Mark, Quantity, Role, SampleKind, Term, Value};

use crate::signal::levels;

use super::Findings;
use super::trace::Trace;

/// State levels of OUT and gate, and how far OUT stays below VCC.
pub fn measure(shot: &InspectedCapture, found: &mut Findings) {
    for (role, quantities) in [
        (Role::Out, [Quantity::OutHighLevel, Quantity::OutLowLevel]),
        (
            Role::Gate,
            [Quantity::GateHighLevel, Quantity::GateLowLevel],
        ),
    ] {
        states(shot, role, quantities, found);
    }
    headroom(shot, found);
}

/// State levels of a pulsing pin.
fn states(shot: &InspectedCapture, role: Role, quantities: [Quantity; 2], found: &mut Findings) {
    let Some(trace) = Trace::of_role(shot, role) else {
        return;
    };
    let Some(pulses) = trace.pulses().filter(|p| p.gap) else {
        let level = trace.true_of(trace.facts().mean);
        let why = still(&trace, level);
        found.refuse(quantities[0], trace.index, why);
        return;
    };
    if let Some(why) = super::frequency::only_ripples(&trace) {
        found.refuse(quantities[0], trace.index, why);
        return;
    }
    for (quantity, raw) in quantities.into_iter().zip([pulses.high, pulses.low]) {
        if let Some(why) = cut_off(&trace, raw) {
            found.refuse(quantity, trace.index, why);
            continue;
        }
        let level = trace.true_of(raw);
        let (from_s, to_s) = (trace.channel.time.start_s(), trace.channel.time.end_s());
        let mark = Mark::Level {
            level,
            from_s,
            to_s,
        };
        let value = level_value(&trace, level);
        found.marked(
            quantity,
            trace.index,
            value,
            Some((from_s, to_s)),
            vec![mark],
        );
    }
}

/// Fewest samples of a state, and the share of them on one code, for a flat end to be told from noise.
const FLAT: (u64, f64) = (50, 0.98);

/// Why a state level can't be had where the record is clipped: its samples lie at the end of the range,
/// as the file says or as they show, being all on the outermost code while the other state scatters.
pub(super) fn cut_off(trace: &Trace<'_>, raw: f64) -> Option<String> {
    let facts = trace.facts();
    let pulses = trace.pulses()?;
    let upper = raw > pulses.threshold;
    let end = if upper { facts.max } else { facts.min };
    let step = facts.resolution?;
    if (raw - end).abs() > 0.6 * step {
        return None;
    }
    let told = facts.clipped as f64 > 0.02 * facts.valid as f64;
    let within = |low: f64, high: f64| -> u64 {
        let bins = 0..facts.histogram.counts.len();
        let inside = bins.filter(|b| (low..high).contains(&facts.histogram.mean_in(*b)));
        inside.map(|b| facts.histogram.counts[b]).sum()
    };
    let share = |from: f64, to: f64, level: f64| {
        let all = within(from, to);
        let there = within(level - 0.5 * step, level + 0.5 * step);
        if all < FLAT.0 {
            0.0
        } else {
            there as f64 / all as f64
        }
    };
    let (far, near) = (3.0 * facts.noise.max(step), pulses.threshold);
    let (own, other) = if upper {
        (
            share(raw - far, f64::INFINITY, end),
            share(f64::NEG_INFINITY, near, pulses.low),
        )
    } else {
        (
            share(f64::NEG_INFINITY, raw + far, end),
            share(near, f64::INFINITY, pulses.high),
        )
    };
    let shown = own > FLAT.1 && other > 0.0 && other < 0.8;
    (told || shown).then(|| {
        let end = trace.true_of(end);
        format!("the record is clipped at {end:.2} V, and the level lies beyond; record with more volts per division")
    })
}

/// Why there are no states, in words.
fn still(trace: &Trace<'_>, level: f64) -> String {
    if super::frequency::too_slow_for_still(trace) {
        let rate = 1e-3 / trace.interval_s();
        return format!(
            "it stays at {level:.2} V, but at {rate:.0} kS/s samples in step with its pulses would look the same; record with at least 1 MS/s"
        );
    }
    format!("it does not pulse: it stays at {level:.2} V")
}

/// How far the extreme of many noisy samples may lie out, in standard deviations of the noise.
const EXTREMES: f64 = 3.5;

/// A level found from the distribution of the samples, with its budget.
pub(super) fn level_value(trace: &Trace<'_>, level: f64) -> Value {
    let mut terms = trace.systematic(level);
    terms.push(trace.resolution_term());
    let facts = trace.facts();
    let raw = (level - trace.known.offset) / trace.known.gain;
    if trace.channel.kind == SampleKind::MinMaxPair {
        // extremes of intervals hold the noise of the samples that they were chosen from
        terms.push(Term::within("extremes", EXTREMES * trace.grain()));
    }
    let lean = levels::lean(&facts.histogram, raw, facts.noise, facts.resolution);
    terms.push(Term::within(
        "shape of the state",
        lean * trace.known.gain.abs(),
    ));
    terms.push(Term::normal(
        "noise",
        trace.grain() / (trace.len() as f64 / 10.0).max(1.0).sqrt(),
    ));
    Value::from_terms(level, terms)
}

/// Mean VCC minus OUT high; on two channels nothing cancels.
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
    let value = Value::linear(vcc.value - high.value, &[(1.0, &vcc), (-1.0, &high)]);
    found.value(Quantity::OutHeadroom, out, value, None);
}
