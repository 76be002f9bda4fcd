//! Currents typed beside voltage steps, against the word typed with them.

use crate::data::typed::{Kind, written};
use crate::data::{Limit, VoltageStep};

/// By so much of itself and so many amperes more a current has to differ before it contradicts a word: twice
/// what a meter is assumed to be off by (common practice).
const ROOM: (f64, f64) = (0.01, 20e-6);
/// A running controller draws at least so many times what a stopped one does (common practice: ten times).
const RUNS_DRAWS: f64 = 1.5;

/// A sentence for each reading whose current says something else than its word. `stopped` and `running` are
/// what is published of the current below the start threshold and above it; without the first, readings are
/// only set against each other.
pub fn remarks(
    readings: &[VoltageStep],
    stopped: Option<&Limit>,
    running: Option<&Limit>,
) -> Vec<String> {
    let published = stopped.and_then(|limit| Some((limit.max?, limit)));
    match published {
        Some((most_a, limit)) => {
            let says = format!(
                "one that is stopped draws {} at most ({}){}",
                amperes(most_a),
                limit.source,
                typical(running)
            );
            let one = |step: &VoltageStep| against(step, most_a, &says);
            readings.iter().filter_map(one).collect()
        }
        None => each_other(readings).into_iter().collect(),
    }
}

fn amperes(value: f64) -> String {
    written(value, Kind::Ampere)
}

fn typical(running: Option<&Limit>) -> String {
    running
        .and_then(|limit| limit.typ)
        .map_or(String::new(), |typ| {
            format!(", one that runs typically {}", amperes(typ))
        })
}

/// `works at 8.8 V with 300 µA (line 3)`.
fn told(step: &VoltageStep, current_a: f64) -> String {
    format!(
        "{} at {} with {} ({})",
        state(step),
        written(step.volts, Kind::Volt),
        amperes(current_a),
        step.place.in_words()
    )
}

fn state(step: &VoltageStep) -> &'static str {
    if step.works { "works" } else { "is dead" }
}

fn against(step: &VoltageStep, most_a: f64, says: &str) -> Option<String> {
    let current_a = step.current_a?;
    let room = ROOM.0 * current_a + ROOM.1;
    let told = told(step, current_a);
    if step.works && current_a + room < most_a {
        return Some(format!(
            "It {told}, but {says}: by its current it did not run. Look again at what showed that it works."
        ));
    }
    (!step.works && current_a - room > most_a).then(|| {
        format!(
            "It {told}, but {says}: it runs and what should show that does not, or something else on VCC draws the rest. Look at VREF and RT/CT there."
        )
    })
}

/// The working reading that draws least and the dead one that draws most.
fn each_other(readings: &[VoltageStep]) -> Option<String> {
    let of = |works: bool| {
        let those = readings.iter().filter(move |s| s.works == works);
        those.filter_map(|s| Some((s, s.current_a.filter(|a| a.is_finite())?)))
    };
    let least = of(true).min_by(|a, b| a.1.total_cmp(&b.1))?;
    let most = of(false).max_by(|a, b| a.1.total_cmp(&b.1))?;
    (least.1 < RUNS_DRAWS * most.1).then(|| {
        format!(
            "It {}, and {}: a controller that runs draws about ten times what it draws stopped (common practice). One of the words is wrong, or something else on VCC draws the current.",
            told(least.0, least.1),
            told(most.0, most.1)
        )
    })
}
