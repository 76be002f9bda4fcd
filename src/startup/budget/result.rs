//! Reasons: why it never starts, why a result is missing, what a reading says of a part.

use super::inputs::Inputs;
use super::node::{Corner, Node, threshold};
use crate::data::budget::{Budget, BudgetRequest, Starts};
use crate::data::part_check::{check, usual_meter};
use crate::data::text::engineering;
use crate::data::{Bounded, Timing, Unit};

/// A budget in which nothing is known but the oscillator.
pub(super) fn empty(timing: Timing) -> Budget {
    Budget {
        inputs: Vec::new(),
        bulk_v: None,
        bulk_trough_v: None,
        charging_a: None,
        spare_a: None,
        final_v: None,
        time_to_start_s: None,
        starts: Starts::CannotSay,
        never_because: None,
        worst_because: None,
        falls_back_because: None,
        loads: Vec::new(),
        run_a: None,
        vref_step_v: None,
        vref_share: None,
        hold_up_s: None,
        smallest_vcc_capacitor_f: None,
        largest_start_resistor_ohm: None,
        sensitivity: Vec::new(),
        curve: None,
        checked: Vec::new(),
        timing,
        from_ramp: None,
        why_not: Vec::new(),
        remarks: Vec::new(),
    }
}

/// Why VCC does not reach the start at this corner.
pub(super) fn never(node: &Node, start_v: Bounded, zener_v: Bounded, corner: Corner) -> String {
    let charge = node.at(corner);
    let level = threshold(start_v, corner);
    let volts = |v: f64| engineering(v, Unit::Volt, 4);
    let amperes = |a: f64| engineering(a, Unit::Ampere, 3);
    let zener = match corner {
        Corner::Slow => zener_v.low,
        Corner::Typ => zener_v.typ,
        Corner::Fast => zener_v.high,
    };
    if zener <= level && charge.final_v() > level {
        return format!(
            "the zener holds VCC at {}, the start threshold is {}",
            volts(zener),
            volts(level)
        );
    }
    let mut drawn = amperes(charge.current_a);
    if charge.leakage_ohm.is_finite() {
        let leak = amperes(level / charge.leakage_ohm);
        drawn = format!("{drawn} and {leak} of leakage");
    }
    if charge.bulk_v <= level {
        return format!(
            "the bulk of {} is not above the start threshold of {}",
            volts(charge.bulk_v),
            volts(level)
        );
    }
    format!(
        "VCC ends at {}, below the start threshold of {}: at the threshold {} pass through the start resistor of {}, \
         and {drawn} are drawn",
        volts(charge.final_v().max(0.0)),
        volts(level),
        amperes(charge.start_current_a(level)),
        engineering(charge.start_resistance_ohm, Unit::Ohm, 4),
    )
}

/// Parts that were read, against their marks.
pub(super) fn checks(budget: &mut Budget, request: &BudgetRequest) {
    for (name, mark) in &request.marks {
        let Some(&reading) = request.readings.get(name) else {
            continue;
        };
        let mut meter = request.meter.unwrap_or(usual_meter(mark.kind));
        meter.offset = 0.0;
        let mut result = check(mark, reading, meter);
        if request.meter.is_none() {
            let text = format!("meter: ±{} % of the reading assumed", 100.0 * meter.gain);
            result.remarks.push(text);
        }
        budget.checked.push((name.clone(), result));
    }
}

/// What was not told, each as the reason that names the option.
struct Untold {
    input: Reason,
    resistor: Reason,
    capacitor: Reason,
    controller: Reason,
    vref: Reason,
    load: Reason,
}

type Reason = Option<&'static str>;

fn untold(budget: &Budget, node: &Node, start_v: Option<Bounded>, inputs: &Inputs<'_>) -> Untold {
    let unless = |known: bool, text: &'static str| (!known).then_some(text);
    let marked = |name: &str| inputs.mark(name).is_some();
    Untold {
        input: unless(
            budget.bulk_v.is_some(),
            "input not told: --input 230ac or --reading bulk=325V",
        ),
        resistor: unless(
            !node.start_ohm.typ.is_nan(),
            "start resistor not told: --part start-resistor=220k",
        ),
        capacitor: unless(
            !node.vcc_f.typ.is_nan(),
            "VCC capacitor not told: --part vcc-capacitor=47u",
        ),
        controller: unless(
            start_v.is_some(),
            if inputs.has_controller() {
                "no start threshold is published for this controller"
            } else {
                "controller not told, so no thresholds: --controller MARKING"
            },
        ),
        vref: unless(
            marked("vref-capacitor"),
            "VREF capacitor not told: --part vref-capacitor=100n",
        ),
        load: unless(
            marked("bulk-capacitor") && marked("bulk-power"),
            "bulk capacitor or power not told: --part bulk-capacitor=100u --part bulk-power=60W",
        ),
    }
}

