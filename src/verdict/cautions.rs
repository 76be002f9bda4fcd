//! Cautions that apply to a run, what its set-up does not test, and the bench supply's ceiling.
//!
//! They defer to local rules and licensed practice; sources: HSE EIS 36, HSE INDG354, IEC 61010-2-030,
//! IEC 61010-031, 29 CFR 1910.333, and common practice of the trade.

use crate::data::inspection::NOT_CLEARED_FOR_MAINS;
use crate::data::setup::BULK_DISCHARGED_V;
use crate::data::{Caution, DoNotExceed, Options, Setup};

use super::view::View;

/// The cautions of all set-ups of the run.
pub fn find(view: &View<'_>) -> Vec<Caution> {
    // before a set-up, not only after it
    let setups = view.setups_and_next();
    let mut cautions = vec![plain(
        "Danger to life",
        "The primary side of a mains supply kills, also after switching off. Follow the rules of your country and workplace; leave it to a licensed person where they say so.",
    )];
    if setups.iter().any(|s| s.bench_fed()) {
        cautions.extend(bulk_banner(view.options));
        cautions.extend(before_injection());
    }
    let shown = view.setups();
    if shown.contains(&Setup::Injected) && !shown.contains(&Setup::Mains) {
        cautions.push(plain(NOT_CLEARED_FOR_MAINS, "A clean bench-fed run does not clear the unit for mains. Enter the current-sense check and the feedback-loop check first."));
    }
    if setups.contains(&Setup::Mains) || setups.iter().any(|s| s.bench_fed()) {
        cautions.extend(before_mains());
    }
    cautions
}

fn plain(title: &str, text: &str) -> Caution {
    Caution {
        title: title.to_owned(),
        text: text.to_owned(),
        banner: false,
    }
}

/// Stays until a measured bulk voltage near zero is entered.
fn bulk_banner(options: &Options) -> Option<Caution> {
    let text = match options.readings.get("bulk") {
        Some(volts) if volts.abs() < BULK_DISCHARGED_V => return None,
        Some(volts) => format!("The bulk capacitor was read at {volts:.0} V. Discharge it through a resistor, and measure it again, before anything is connected."),
        None => "The bulk voltage is not entered. Measure it, below 10 V, before the bench supply is connected.".to_owned(),
    };
    Some(Caution {
        title: "Bulk capacitor".to_owned(),
        text,
        banner: true,
    })
}

fn before_injection() -> Vec<Caution> {
    vec![
        plain(
            "Before the bench supply",
            "Mains plug out and in sight. Discharge the bulk capacitor through 1 to 10 kΩ, 5 W or more, insulated, never with a screwdriver; then measure it.",
        ),
        plain(
            "Current limit",
            "50 mA for the first sweep, 100 mA at most. If VCC will not rise, stop and look for a short. If current rises and VREF does not, stop.",
        ),
        plain(
            "Feed",
            "Through a diode and at most 47 Ω (22 Ω for the 8.4 V parts), at the pin side of the VCC capacitor. Measure VCC at the pin.",
        ),
        plain(
            "Pins",
            "Do not short VREF and do not force OUT. Inject tests into CS or COMP only through 1 kΩ or more, and read the pin.",
        ),
    ]
}

fn before_mains() -> Vec<Caution> {
    vec![
        plain(
            "Change-over to mains",
            "Bench leads off, earthed clips off, differential probes on, lamp or limiter in, dummy load on, customer's load off, cover over switch and bulk capacitor.",
        ),
        plain(
            "On mains",
            "Isolating transformer for the unit only. The scope stays earthed: never lift its earth. Use differential probes rated for it. A residual-current device does not protect behind the transformer.",
        ),
        plain(
            "VCC on mains",
            "Never hold VCC up from outside after a shorted-turn, output-short or current-sense finding: its hiccup is then all that protects the unit.",
        ),
        plain(
            "After switching off",
            "Measure the bulk capacitor before touching anything: a dead unit may not discharge it.",
        ),
    ]
}

/// What the set-ups of the run leave untested, in words.
pub fn not_tested(view: &View<'_>) -> Vec<String> {
    let setups = view.setups();
    if setups.is_empty() {
        return vec!["How the unit was fed is not known, so what this run leaves out cannot be said: choose the set-up.".to_owned()];
    }
    if setups.contains(&Setup::Mains) {
        return vec![
            "Behaviour at other mains voltages and loads than the ones recorded.".to_owned(),
            "Insulation between primary and secondary.".to_owned(),
        ];
    }
    let bench_only = [
        "Start-up resistor and its feed",
        "Bulk capacitor and rectifier",
        "VCC capacitor (the bench supply stands in for it)",
        "Auxiliary winding and its diode",
        "Transformer and output side",
        "Current sense under current",
        "Feedback loop",
    ];
    bench_only.iter().map(|s| format!("{s}.")).collect()
}

/// The bench supply's ceiling, where one feeds the unit.
pub fn do_not_exceed(view: &View<'_>, ceiling: DoNotExceed) -> Option<DoNotExceed> {
    if !view.setups_and_next().iter().any(|s| s.bench_fed()) {
        return None;
    }
    Some(ceiling.with_zener(&view.options.parts))
}
