//! Own supply: after the start the unit runs on its own winding.

use crate::data::{EventKind, Quantity, Setup, ShotKind, Stage, StageFinding, StageState, Unit};

use super::{View, finding, good};

/// A start-up margin below this makes the stage marginal: common practice is that a unit which
/// starts with 0.3 V to spare will be back on the bench; half a volt leaves room for ageing.
pub const LEAST_MARGIN_V: f64 = 0.5;

/// Index of the first start shot on mains (or of unknown set-up) in which the controller starts.
fn start_shot(view: &View<'_>) -> Option<usize> {
    start_shots(view).find(|shot| view.count(*shot, EventKind::Start) > 0)
}

fn start_shots<'v>(view: &'v View<'_>) -> impl Iterator<Item = usize> + 'v {
    view.of_kind(ShotKind::Start)
        .filter(|(_, shot)| shot.setup.value.is_none_or(|setup| setup == Setup::Mains))
        .map(|(index, _)| index)
}

/// Number of starts when the unit ticks: it starts, and falls back each time.
pub fn ticks(view: &View<'_>) -> Option<usize> {
    let shot = start_shot(view)?;
    let attempts = view.count(shot, EventKind::Start);
    let each_falls_back = view.count(shot, EventKind::Stop) >= attempts;
    let last_falls_back = attempts >= 2 && view.refusal(Quantity::StartMargin).is_some();
    (each_falls_back || last_falls_back).then_some(attempts)
}

pub(super) fn find(view: &View<'_>, before: &[StageFinding]) -> StageFinding {
    let none =
        |because: &str| finding(Stage::OwnSupply, StageState::NotTested, because, Vec::new());
    let Some(shot) = start_shot(view) else {
        let recorded = start_shots(view).next().is_some();
        return none(if recorded {
            "the controller never starts, so nothing can take over"
        } else {
            "no start on mains was recorded"
        });
    };
    if let Some(attempts) = ticks(view) {
        return ticking(view, before, attempts);
    }
    let attempts = view.count(shot, EventKind::Start);
    let figures = vec![
        view.figure(Quantity::StartMargin),
        view.figure(Quantity::VccSettled),
    ];
    let Some(margin) = view
        .best(Quantity::StartMargin)
        .and_then(|j| j.measured.value())
    else {
        let why = view
            .refusal(Quantity::StartMargin)
            .map_or("the start-up margin could not be measured", |(_, why)| why);
        return none(why);
    };
    let shown = crate::data::text::plus_minus(margin.value, margin.u95, Unit::Volt);
    let (state, because) = if attempts > 1 {
        (
            StageState::Marginal,
            format!("it takes {attempts} starts to run on its own winding; margin {shown}"),
        )
    } else if margin.value < LEAST_MARGIN_V {
        (
            StageState::Marginal,
            format!("it runs on its own winding with a margin of only {shown}"),
        )
    } else {
        (
            StageState::Working,
            format!("it runs on its own winding, with a margin of {shown}"),
        )
    };
    finding(Stage::OwnSupply, state, because, figures)
}

/// It starts and falls back. Whose fault that is shows only when the stages before are known.
fn ticking(view: &View<'_>, before: &[StageFinding], attempts: usize) -> StageFinding {
    let figures = vec![
        view.figure(Quantity::HiccupPeriod),
        view.figure(Quantity::HiccupRatio),
    ];
    let times = if attempts == 1 {
        "once".to_owned()
    } else {
        format!("{attempts} times")
    };
    let said = format!(
        "on mains it starts {times} and falls back each time: nothing takes over the supply"
    );
    if !good(before, Stage::Drive) {
        let because = format!("{said}; whether OUT drives the switch was not shown");
        let figures = vec![
            view.figure(Quantity::StartAttempts),
            view.figure(Quantity::HiccupPeriod),
        ];
        return finding(Stage::OwnSupply, StageState::NotTested, because, figures);
    }
    let mut found = finding(Stage::OwnSupply, StageState::Dead, said, figures);
    // the earlier stages were shown to work in other shots, bench-fed
    found.not_seen_together = [Stage::Oscillator, Stage::Drive]
        .into_iter()
        .filter(|s| good(before, *s))
        .collect();
    found
}
