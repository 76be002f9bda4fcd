//! The start-up budget: from the input to the bulk, through the start resistor into the VCC capacitor, to
//! the start, and until the own supply carries the controller.
//!
//! [`budget`] computes all that its inputs allow; what is missing is named under the result that needs
//! it. Bounds are true: they hold for every combination of tolerances and limits ([`node`]).
//! The energy behind the take-over is not modelled here: its time is an input.

pub mod bulk;
mod curve;
pub mod hold;
mod inputs;
mod limits;
pub mod loads;
pub mod node;
mod oscillator;
mod result;
mod running;

use crate::controllers::Profile;
use crate::data::budget::{Budget, BudgetRequest, Origin, Starts};
use crate::data::setup::BULK_DISCHARGED_V;
use crate::data::text::engineering;
use crate::data::{Bounded, Unit};

use inputs::Inputs;
use node::{Corner, Node, threshold};

/// Standby current of the bipolar family where nothing is told, A (SLUS223G: 0.5 mA typical, 1 mA at
/// most).
const USUAL_STANDBY_A: (f64, f64) = (0.5e-3, 1e-3);
/// Leakage of an electrolytic capacitor by its makers' rule, A for each farad and volt: 0.01·C·V.
const LEAKAGE_PER_CV: f64 = 0.01;
/// Tolerance of a zener without one (common practice).
const ZENER_SHARE: f64 = 0.05;

/// The budget of these parts with one of these candidates. Without candidates there are no thresholds, and
/// the currents of the bipolar family are assumed.
pub fn budget(request: &BudgetRequest, candidates: &[&Profile]) -> Budget {
    let mut inputs = Inputs::new(request, candidates);
    let mut budget = result::empty(oscillator::timing(request, candidates));
    bulk_of(&mut inputs, request, &mut budget);
    let start_v = inputs.published(
        "vcc_start",
        ("vcc_start", "start threshold", Unit::Volt),
        (0.9, 1.1),
    );
    let stop_v = inputs.published(
        "vcc_stop",
        ("vcc_stop", "stop threshold", Unit::Volt),
        (0.9, 1.1),
    );
    let start_ohm = inputs.part("start-resistor", "start resistor", Unit::Ohm);
    let vcc_f = inputs.part("vcc-capacitor", "VCC capacitor", Unit::Farad);
    let standby_a = standby(&mut inputs, vcc_f, start_v);
    let leakage_ohm = inputs
        .exact("leakage", "leakage from VCC to ground", Unit::Ohm)
        .unwrap_or(Bounded::exact(f64::INFINITY));
    let node = Node {
        bulk_v: budget.bulk_v.unwrap_or(Bounded::exact(f64::NAN)),
        start_ohm: start_ohm.unwrap_or(Bounded::exact(f64::NAN)),
        vcc_f: vcc_f.unwrap_or(Bounded::exact(f64::NAN)),
        standby_a,
        leakage_ohm,
    };
    let zener_v = zener(&mut inputs);
    charge(&mut budget, &node, start_v, stop_v, zener_v);
    running::loads_of(&mut inputs, &mut budget, &node);
    running::after_start(&mut inputs, &mut budget, &node, start_v, stop_v);
    if let Some(v) = start_v.filter(|_| budget.bulk_v.is_some() && start_ohm.is_some()) {
        let limits = limits::charge(&node, v, request.feed.as_ref());
        budget.sensitivity.splice(0..0, limits);
    }
    result::checks(&mut budget, request);
    budget.from_ramp = oscillator::from_ramp(request, candidates, &mut budget.why_not);
    result::reasons(&mut budget, &node, start_v, &inputs);
    budget.inputs = inputs.used;
    budget
}

/// The bulk from its reading, else from the input; its trough under load.
fn bulk_of(inputs: &mut Inputs<'_>, request: &BudgetRequest, budget: &mut Budget) {
    if let Some(feed) = &request.feed {
        let title = if feed.ac {
            "mains, r.m.s."
        } else {
            "direct input"
        };
        let from = match feed.limits_told {
            true => "typed, with limits".to_owned(),
            false => "typed; ±10 % assumed".to_owned(),
        };
        inputs.note(
            ("input", title, Unit::Volt),
            feed.volts,
            Origin::Typed,
            from,
        );
    }
    let read = match request.readings.get("bulk") {
        Some(volts) if volts.abs() < BULK_DISCHARGED_V => {
            budget.remarks.push(format!(
                "The bulk was read at {}: that is a discharged one, and says nothing of what it has under power.",
                engineering(*volts, Unit::Volt, 3)
            ));
            None
        }
        _ => inputs.reading("bulk", "bulk, read", Unit::Volt),
    };
    budget.bulk_v = read.or_else(|| request.feed.as_ref().map(bulk::unloaded_v));
    if let (None, Some(feed)) = (read, request.feed.as_ref().filter(|f| f.ac)) {
        budget.remarks.push(format!(
            "Bulk: √2 times the mains less 2 V for the bridge; a flattened crest takes up to 5 % more. The start \
             resistor is taken to begin at the bulk: from the AC side of the bridge its mean source is {} \
             (one half-wave) or {} (both).",
            engineering(feed.volts.typ * std::f64::consts::SQRT_2 / std::f64::consts::PI, Unit::Volt, 3),
            engineering(feed.volts.typ * 2.0 * std::f64::consts::SQRT_2 / std::f64::consts::PI, Unit::Volt, 3),
        ));
    }
    let farad = inputs.part("bulk-capacitor", "bulk capacitor", Unit::Farad);
    let watts = inputs.exact("bulk-power", "power taken from the bulk", Unit::Watt);
    let feed = request.feed.as_ref().filter(|f| f.ac);
    budget.bulk_trough_v = match (budget.bulk_v, farad, watts, feed) {
        (Some(peak), Some(farad), Some(watts), Some(_)) => {
            let what = ("mains-frequency", "mains frequency", Unit::Hertz);
            let from = "assumed: 50 Hz, the longer of the two";
            let hertz = inputs.assumed(what, Bounded::exact(50.0), from).typ;
            Some(Bounded::around(
                bulk::trough_v(peak.typ, hertz, farad.typ, watts.typ),
                bulk::trough_v(peak.low, hertz, farad.low, watts.high),
                bulk::trough_v(peak.high, hertz, farad.high, watts.low),
            ))
        }
        _ => None,
    };
}

