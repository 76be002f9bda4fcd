//! State levels of the pins that pulse (IEEE 181 histogram method).

use crate::data::{InspectedCapture, Mark, Quantity, Role, Term, Value};

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
    for (quantity, raw) in quantities.into_iter().zip([pulses.high, pulses.low]) {
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

/// A level found from the distribution of the samples, with its budget.
pub(super) fn level_value(trace: &Trace<'_>, level: f64) -> Value {
    let mut terms = trace.systematic(level);
    terms.push(trace.resolution_term());
    let facts = trace.facts();
    let raw = (level - trace.known.offset) / trace.known.gain;
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
