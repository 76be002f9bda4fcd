//! What the resistors of the start path bear.

use crate::data::Bounded;
use crate::data::budget::PartLoad;
use crate::data::part_check::usual_tolerance;
use crate::data::typed::MarkedPart;

/// Ratings of resistors that are met on boards: power, voltage, name (common practice, from memory of
/// makers' tables).
const RATINGS: [(f64, f64, &str); 6] = [
    (0.125, 150.0, "an 0805 chip (1/8 W, 150 V)"),
    (0.25, 200.0, "a 1206 chip (1/4 W, 200 V)"),
    (0.25, 250.0, "a quarter-watt film part (250 V)"),
    (0.5, 350.0, "a half-watt film part (350 V)"),
    (1.0, 500.0, "a 1 W part (500 V)"),
    (2.0, 500.0, "a 2 W part (500 V)"),
];

/// Share of its rated power at which a resistor is run for long life in a warm case (common practice).
const RUN_AT: f64 = 0.5;

/// Each resistor with bulk at one end and VCC at the other. The nominal load is with VCC running; the
/// bounds hold for every VCC from 0 V and every combination of tolerances.
pub fn loads(part: &MarkedPart, total: Bounded, bulk_v: Bounded, vcc_v: Bounded) -> Vec<PartLoad> {
    let usual = usual_tolerance(part);
    let marked = part.value();
    let count = part.members.len();
    // a chain that was read as a whole is shared out by the marks
    let members: Vec<Bounded> = part
        .members
        .iter()
        .map(|m| {
            let tolerance = m.tolerance.unwrap_or(usual);
            let typ = m.value * total.typ / marked;
            Bounded::within(typ, tolerance.minus, tolerance.plus)
        })
        .collect();
    let members = if count == 1 { vec![total] } else { members };
    members
        .iter()
        .enumerate()
        .map(|(index, ohm)| {
            let rest = others(&members, index);
            let name = match count {
                1 => "start-resistor".to_owned(),
                _ => format!("start-resistor {} of {count}", index + 1),
            };
            load(name, *ohm, rest, bulk_v, vcc_v)
        })
        .collect()
}

fn others(members: &[Bounded], index: usize) -> Bounded {
    let rest = members.iter().enumerate().filter(|(i, _)| *i != index);
    let sum = |pick: fn(&Bounded) -> f64| rest.clone().map(|(_, m)| pick(m)).sum();
    Bounded {
        low: sum(|m| m.low),
        typ: sum(|m| m.typ),
        high: sum(|m| m.high),
    }
}

fn load(part: String, ohm: Bounded, rest: Bounded, bulk_v: Bounded, vcc_v: Bounded) -> PartLoad {
    let volts = |v: f64, own: f64, others: f64| v * own / (own + others);
    let watts = |v: f64, own: f64, others: f64| v * v * own / (own + others).powi(2);
    let least_v = (bulk_v.low - vcc_v.high).max(0.0);
    let most_v = bulk_v.high;
    let across = Bounded::around(
        volts(bulk_v.typ - vcc_v.typ, ohm.typ, rest.typ),
        volts(least_v, ohm.low, rest.high),
        volts(most_v, ohm.high, rest.low),
    );
    // the power of one in a chain is greatest where it equals the others together
    let worst = ohm.low.max(rest.low.min(ohm.high));
    let power = Bounded::around(
        watts(bulk_v.typ - vcc_v.typ, ohm.typ, rest.typ),
        watts(least_v, ohm.low, rest.high).min(watts(least_v, ohm.high, rest.high)),
        watts(most_v, worst, rest.low),
    );
    let overstressed = power.high > 0.25 || across.high > 250.0;
    PartLoad {
        part,
        ohm,
        watts: power,
        volts: across,
        overstressed,
        word: word(power.high, across.high, overstressed),
    }
}

fn word(watts: f64, volts: f64, overstressed: bool) -> String {
    let fits =
        |(most_w, most_v, _): &&(f64, f64, &str)| watts <= most_w * RUN_AT && volts <= *most_v;
    let enough = match RATINGS.iter().find(fits) {
        Some((_, _, name)) => format!("takes {name}, run at half of its power"),
        None => "takes several parts in series".to_owned(),
    };
    if !overstressed {
        return enough;
    }
    let much = match (watts > 0.25, volts > 250.0) {
        (true, true) => "power and voltage",
        (true, false) => "power",
        _ => "voltage",
    };
    format!("too much {much} for a common quarter-watt part (250 V): {enough}")
}
