//! The three lines: what works, what does not, what to measure next.

use crate::data::{Joined, Role, Setup, Stage, StageFinding, StageState, Suspect, ThreeLines};

use super::stages::ticks;
use super::view::View;

/// Makes the three lines.
pub fn find(
    view: &View<'_>,
    stages: &[StageFinding],
    suspects: &[Suspect],
    joined: &[Joined],
) -> ThreeLines {
    ThreeLines {
        works: works(stages, joined),
        fails: fails(view, stages, joined),
        next: next(view, stages, suspects),
    }
}

fn works(stages: &[StageFinding], run: &[Joined]) -> String {
    let good: Vec<&StageFinding> = stages
        .iter()
        .filter(|s| s.state == StageState::Working)
        .collect();
    if good.is_empty() {
        return "Nothing is shown to work yet.".to_owned();
    }
    let names: Vec<String> = good
        .iter()
        .map(|s| s.stage.title().to_lowercase())
        .collect();
    format!(
        "{}: {}.",
        sentence_case(&joined(&names)),
        good.iter()
            .map(|s| shown_by(s, run))
            .collect::<Vec<_>>()
            .join("; ")
    )
}

/// What shows that a stage works; without figures where the shots contradict each other in them.
fn shown_by<'a>(stage: &'a StageFinding, run: &[Joined]) -> &'a str {
    let apart = |j: &Joined| j.value.is_none() && j.quantity.info().stage == Stage::Supply;
    if stage.stage == Stage::Supply && run.iter().any(apart) {
        return "it starts and stops, at voltages in which the shots contradict each other";
    }
    &stage.because
}

fn fails(view: &View<'_>, stages: &[StageFinding], joined: &[Joined]) -> String {
    let of = |state| stages.iter().filter(move |s| s.state == state);
    let mut parts: Vec<String> = of(StageState::Dead)
        .map(|s| format!("{} is dead: {}.", s.stage.title(), s.because))
        .collect();
    parts.extend(
        of(StageState::Marginal)
            .map(|s| format!("{} is marginal: {}.", s.stage.title(), s.because)),
    );
    // what contradicts itself stands before all that rests on it
    let apart = joined.iter().find(|j| j.value.is_none());
    if let Some(apart) = apart {
        parts.insert(0, apart.why_not.clone());
    }
    if parts.is_empty() {
        let tested = stages.iter().any(|s| s.state != StageState::NotTested);
        return match ticks(view) {
            Some(starts) => format!("It starts {starts} times and falls back each time."),
            None if tested => "Nothing wrong in what was tested.".to_owned(),
            None => "Not known: no stage could be tested yet.".to_owned(),
        };
    }
    parts.join(" ")
}

/// The best suspect's check; with nothing suspected the first stage that was not tested.
fn next(view: &View<'_>, stages: &[StageFinding], suspects: &[Suspect]) -> String {
    let broken = stages
        .iter()
        .any(|s| matches!(s.state, StageState::Dead | StageState::Marginal));
    if let Some(first) = suspects.first().filter(|s| broken || s.weight >= 0.1) {
        return first.next_check.clone();
    }
    match stages.iter().find(|s| s.state == StageState::NotTested) {
        Some(stage) => advice(view, stage.stage),
        None => {
            "All stages of this run were shown to work; compare with the unit's earlier records."
                .to_owned()
        }
    }
}

/// How to record a stage that was not tested.
fn advice(view: &View<'_>, stage: Stage) -> String {
    let on_mains = view.setups().contains(&Setup::Mains);
    let pin = |role: Role| role.title_with_pin();
    match stage {
        Stage::Supply => format!("Feed {} from a current-limited bench supply, mains out, and record it with {} while you sweep it slowly up and down.", pin(Role::Vcc), pin(Role::Vref)),
        Stage::Reference => format!("Record {} beside {} in the same sweep.", pin(Role::Vref), pin(Role::Vcc)),
        Stage::Oscillator => format!("With {} bench-fed and mains out, record {} with a fast time base, 5 to 10 µs a division.", pin(Role::Vcc), pin(Role::RtCt)),
        Stage::Drive => format!("With {} bench-fed and mains out, record {} beside {} with a fast time base.", pin(Role::Vcc), pin(Role::Out), pin(Role::RtCt)),
        Stage::CurrentSense if on_mains => format!("Record {} beside {} on mains, through differential probes.", pin(Role::Cs), pin(Role::Out)),
        Stage::CurrentSense | Stage::OwnSupply => {
            "Enter the current-sense and feedback-loop checks, go through the change-over list, then record VCC during a start on isolated, limited mains.".to_owned()
        }
    }
}

fn joined(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn sentence_case(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}
