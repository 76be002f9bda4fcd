//! The start-up budget on a terminal.

use super::Page;
use super::sketch::sketch;
use super::timing::{from_ramp, shown, timing};
use crate::data::budget::{Budget, Sensitivity, Starts};
use crate::data::text::engineering;
use crate::data::{Bounded, Unit, Verdict};

/// Column at which values stand.
const AT: usize = 28;

/// The whole budget, as text.
pub fn startup_budget(budget: &Budget, ascii: bool) -> String {
    let mut page = Page::new(ascii);
    page.hanging("Start-up", 12, &first_line(budget));
    if let Some(why) = &budget.worst_because {
        page.hanging("At worst", 12, why);
    }
    if let Some(why) = &budget.falls_back_because {
        page.hanging("Then", 12, &format!("it falls back and tries again: {why}"));
    }
    results(&mut page, budget);
    loads(&mut page, budget);
    limits(&mut page, budget);
    if let Some(curve) = &budget.curve {
        page.heading("EXPECTED VCC");
        for line in sketch(curve) {
            page.drawn(&line);
        }
        page.hanging(
            "",
            2,
            "* nominal  . between the slowest and the fastest  = start  - stop",
        );
    }
    timing(&mut page, &budget.timing);
    if let Some(found) = &budget.from_ramp {
        from_ramp(&mut page, found);
    }
    checked(&mut page, budget);
    inputs(&mut page, budget);
    remarks(&mut page, budget);
    page.finish()
}

fn first_line(budget: &Budget) -> String {
    let time = budget
        .time_to_start_s
        .map(|t| engineering(t.typ, Unit::Second, 3));
    match (budget.starts, time, &budget.never_because) {
        (Starts::Never, _, Some(why)) => format!("never, because {why}"),
        (Starts::Always, Some(time), _) => {
            format!("after {time}, with every combination of tolerances")
        }
        (Starts::NotAtWorst, Some(time), _) => {
            format!(
                "after {time} with nominal values, but not with every combination of tolerances"
            )
        }
        (Starts::Always, None, _) => "it starts; when, can't be said".to_owned(),
        (Starts::NotAtWorst, None, _) => {
            "it starts with nominal values, but not with every combination; when, can't be said"
                .to_owned()
        }
        _ => "can't be said; what is missing stands below".to_owned(),
    }
}

/// A result's name in JSON, its label, its value and unit.
type Row = (&'static str, &'static str, Option<Bounded>, Unit);

/// Up to the start.
fn before_start(b: &Budget) -> [Row; 7] {
    let ohm = b.largest_start_resistor_ohm;
    [
        ("bulk_voltage", "  bulk voltage", b.bulk_v, Unit::Volt),
        (
            "bulk_trough",
            "  bulk, trough under load",
            b.bulk_trough_v,
            Unit::Volt,
        ),
        (
            "charging_current",
            "  start resistor passes",
            b.charging_a,
            Unit::Ampere,
        ),
        (
            "spare_current",
            "  left at the threshold",
            b.spare_a,
            Unit::Ampere,
        ),
        ("final_voltage", "  VCC would end at", b.final_v, Unit::Volt),
        (
            "time_to_start",
            "  time to the start",
            b.time_to_start_s,
            Unit::Second,
        ),
        (
            "largest_start_resistor",
            "  largest start resistor",
            ohm,
            Unit::Ohm,
        ),
    ]
}

/// After it.
fn after_start(b: &Budget) -> [Row; 4] {
    let farad = b.smallest_vcc_capacitor_f;
    [
        ("run_current", "  running current", b.run_a, Unit::Ampere),
        (
            "vref_step",
            "  VREF capacitor takes",
            b.vref_step_v,
            Unit::Volt,
        ),
        (
            "hold_up",
            "  VCC capacitor holds for",
            b.hold_up_s,
            Unit::Second,
        ),
        (
            "smallest_vcc_capacitor",
            "  smallest VCC capacitor",
            farad,
            Unit::Farad,
        ),
    ]
}

fn results(page: &mut Page, budget: &Budget) {
    page.heading("WHAT THE START-UP PARTS ALLOW");
    let rows = before_start(budget).into_iter().chain(after_start(budget));
    for (name, label, value, unit) in rows {
        let why = budget.why_not.iter().find(|(what, _)| *what == name);
        match (value, why) {
            (Some(value), _) => {
                let mut text = shown(value, unit);
                if let (true, Some(share)) = (name == "vref_step", budget.vref_share) {
                    let share = engineering(share, Unit::One, 2);
                    text.push_str(&format!(", {share} of the hysteresis"));
                }
                page.hanging(label, AT, &text);
            }
            (None, Some((_, why))) if name != "bulk_trough" => {
                page.hanging(label, AT, &format!("not computed: {why}"));
            }
            _ => {}
        }
    }
}

fn loads(page: &mut Page, budget: &Budget) {
    if budget.loads.is_empty() {
        return;
    }
    page.heading("WHAT THE START RESISTOR BEARS");
    for load in &budget.loads {
        let text = format!(
            "{} and {}, at most {} and {}; {}",
            engineering(load.watts.typ, Unit::Watt, 3),
            engineering(load.volts.typ, Unit::Volt, 3),
            engineering(load.watts.high, Unit::Watt, 3),
            engineering(load.volts.high, Unit::Volt, 3),
            load.word
        );
        page.hanging(&format!("  {}", load.part), AT, &text);
    }
}

fn limits(page: &mut Page, budget: &Budget) {
    if budget.sensitivity.is_empty() {
        return;
    }
    page.heading("HOW BAD EACH MAY BE, THE OTHERS AS THEY ARE (AND AT THEIR WORST)");
    for row in &budget.sensitivity {
        page.hanging(&format!("  {}", row.title), AT + 14, &limit(row));
    }
}

fn limit(row: &Sensitivity) -> String {
    let number = |v: f64| match v {
        v if v.is_finite() => engineering(v, row.unit, 3),
        _ if row.above => "any".to_owned(),
        _ => "never enough".to_owned(),
    };
    let way = if row.above { "up to" } else { "down to" };
    let now = match row.now {
        Some(now) => format!("now {}, ", engineering(now, row.unit, 3)),
        None => String::new(),
    };
    format!(
        "{now}{way} {} ({})",
        number(row.limit),
        number(row.worst_limit)
    )
}

fn checked(page: &mut Page, budget: &Budget) {
    if budget.checked.is_empty() {
        return;
    }
    page.heading("PARTS READ");
    for (name, check) in &budget.checked {
        let word = match check.verdict {
            Verdict::InLimits => "in limits",
            Verdict::Outside => "outside",
            _ => "can't be said",
        };
        let mut text = format!("{word}: {}", check.because);
        if let Some(settle) = &check.settle {
            text.push_str(&format!("; {settle} would settle it"));
        }
        page.hanging(&format!("  {name}"), AT, &text);
        for remark in &check.remarks {
            page.hanging("", AT, remark);
        }
    }
}

fn inputs(page: &mut Page, budget: &Budget) {
    page.heading("COMPUTED FROM");
    for input in &budget.inputs {
        let text = format!("{}; {}", shown(input.value, input.unit), input.from);
        page.hanging(&format!("  {}", input.title), AT + 14, &text);
    }
}

fn remarks(page: &mut Page, budget: &Budget) {
    page.gap();
    for remark in &budget.remarks {
        page.hanging("-", 2, remark);
    }
    let text = "A computed start says nothing about danger: mains and charged capacitors can kill. Local rules and \
                licensed practice come first.";
    page.hanging("-", 2, text);
}
