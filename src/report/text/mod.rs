//! Text for a person: plain words first, 80 columns, no colour.
//!
//! Everything written passes through [`Page`], which takes the teeth out of names that come from
//! files and, where the terminal is not UTF-8, writes ASCII only.

mod ascii;
mod budget;
mod compared;
mod events;
mod fits;
mod inspection;
mod job;
mod judged;
mod page;
mod reading;
mod shot_list;
mod sketch;
mod startup_budget;
mod steps;
mod timing;

pub use crate::data::text::trimmed;
pub use budget::{budgets, line_words};
pub use compared::compared;
pub use inspection::{batch, case};
pub use job::job;
pub use judged::compact as limits;
pub use page::Page;
pub use reading::reading;
pub use startup_budget::startup_budget;
pub use steps::thresholds as step_thresholds;

use crate::data::StageState;

/// Columns that no line exceeds.
pub const WIDTH: usize = 80;

/// The mark of a state: a shape that fills as the stage works, so that no colour is needed.
pub fn mark(state: StageState, ascii: bool) -> &'static str {
    match (state, ascii) {
        (StageState::Working, false) => "●",
        (StageState::Marginal, false) => "◐",
        (StageState::Dead, false) => "○",
        (StageState::NotTested, false) => "·",
        (StageState::Working, true) => "(##)",
        (StageState::Marginal, true) => "(# )",
        (StageState::Dead, true) => "(  )",
        (StageState::NotTested, true) => " .. ",
    }
}

#[cfg(test)]
mod tests;
