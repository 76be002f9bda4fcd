//! What the window takes of work that came to its end.

use std::path::PathBuf;
use std::sync::Arc;

use egui::Context;

use super::super::commands::Effect;
use super::super::dialog::Ask;
use super::super::job::fields::JobField;
use super::super::job::page::PageCommand;
use super::super::job::{self, JobCommand};
use super::super::open::Loaded;
use super::super::state::{Problem, first_dead};
use super::super::task::Ended;
use super::super::{group_edits, meter, places, plan, sheet, steps};
use super::{Examined, Shell, StepsRead};
use crate::job::gates;

impl Shell {
    /// Takes what was chosen in the desktop's dialog: captures are opened, all else goes into its field.
    pub(super) fn picked(&mut self, ctx: &Context, files: Vec<PathBuf>) {
        let Some(first) = files.first().map(|file| file.display().to_string()) else {
            return;
        };
        let wish = match self.asked {
            Ask::Captures => return self.follow(ctx, Effect::Load(files)),
            Ask::JobFolder => JobCommand::EditFolder(first),
            Ask::Picture => JobCommand::EditField(JobField::PicturePath, first),
            Ask::ReportFile => JobCommand::Page(PageCommand::EditPath(first)),
        };
        // a wish that fills a field leads to no work
        let _ = job::apply(&mut self.state, wish);
    }

    pub(super) fn loaded(&mut self, ctx: &Context, ended: Ended<Loaded>) {
        match ended {
            Ended::Done(Loaded::Demo(case)) => {
                let count = case.groups.len();
                self.state.take_case(case, true);
                // the last is taken first, and the first group decides
                self.waiting = (0..count).rev().collect();
            }
            Ended::Done(Loaded::Files(origins, problems)) => {
                for problem in problems {
                    if !self.state.problems.contains(&problem) {
                        self.state.problems.push(problem);
                    }
                }
                let examine = group_edits::take_files(&mut self.state, origins);
                let look = sheet::open_next(&mut self.state);
                for effect in examine.into_iter().chain(look) {
                    self.follow(ctx, effect);
                }
            }
            Ended::Done(Loaded::Again(_, Ok(origin))) => {
                let examine = group_edits::take_again(&mut self.state, origin);
                let look = sheet::open_next(&mut self.state);
                for effect in examine.into_iter().chain(look) {
                    self.follow(ctx, effect);
                }
            }
            Ended::Done(Loaded::Again(path, Err(refusal))) => {
                if let Some(sheet) = self.state.sheet.as_mut().filter(|s| s.path == path) {
                    sheet.refused = Some(refusal);
                    self.follow(ctx, Effect::Look);
                }
            }
            Ended::Failed(why) => self.state.problems.push(Problem {
                what: "Nothing was opened".to_owned(),
                why,
                attempt: "Open a capture of your own with the field on the left.".to_owned(),
                sheet: None,
            }),
            Ended::Cancelled => self.state.problems.push(Problem {
                what: "Reading was stopped".to_owned(),
                why: "You cancelled it.".to_owned(),
                attempt: "Open the file again to read it whole.".to_owned(),
                sheet: None,
            }),
            Ended::Died => self.state.problems.push(died("Reading")),
        }
    }

    pub(super) fn examined(&mut self, ctx: &Context, ended: Ended<Examined>) {
        if !matches!(ended, Ended::Done(_)) {
            self.take_back("the inspection did not come to its end");
        }
        match ended {
            Ended::Done(examined) => self.take_inspection(ctx, examined),
            Ended::Failed(why) => self.state.problems.push(Problem {
                what: "The captures were not inspected".to_owned(),
                why,
                attempt: "Check the marking, the roles and the set-ups.".to_owned(),
                sheet: None,
            }),
            Ended::Cancelled => self.state.problems.push(Problem {
                what: "Inspecting was stopped".to_owned(),
                why: "You cancelled it.".to_owned(),
                attempt: "Press Apply beside the marking to inspect again.".to_owned(),
                sheet: None,
            }),
            Ended::Died => self.state.problems.push(died("Inspecting")),
        }
    }

    pub(super) fn stepped(&mut self, ctx: &Context, ended: Ended<StepsRead>) {
        let effect = match ended {
            Ended::Done(done) => steps::take(&mut self.state, done.group, done.read),
            Ended::Failed(_) | Ended::Cancelled | Ended::Died => {
                let why = vec!["Reading the file of voltage steps broke off.".to_owned()];
                let group = self.state.group;
                steps::take(&mut self.state, group, Err(why))
            }
        };
        if let Some(effect) = effect {
            self.follow(ctx, effect);
        }
    }

    /// Takes back the meter reading that is being tried; `false` where there is none.
    fn take_back(&mut self, why: &str) -> bool {
        let tried = self.state.meter.tried.as_ref().map(|tried| tried.group);
        let Some(group) = tried else { return false };
        let again = meter::refused(&mut self.state, group, why);
        if again == Some(meter::Again(true)) {
            self.waiting.push(group);
        }
        again.is_some()
    }

    fn take_inspection(&mut self, ctx: &Context, examined: Examined) {
        let state = &mut self.state;
        let fits = state.case.groups.get(examined.group).is_some_and(|group| {
            group.shots.len() == examined.shots.len()
                && group
                    .shots
                    .iter()
                    .zip(&examined.shots)
                    .all(|(a, b)| Arc::ptr_eq(a, b))
        });
        if !fits {
            return;
        }
        match examined.result {
            Ok(mut inspection) => {
                gates::settle(state.job.job(), &mut inspection);
                let first = state
                    .inspections
                    .get(examined.group)
                    .is_some_and(Option::is_none);
                if first && examined.group == state.group {
                    state.focus = first_dead(&inspection).unwrap_or(state.focus);
                }
                let first = first && examined.group == state.group;
                if let Some(place) = state.inspections.get_mut(examined.group) {
                    *place = Some(Arc::new(inspection));
                }
                if first {
                    // the window opens on the evidence
                    places::show_stage(state);
                }
                if let Some(refusal) = state.refusals.get_mut(examined.group) {
                    *refusal = None;
                }
                meter::taken(state, examined.group);
                if let Some(effect) = plan::settle(state, examined.group) {
                    self.follow(ctx, effect);
                }
            }
            Err(why) => {
                let tried = state.meter.tried.as_ref();
                if tried.is_some_and(|t| t.group == examined.group) && self.take_back(&why) {
                    return;
                }
                let state = &mut self.state;
                if let Some(refusal) = state.refusals.get_mut(examined.group) {
                    *refusal = Some(why);
                }
            }
        }
    }
}

pub(super) fn died(doing: &str) -> Problem {
    Problem {
        what: format!("{doing} broke off"),
        why: "This is a fault in the program.".to_owned(),
        attempt: "What was shown before is still right. Please report the file that did it."
            .to_owned(),
        sheet: None,
    }
}
