//! One file a stage: its rule, and the number that makes it marginal.

mod current_sense;
mod drive;
mod oscillator;
mod own_supply;
mod reference;
mod supply;

use crate::data::{Judged, Stage, StageFinding, StageState};

use super::view::View;

pub use drive::MOST_HEADROOM_V;
pub use oscillator::HEIGHT_TOLERANCE;
pub use own_supply::{LEAST_MARGIN_V, ticks};
pub use reference::MOST_RIPPLE_V;
pub use supply::MOST_STARTS;

/// All six stages, in waking order. A later stage sees the findings of the earlier ones: it is dead
/// only where they are shown good.
pub fn find(view: &View<'_>) -> Vec<StageFinding> {
    let mut findings: Vec<StageFinding> = Vec::new();
    for stage in Stage::ALL {
        let finding = match stage {
            Stage::Supply => supply::find(view),
            Stage::Reference => reference::find(view, &findings),
            Stage::Oscillator => oscillator::find(view, &findings),
            Stage::Drive => drive::find(view, &findings),
            Stage::CurrentSense => current_sense::find(view),
            Stage::OwnSupply => own_supply::find(view, &findings),
        };
        findings.push(finding);
    }
    findings
}

fn finding(
    stage: Stage,
    state: StageState,
    because: impl Into<String>,
    figures: Vec<Option<String>>,
) -> StageFinding {
    StageFinding {
        stage,
        state,
        because: because.into(),
        not_seen_together: Vec::new(),
        figures: figures.into_iter().flatten().collect(),
    }
}

/// The published limits of a judged value, in words.
fn limits_of(judged: &Judged) -> String {
    judged
        .expected
        .as_ref()
        .map_or(String::new(), crate::data::Limit::shown)
}

/// Is an earlier stage shown to work, if only just?
fn good(findings: &[StageFinding], stage: Stage) -> bool {
    findings
        .iter()
        .any(|f| f.stage == stage && matches!(f.state, StageState::Working | StageState::Marginal))
}

fn dead(findings: &[StageFinding], stage: Stage) -> bool {
    findings
        .iter()
        .any(|f| f.stage == stage && f.state == StageState::Dead)
}
