//! While it runs: what the start resistor bears, the running current, the hold-up and the smallest
//! capacitor.

use super::hold::Running;
use super::inputs::Inputs;
use super::node::Node;
use super::{limits, loads};
use crate::data::budget::Budget;
use crate::data::text::engineering;
use crate::data::{Bounded, Unit};

/// Running current of the bipolar family without gate charge, A (SLUS223G: 11 mA typical, 17 mA at most).
const USUAL_RUN_A: (f64, f64) = (11e-3, 17e-3);
/// VCC from the own supply, V (common practice: about 15 V).
const USUAL_VCC_V: Bounded = Bounded {
    low: 10.0,
    typ: 15.0,
    high: 20.0,
};
/// Time until the own supply carries VCC, s (common practice: 5 to 20 ms).
const USUAL_TAKE_OVER_S: Bounded = Bounded {
    low: 5e-3,
    typ: 10e-3,
    high: 20e-3,
};
/// VREF for the charge of its capacitor, V.
const VREF_V: Bounded = Bounded {
    low: 4.75,
    typ: 5.0,
    high: 5.25,
};

/// What the resistors of the start path bear.
pub(super) fn loads_of(inputs: &mut Inputs<'_>, budget: &mut Budget, node: &Node) {
    let (Some(bulk_v), false) = (budget.bulk_v, node.start_ohm.typ.is_nan()) else {
        return;
    };
    let what = ("vcc", "VCC while running", Unit::Volt);
    let vcc_v = match inputs.reading(what.0, what.1, what.2) {
        Some(read) => read,
        None => inputs.assumed(what, USUAL_VCC_V, "assumed: about 15 V, common practice"),
    };
    let plain =
        crate::data::typed::MarkedPart::plain(crate::data::typed::Kind::Ohm, node.start_ohm.typ);
    let mark = inputs.mark("start-resistor").unwrap_or(&plain);
    budget.loads = loads::loads(mark, node.start_ohm, bulk_v, vcc_v);
}

/// Running current, hold-up, smallest capacitor, share of the VREF capacitor.
pub(super) fn after_start(
    inputs: &mut Inputs<'_>,
    budget: &mut Budget,
    node: &Node,
    start_v: Option<Bounded>,
    stop_v: Option<Bounded>,
) {
    let run_a = running_current(inputs, budget);
    budget.run_a = Some(run_a);
    let (Some(start_v), Some(stop_v)) = (start_v, stop_v) else {
        return;
    };
    let vref_f = inputs.part("vref-capacitor", "VREF capacitor", Unit::Farad);
    let vref_c = vref_f.map_or(Bounded::exact(0.0), |c| {
        Bounded::around(c.typ * VREF_V.typ, c.low * VREF_V.low, c.high * VREF_V.high)
    });
    if vref_f.is_none() {
        let text = "VREF capacitor not told: what it takes from VCC at a start is left out.";
        budget.remarks.push(text.to_owned());
    }
    let mut held = *node;
    if node.bulk_v.typ.is_nan() || node.start_ohm.typ.is_nan() {
        // without the start resistor's help: it shortens nothing
        held.bulk_v = Bounded::exact(0.0);
        held.start_ohm = Bounded::exact(f64::INFINITY);
        let text =
            "Hold-up without the start resistor's current: input or start resistor not told.";
        budget.remarks.push(text.to_owned());
    }
    let running = Running {
        node: held,
        run_a,
        start_v,
        stop_v,
        vref_c,
    };
    let what = (
        "take-over-time",
        "time until the own supply carries VCC",
        Unit::Second,
    );
    let until_s = match inputs.exact(what.0, what.1, what.2) {
        Some(told) => told,
        None => {
            let from =
                "assumed: 5 to 20 ms, common practice; the largest doubt of the smallest capacitor";
            inputs.assumed(what, USUAL_TAKE_OVER_S, from)
        }
    };
    let smallest = running.smallest_f(until_s);
    budget.smallest_vcc_capacitor_f = Some(smallest);
    budget.remarks.push(
        "Smallest VCC capacitor: from running current, thresholds, take-over time and what the VREF capacitor \
         takes. A part as small as that has nothing left for age: common practice is half as much again."
            .to_owned(),
    );
    if node.vcc_f.typ.is_finite() {
        let hold = running.hold_up_s();
        budget.hold_up_s = Some(hold);
        budget.falls_back_because = (hold.typ < until_s.typ).then(|| {
            let ms = |s: f64| engineering(s, Unit::Second, 3);
            format!(
                "the VCC capacitor holds for {}, and the own supply is taken to carry after {}",
                ms(hold.typ),
                ms(until_s.typ)
            )
        });
        if vref_f.is_some() {
            let step = running.vref_step_v();
            budget.vref_step_v = Some(step);
            budget.vref_share = Some(step.typ / (start_v.typ - stop_v.typ));
        }
    }
    budget.sensitivity = limits::capacitor(&running, until_s);
    if node.vcc_f.typ.is_nan() {
        budget.sensitivity.truncate(1);
    }
}

/// Running current: read, else published or usual, with the gate charge at the frequency of OUT.
fn running_current(inputs: &mut Inputs<'_>, budget: &mut Budget) -> Bounded {
    let what = ("run-current", "running current", Unit::Ampere);
    if let Some(read) = inputs.reading(what.0, what.1, what.2) {
        return read;
    }
    let own = match inputs.published("icc_operating", what, (0.5, 1.5)) {
        Some(published) => published,
        None => {
            let value = Bounded::around(USUAL_RUN_A.0, 0.5 * USUAL_RUN_A.0, USUAL_RUN_A.1);
            inputs.assumed(what, value, "assumed: bipolar 384x (SLUS223G)")
        }
    };
    let charge_c = inputs.exact("gate-charge", "gate charge", Unit::Coulomb);
    match (charge_c, budget.timing.out_frequency_hz) {
        (Some(q), Some(f)) => Bounded::around(
            own.typ + q.typ * f.typ,
            own.low + q.low * f.low,
            own.high + q.high * f.high,
        ),
        _ => {
            let text =
                "Running current without the gate's: gate-charge, rt and ct are needed for it.";
            budget.remarks.push(text.to_owned());
            own
        }
    }
}