/// A result's name, whether it is there, what it needs, in the order in which that is asked for.
type Needed = (&'static str, bool, Vec<Reason>);

/// The results up to the start.
fn before_start(budget: &Budget, u: &Untold) -> Vec<Needed> {
    let there = |value: Option<Bounded>| value.is_some();
    let largest = there(budget.largest_start_resistor_ohm);
    let ends = Some("it never starts");
    let charged = vec![u.input, u.resistor];
    let timed = vec![u.input, u.resistor, u.controller, u.capacitor, ends];
    let trough = vec![u.input, u.load, Some("no mains input")];
    let spare = vec![u.input, u.resistor, u.controller];
    let drawn = vec![u.input, u.resistor, u.capacitor];
    vec![
        ("bulk_voltage", there(budget.bulk_v), vec![u.input]),
        ("bulk_trough", there(budget.bulk_trough_v), trough),
        (
            "charging_current",
            there(budget.charging_a),
            charged.clone(),
        ),
        ("spare_current", there(budget.spare_a), spare),
        ("final_voltage", there(budget.final_v), charged.clone()),
        ("time_to_start", there(budget.time_to_start_s), timed),
        ("dissipation", !budget.loads.is_empty(), charged),
        (
            "largest_start_resistor",
            largest,
            vec![u.input, u.controller],
        ),
        ("curve", budget.curve.is_some(), drawn),
    ]
}

/// The results after it.
fn after_start(budget: &Budget, u: &Untold) -> Vec<Needed> {
    let there = |value: Option<Bounded>| value.is_some();
    let smallest = there(budget.smallest_vcc_capacitor_f);
    let step = vec![u.controller, u.capacitor, u.vref];
    vec![
        (
            "hold_up",
            there(budget.hold_up_s),
            vec![u.controller, u.capacitor],
        ),
        ("vref_step", there(budget.vref_step_v), step),
        ("smallest_vcc_capacitor", smallest, vec![u.controller]),
    ]
}

/// The reason for each result that is missing, and for each bound that has no end.
pub(super) fn reasons(
    budget: &mut Budget,
    node: &Node,
    start_v: Option<Bounded>,
    inputs: &Inputs<'_>,
) {
    let u = untold(budget, node, start_v, inputs);
    let mut needed = before_start(budget, &u);
    needed.extend(after_start(budget, &u));
    let missing: Vec<(&'static str, String)> = needed
        .into_iter()
        .filter(|(_, known, _)| !known)
        .filter_map(|(name, _, reasons)| Some((name, reasons.into_iter().flatten().next()?)))
        .map(|(name, reason)| (name, reason.to_owned()))
        .collect();
    budget.why_not.splice(0..0, missing);
    without_end(budget);
}

/// Values and bounds that are infinite, with the reason: under the result's name where its nominal value is,
/// else under that of its worst case.
fn without_end(budget: &mut Budget) {
    let worst = budget.worst_because.clone().unwrap_or_default();
    let overlap = "no capacitor does: start and stop lie too close together at worst";
    let held = "the start resistor alone carries the running current";
    let unlimited = "with no standby current and no leakage there is no largest start resistor";
    let stops = "at the weakest discharge current the discharge never ends";
    let all: [(&'static str, &'static str, Option<Bounded>, &str); 5] = [
        (
            "time_to_start",
            "worst_case.time_to_start",
            budget.time_to_start_s,
            &worst,
        ),
        (
            "smallest_vcc_capacitor",
            "worst_case.smallest_vcc_capacitor",
            budget.smallest_vcc_capacitor_f,
            overlap,
        ),
        ("hold_up", "worst_case.hold_up", budget.hold_up_s, held),
        (
            "largest_start_resistor",
            "worst_case.largest_start_resistor",
            budget.largest_start_resistor_ohm,
            unlimited,
        ),
        ("timing", "worst_case.timing", budget.timing.fall_s, stops),
    ];
    let mut found = Vec::new();
    for (name, at_worst, value, why) in all {
        match value {
            Some(b) if !b.typ.is_finite() => found.push((name, why.to_owned())),
            Some(b) if !b.high.is_finite() => found.push((at_worst, why.to_owned())),
            _ => {}
        }
    }
    budget.why_not.extend(found);
}
