//! Voltage steps on a terminal.

use super::page::Page;
use crate::data::typed::{Kind, written};
use crate::data::{Bracket, Direction, Inspection, StepPlace, StepsFinding, VoltageStep};

/// Most readings of one direction that are listed.
const MOST: usize = 24;

/// The readings by direction, what they say, and what is to be said beside them.
pub(super) fn steps(page: &mut Page, run: &Inspection) {
    let Some(found) = &run.steps else {
        return;
    };
    page.heading("VOLTAGE STEPS");
    for (label, going) in [
        ("  going up", Some(Direction::Up)),
        ("  going down", Some(Direction::Down)),
        ("  no direction", None),
    ] {
        let mut those: Vec<&VoltageStep> =
            found.readings.iter().filter(|s| s.going == going).collect();
        those.sort_by(|a, b| a.volts.total_cmp(&b.volts));
        if !those.is_empty() {
            page.hanging(label, 16, &listed(&those));
        }
    }
    for (word, text) in thresholds(found) {
        page.hanging(&format!("  {word}"), 16, &text);
    }
    for text in &found.contradictions {
        page.hanging("  !", 4, text);
    }
    for text in &found.remarks {
        page.hanging("  -", 4, text);
    }
}

fn listed(those: &[&VoltageStep]) -> String {
    if those.len() > MOST {
        let works = those.iter().filter(|s| s.works).count();
        return format!("{} readings, {works} of them works", those.len());
    }
    let words: Vec<String> = those.iter().map(|s| one(s)).collect();
    words.join(", ")
}

fn one(step: &VoltageStep) -> String {
    let beside: Vec<String> = [
        step.current_a.map(|i| written(i, Kind::Ampere)),
        matches!(step.place, StepPlace::Shot(_)).then(|| step.place.in_words()),
    ]
    .into_iter()
    .flatten()
    .collect();
    let beside = if beside.is_empty() {
        String::new()
    } else {
        format!(" ({})", beside.join(", "))
    };
    format!("{} at {}{beside}", step.state_id(), volts(step.volts))
}

fn volts(value: f64) -> String {
    written((value * 1e3).round() / 1e3, Kind::Volt)
}

/// `start` or `stop`, and where the readings leave it: `between 8.5 V (dead) and 8.8 V (works)`.
///
/// Nothing for a threshold whose readings contradict each other, or that has none.
pub fn thresholds(found: &StepsFinding) -> Vec<(&'static str, String)> {
    let brackets = [("start", found.start), ("stop", found.stop)];
    let mut all: Vec<_> = brackets
        .into_iter()
        .filter_map(|(word, bracket)| Some((word, between(bracket)?)))
        .collect();
    if let Some(v) = found.start_above_v {
        let text = format!("above {}, by readings without direction", volts(v));
        all.push(("start", text));
    }
    if let Some(v) = found.stop_at_most_v {
        let text = format!("at or below {}, by readings without direction", volts(v));
        all.push(("stop", text));
    }
    all
}

/// Nothing where readings contradict each other: that is said beneath.
fn between(bracket: Bracket) -> Option<String> {
    match (bracket.low_v, bracket.high_v) {
        (Some(low), Some(high)) => (low < high)
            .then(|| format!("between {} (dead) and {} (works)", volts(low), volts(high))),
        (Some(low), None) => Some(format!("above {} (dead); no working reading", volts(low))),
        (None, Some(high)) => Some(format!("below {} (works); no dead reading", volts(high))),
        (None, None) => None,
    }
}
