//! How a shot is taken, with which probes, and what to beware of: from common practice of the trade.
//! Cautions defer to local rules and licensed practice.

use crate::data::shot_list::DIVISIONS_ACROSS;
use crate::data::{Role, Setup, ShotKind, Unit, text::engineering};

use super::expect::{Expect, SWEEP_RATE_V_S};
use super::group::Group;
use super::words::{digits, seconds, volts};

/// How finely a threshold is to be seen in a sweep, in volts (common practice).
const STEP_V: f64 = 0.01;
/// What a 10x probe adds to a pin, in farads (common practice).
const PROBE_F: f64 = 15e-12;

/// How to take it, as sentences; the most needed first.
pub(super) fn sentences(group: &Group, expect: &Expect, per_division_s: f64) -> Vec<String> {
    let record_s = per_division_s * DIVISIONS_ACROSS;
    match (group.setup, group.kind) {
        (Setup::Mains, ShotKind::Running) => vec![
            format!(
                "Record within a burst, or while it runs; {}.",
                trigger(group)
            ),
            enough_cycles(expect, record_s),
            differential(group),
        ],
        (_, ShotKind::Running) => vec![
            format!(
                "Raise VCC until it starts, never above {}, then hold about {} and note the meter; {}.",
                volts(expect.ceiling.volts),
                volts(expect.held_v),
                trigger(group)
            ),
            enough_cycles(expect, record_s),
        ],
        (_, ShotKind::Sweep) => sweep(expect, record_s),
        (_, ShotKind::Start) => vec![
            format!(
                "Begin the record before mains goes on: {} hold the first start and what follows.",
                seconds(record_s)
            ),
            differential(group),
            "If it ticks more slowly than that, take a slower time base until three starts fit."
                .to_owned(),
        ],
    }
}

/// What starts the record: the first pin that pulses. COMP is a level, and CS too while no current flows.
fn trigger(group: &Group) -> String {
    let pulses = |role: &&Role| match role {
        Role::RtCt | Role::Out | Role::Gate => true,
        Role::Cs => group.setup != Setup::Injected,
        _ => false,
    };
    match group.roles.iter().find(pulses) {
        Some(role) => format!("trigger on {}, one record", role.title_with_pin()),
        None => "one record at any instant, as nothing here need pulse".to_owned(),
    }
}

fn sweep(expect: &Expect, record_s: f64) -> Vec<String> {
    let per_sample_s = STEP_V / SWEEP_RATE_V_S;
    vec![
        format!(
            "Turn VCC up from 0 to {} and down again by hand, about {} a second; hold it still for a second or more at about {} and at about {}, and note the meter at both.",
            volts(expect.top_v),
            volts(SWEEP_RATE_V_S),
            volts(expect.low_v),
            volts(expect.held_v)
        ),
        format!(
            "Take at least {} points over {}: then VCC moves {} or less from one to the next.",
            digits((record_s / per_sample_s).round()),
            seconds(record_s),
            volts(STEP_V)
        ),
        "The two held levels set the channel to the meter.".to_owned(),
    ]
}

fn enough_cycles(expect: &Expect, record_s: f64) -> String {
    match expect.oscillator_hz {
        Some(hertz) => format!(
            "At the {} that RT and CT give, {} hold {:.1} cycles of the oscillator.",
            engineering(hertz, Unit::Hertz, 3),
            seconds(record_s),
            hertz * record_s
        ),
        None => format!(
            "{} hold 5 to 15 cycles of an oscillator of the usual 50 to 150 kHz.",
            seconds(record_s)
        ),
    }
}

/// How many differential probes it takes; with fewer, what can still be recorded.
fn differential(group: &Group) -> String {
    let hot = group
        .roles
        .iter()
        .filter(|role| on_hot_side(**role))
        .count();
    match hot {
        1 => "One differential probe is enough.".to_owned(),
        more => format!(
            "It takes {more} differential probes; with one, record {} alone.",
            group.roles[0].title_with_pin()
        ),
    }
}

fn on_hot_side(role: Role) -> bool {
    role != Role::Output
}

/// Which probe a pin takes.
pub(super) fn probe(role: Role, setup: Setup, expect: &Expect) -> String {
    match (setup, role) {
        (Setup::Mains, Role::Output) => "10x probe on the output side".to_owned(),
        (Setup::Mains, Role::Bulk) => {
            "differential probe rated for mains, attenuation 100x or more, entered as its factor"
                .to_owned()
        }
        (Setup::Mains, _) => {
            "differential probe rated for mains, lowest attenuation that holds, entered as its factor"
                .to_owned()
        }
        (_, Role::RtCt) => match expect.ct_f {
            Some(ct) => format!(
                "10x probe: its 15 pF or so slow the oscillator by {:.1} %",
                100.0 * PROBE_F / (ct + PROBE_F)
            ),
            None => "10x probe; at 1x its capacitance slows the oscillator".to_owned(),
        },
        _ => "10x probe, its factor set on the scope or entered".to_owned(),
    }
}

/// What to beware of in this shot.
pub(super) fn cautions(group: &Group, expect: &Expect) -> Vec<String> {
    let mut all = match group.setup {
        Setup::Cold => Vec::new(),
        Setup::Injected => vec!["Mains plug out; the bulk capacitor measured below 10 V before the bench supply is connected.".to_owned()],
        Setup::LowBulk => vec!["Mains plug out; 30 to 50 V, current-limited, on the bulk capacitor, dummy load on. It keeps its charge: measure before touching.".to_owned()],
        Setup::Mains => vec![
            "Bench leads and earthed clips off first; isolating transformer, lamp or limiter, cover on. The primary kills. Local rules and licensed practice come first.".to_owned(),
            "Never hold VCC up from outside after a shorted-turn, output-short or current-sense finding.".to_owned(),
        ],
    };
    if group.setup.bench_fed() {
        all.push(format!(
            "Never above {} and {} mA. If VCC will not rise, or current rises without VREF, stop.",
            volts(expect.ceiling.volts),
            digits(expect.ceiling.amps * 1e3)
        ));
        if expect.top_v < expect.start_v {
            all.push(format!(
                "{} lies below the highest start threshold, {}: if it does not start, that proves nothing.",
                volts(expect.top_v),
                volts(expect.start_v)
            ));
        }
    }
    let crosses =
        group.roles.contains(&Role::Output) && group.roles.iter().any(|r| on_hot_side(*r));
    if crosses {
        all.push("The output lies on the other side of the insulation: never join its ground to the primary's.".to_owned());
    }
    if group.roles.contains(&Role::Output) && !expect.output_known() {
        all.push("The output's nominal voltage is not known here: set the range for what the unit's label says.".to_owned());
    }
    all
}