/// Standby current and, as its upper bound, the capacitor's own leakage.
fn standby(inputs: &mut Inputs<'_>, vcc_f: Option<Bounded>, start_v: Option<Bounded>) -> Bounded {
    let what = ("standby-current", "standby current", Unit::Ampere);
    let read = inputs.reading(what.0, what.1, what.2);
    let published = |inputs: &mut Inputs<'_>| inputs.published("icc_startup", what, (0.0, 2.0));
    let mut current = match read.or_else(|| published(inputs)) {
        Some(current) => current,
        None => {
            let value = Bounded::around(USUAL_STANDBY_A.0, 0.0, USUAL_STANDBY_A.1);
            inputs.assumed(what, value, "assumed: bipolar 384x (SLUS223G)")
        }
    };
    current.low = current.low.max(0.0);
    let electrolytic = vcc_f.filter(|c| c.typ >= 1e-6);
    if let (Some(c), Some(v)) = (electrolytic, start_v) {
        let most = LEAKAGE_PER_CV * c.high * v.high;
        let what = (
            "capacitor-leakage",
            "leakage of the VCC capacitor",
            Unit::Ampere,
        );
        let from = "assumed: none to 0.01·C·V, the makers' rule for electrolytics";
        current.high += inputs
            .assumed(what, Bounded::around(0.0, 0.0, most), from)
            .high;
    }
    current
}

/// The level that VCC can't pass; infinite without a zener.
fn zener(inputs: &mut Inputs<'_>) -> Bounded {
    let Some(mark) = inputs.mark("zener") else {
        return Bounded::exact(f64::INFINITY);
    };
    let value = Bounded::within(mark.value(), ZENER_SHARE, ZENER_SHARE);
    let from = "typed; ±5 % assumed".to_owned();
    inputs.note(
        ("zener", "zener on VCC", Unit::Volt),
        value,
        Origin::Typed,
        from,
    )
}

/// Final voltage, time, and whether it starts.
fn charge(
    budget: &mut Budget,
    node: &Node,
    start_v: Option<Bounded>,
    stop_v: Option<Bounded>,
    zener_v: Bounded,
) {
    if node.bulk_v.typ.is_nan() {
        return;
    }
    if let Some(v) = start_v {
        budget.largest_start_resistor_ohm = Some(node.largest_start_ohm(v));
    }
    if node.start_ohm.typ.is_nan() {
        return;
    }
    let end = node.final_v();
    let clamped = Bounded {
        low: end.low.min(zener_v.low),
        typ: end.typ.min(zener_v.typ),
        high: end.high.min(zener_v.high),
    };
    budget.charging_a = Some(node.charging_a());
    budget.final_v = Some(clamped);
    budget.curve = curve::curve(node, start_v, stop_v, zener_v.typ);
    let Some(start_v) = start_v else {
        return;
    };
    budget.spare_a = Some(node.spare_a(start_v));
    let reaches = |corner: Corner| {
        let zener = match corner {
            Corner::Slow => zener_v.low,
            Corner::Typ => zener_v.typ,
            Corner::Fast => zener_v.high,
        };
        let level = threshold(start_v, corner);
        node.at(corner).final_v() > level && zener > level
    };
    budget.starts = match (reaches(Corner::Typ), reaches(Corner::Slow)) {
        (true, true) => Starts::Always,
        (true, false) => Starts::NotAtWorst,
        (false, _) => Starts::Never,
    };
    if budget.starts == Starts::Never {
        budget.never_because = Some(result::never(node, start_v, zener_v, Corner::Typ));
    } else if node.vcc_f.typ.is_finite() {
        let mut time = node.time_s(start_v);
        if budget.starts == Starts::NotAtWorst {
            time.high = f64::INFINITY;
        }
        budget.time_to_start_s = Some(time);
    }
    if budget.starts == Starts::NotAtWorst {
        budget.worst_because = Some(result::never(node, start_v, zener_v, Corner::Slow));
    }
}
