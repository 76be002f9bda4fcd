//! What the sheets of controller and budget need of the library: a look-up and a few formulas, made again
//! only where what they rest on changed.

use super::super::state::{MiddleView, Problem};
use super::super::{budget_sheet, controller_sheet};
use super::Shell;
use crate::inspect::Library;

impl Shell {
    /// Fills the sheet in front, where it is one of the two.
    pub(super) fn look_up(&mut self) {
        let view = self.state.view;
        if !matches!(view, MiddleView::Controller | MiddleView::Budget) {
            return;
        }
        let library = match self.library.get() {
            Some(library) => library.clone(),
            None => match Library::built_in() {
                Ok(library) => library,
                Err(error) => return self.no_library(&error.to_string()),
            },
        };
        match view {
            MiddleView::Controller => controller_sheet::refresh(&mut self.state, &library),
            _ => budget_sheet::refresh(&mut self.state, &library),
        }
    }

    fn no_library(&mut self, why: &str) {
        let attempt = "This is a fault in the program. Please report it.";
        let problem = Problem::new("The controllers can't be read", why, attempt);
        if !self.state.problems.contains(&problem) {
            self.state.problems.push(problem);
        }
        self.state.view = MiddleView::Lanes;
    }
}
