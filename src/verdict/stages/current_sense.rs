//! Current sense: the pin sees the switch current, up to its 1 V limit.

use crate::controllers::usual;
use crate::data::{Quantity, Setup, Stage, StageFinding, StageState};

use super::{View, finding};

pub(super) fn find(view: &View<'_>) -> StageFinding {
    let none = |because: &str| {
        finding(
            Stage::CurrentSense,
            StageState::NotTested,
            because,
            Vec::new(),
        )
    };
    let Some(judged) = view.best(Quantity::CsPeak) else {
        let bench_only = view.setups() == [Setup::Injected];
        return none(if bench_only {
            "no current flows in this set-up"
        } else {
            "CS was not recorded while current flows"
        });
    };
    let on_mains = judged
        .measured
        .capture
        .is_some_and(|c| view.captures[c].setup.value == Some(Setup::Mains));
    let Some(value) = judged.measured.value().filter(|_| on_mains) else {
        return none("CS was recorded only where no mains current flows");
    };
    let figures = vec![view.figure(Quantity::CsPeak)];
    let shown = view.figure(Quantity::CsPeak).unwrap_or_default();
    if value.value - value.u95 > usual::HIGHEST_CS_V {
        return finding(
            Stage::CurrentSense,
            StageState::Marginal,
            format!("{shown}, above the limit of {} V", usual::HIGHEST_CS_V),
            figures,
        );
    }
    finding(
        Stage::CurrentSense,
        StageState::Working,
        format!("current flows and the pin sees it: {shown}"),
        figures,
    )
}
