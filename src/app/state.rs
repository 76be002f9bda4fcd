//! What the window shows and what the user chose: no thread, no file, no egui value.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

use super::budget_sheet::BudgetForm;
use super::compare::{CompareForm, Made};
use super::controller_sheet::ControllerForm;
use super::job::JobState;
use super::meter::MeterForm;
use super::plan::Plan;
use super::sheet::{Origin, Refusal, Sheet};
use super::steps::StepsForm;
use super::told::{Draft, Field};
use crate::data::{Inspection, Options, Role, Stage, StageState};
use crate::inspect::{Case, Group, ReadOptions, Shot};

/// What stands in the middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MiddleView {
    /// One lane a role on one time axis.
    #[default]
    Lanes,
    /// VCC across, another pin up.
    Loop,
    /// Cautions, what was not tested, notes.
    Before,
    /// The shots that the run still needs.
    Plan,
    /// Voltage steps.
    Steps,
    /// Two runs set against each other.
    Compare,
    /// One controller: pins, ceilings, published values.
    Controller,
    /// What the start-up parts allow.
    Budget,
    /// The record of the job.
    Job,
}

impl MiddleView {
    /// Does it take the room of the values and the bottom line too?
    pub fn is_sheet(self) -> bool {
        !matches!(self, MiddleView::Lanes | MiddleView::Loop)
    }
}

/// What is unfolded below the middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Below {
    /// Readings, parts, probe factors.
    Known,
    /// The form that sets a channel to the meter.
    Meter,
}

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Look {
    /// As the desktop is set.
    #[default]
    System,
    /// For a lit room.
    Light,
    /// For a bench at night.
    Dark,
}

impl Look {
    /// All of them, in the order shown.
    pub const ALL: [Look; 3] = [Look::System, Look::Light, Look::Dark];

    /// The word shown.
    pub fn title(self) -> &'static str {
        match self {
            Look::System => "As desktop",
            Look::Light => "Light",
            Look::Dark => "Dark",
        }
    }
}

/// What the line at the bottom explains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Explained {
    /// A measured quantity, by its index in the inspection.
    Measured(usize),
    /// A suspect, by its index.
    Suspect(usize),
    /// A start or a stop, by its index.
    Event(usize),
}

/// Something that went wrong, in plain words; stays until it is put away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What happened.
    pub what: String,
    /// Why.
    pub why: String,
    /// What to try.
    pub attempt: String,
    /// The file that it is about, where its sheet says more.
    pub sheet: Option<OnSheet>,
}

impl Problem {
    /// What happened, why, and what to try.
    pub fn new(
        what: impl Into<String>,
        why: impl Into<String>,
        attempt: impl Into<String>,
    ) -> Problem {
        Problem {
            what: what.into(),
            why: why.into(),
            attempt: attempt.into(),
            sheet: None,
        }
    }
}

/// A file whose sheet can be opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnSheet {
    /// The file.
    pub path: PathBuf,
    /// Why it was not read, where it waits to be told how.
    pub refused: Option<Refusal>,
}

/// What the middle shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// 0-based shot.
    pub shot: usize,
    /// Lanes, loop or cautions.
    pub view: MiddleView,
    /// Part of the time axis, in seconds.
    pub window_s: Option<(f64, f64)>,
    /// Marked span, in seconds.
    pub span_s: Option<(f64, f64)>,
}

/// A place that was shown because something was chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visit {
    /// What was chosen.
    pub what: Explained,
    /// What the middle showed before.
    pub before: Seen,
    /// What it showed then.
    pub there: Seen,
}

/// All of it.
#[derive(Debug, Clone)]
pub struct AppState {
    /// The unit on the bench.
    pub case: Case,
    /// The inspection of each group, once there is one.
    pub inspections: Vec<Option<Arc<Inspection>>>,
    /// Why the last inspection of a group was refused.
    pub refusals: Vec<Option<String>>,
    /// Is this the built-in unit?
    pub demo: bool,
    /// How files are read.
    pub read: ReadOptions,
    /// What new groups start with.
    pub options: Options,
    /// Group shown.
    pub group: usize,
    /// Shot shown, within the group.
    pub shot: usize,
    /// Stage in focus.
    pub focus: Stage,
    /// What stands in the middle.
    pub view: MiddleView,
    /// The one pin that the loop shows upward; `None` shows every pin there is.
    pub loop_role: Option<Role>,
    /// Part of the time axis shown, in seconds; `None` shows all.
    pub window_s: Option<(f64, f64)>,
    /// Marked span, in seconds.
    pub span_s: Option<(f64, f64)>,
    /// What the bottom line explains.
    pub explained: Option<Explained>,
    /// The place that was shown last for a value, a suspect, a start or a stop.
    pub visit: Option<Visit>,
    /// Is the bottom line tall?
    pub tall_details: bool,
    /// Light or dark.
    pub look: Look,
    /// Marking as it stands in its field.
    pub marking: String,
    /// Path as it stands in its field.
    pub path: String,
    /// What stands in a field and is not entered yet, by group.
    pub drafts: BTreeMap<(usize, Field), Draft>,
    /// What is unfolded below the middle.
    pub below: Option<Below>,
    /// The form that sets a channel to the meter.
    pub meter: MeterForm,
    /// Voltage steps as typed.
    pub steps: StepsForm,
    /// What the next file is to be.
    pub plan: Plan,
    /// The record of the job.
    pub job: JobState,
    /// Which runs are set against each other, and how.
    pub compare: CompareForm,
    /// What came of it.
    pub compared: Option<Made>,
    /// The sheet of one controller.
    pub controller: ControllerForm,
    /// The sheet of the start-up budget.
    pub budget: BudgetForm,
    /// What went wrong.
    pub problems: Vec<Problem>,
    /// The files that shots came from.
    pub origins: Vec<Origin>,
    /// The sheet of the file that is being understood.
    pub sheet: Option<Sheet>,
    /// The folder of remembered layouts; `None` remembers nothing.
    pub layouts: Option<PathBuf>,
    /// Width of a lane in pixel columns, as last drawn.
    pub lane_columns: usize,
}

impl AppState {
    /// A window with nothing in it.
    pub fn empty(read: ReadOptions, options: Options) -> Self {
        let group = Group {
            title: AS_FOUND.to_owned(),
            shots: Vec::new(),
            options: options.clone(),
        };
        Self {
            case: Case {
                title: "Your captures".to_owned(),
                groups: vec![group],
            },
            inspections: vec![None],
            refusals: vec![None],
            demo: false,
            read,
            marking: options.controller.clone().unwrap_or_default(),
            options,
            group: 0,
            shot: 0,
            focus: Stage::Supply,
            view: MiddleView::Lanes,
            loop_role: None,
            window_s: None,
            span_s: None,
            explained: None,
            visit: None,
            tall_details: false,
            look: Look::System,
            path: String::new(),
            drafts: BTreeMap::new(),
            below: None,
            meter: MeterForm::default(),
            steps: StepsForm::default(),
            plan: Plan::default(),
            job: JobState::default(),
            compare: CompareForm::default(),
            compared: None,
            controller: ControllerForm::default(),
            budget: BudgetForm::default(),
            problems: Vec::new(),
            origins: Vec::new(),
            sheet: None,
            layouts: None,
            lane_columns: 600,
        }
    }

    /// Puts a case in place of what was there.
    pub fn take_case(&mut self, case: Case, demo: bool) {
        let count = case.groups.len();
        self.case = case;
        self.inspections = vec![None; count];
        self.refusals = vec![None; count];
        self.demo = demo;
        self.drafts.clear();
        self.meter = MeterForm::default();
        self.steps = StepsForm::default();
        self.plan = Plan::default();
        let recent = std::mem::take(&mut self.job.recent);
        self.job = JobState {
            recent,
            ..JobState::default()
        };
        self.compare = CompareForm::default();
        self.compared = None;
        self.controller = ControllerForm::default();
        self.budget = BudgetForm::default();
        self.origins.clear();
        self.select_group(0);
    }

    /// An empty bench, with what holds for every unit.
    pub fn begin_unit(&mut self) {
        let fresh = Self::empty(self.read.clone(), self.options.clone());
        self.take_case(fresh.case, false);
        self.problems.clear();
        self.view = MiddleView::Plan;
        self.focus = Stage::Supply;
    }

    /// Adds a run without an inspection, and shows it.
    pub fn add_group(&mut self, group: Group) {
        self.case.groups.push(group);
        self.inspections.push(None);
        self.refusals.push(None);
        self.select_group(self.case.groups.len() - 1);
    }

    /// The group shown.
    pub fn group(&self) -> Option<&Group> {
        self.case.groups.get(self.group)
    }

    /// Its inspection.
    pub fn inspection(&self) -> Option<&Inspection> {
        self.inspections.get(self.group)?.as_deref()
    }

    /// The shot shown, before inspection.
    pub fn shot(&self) -> Option<&Arc<Shot>> {
        self.group()?.shots.get(self.shot)
    }

    /// Shows another group from its first shot on.
    pub fn select_group(&mut self, group: usize) {
        self.group = group.min(self.case.groups.len().saturating_sub(1));
        self.marking = self
            .group()
            .and_then(|group| group.options.controller.clone())
            .unwrap_or_default();
        self.explained = None;
        self.select_shot(0);
    }

    /// Shows another shot, all of it.
    pub fn select_shot(&mut self, shot: usize) {
        self.shot = shot;
        self.window_s = None;
        self.span_s = None;
        self.visit = None;
        self.meter.times = None;
        self.meter.wrong = None;
        if matches!(self.explained, Some(Explained::Event(_))) {
            self.explained = None;
        }
    }

    /// What the middle shows.
    pub fn seen(&self) -> Seen {
        Seen {
            shot: self.shot,
            view: self.view,
            window_s: self.window_s,
            span_s: self.span_s,
        }
    }

    /// First and last sample time over all channels of the shot shown.
    pub fn full_s(&self) -> Option<(f64, f64)> {
        let channels = &self.shot()?.capture.channels;
        channels
            .iter()
            .filter(|channel| !channel.time.is_empty())
            .map(|channel| (channel.time.start_s(), channel.time.end_s()))
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
            .filter(|(from, to)| to > from)
    }

    /// The part of the time axis that is shown.
    pub fn shown_s(&self) -> Option<(f64, f64)> {
        let full = self.full_s()?;
        Some(self.window_s.unwrap_or(full))
    }
}

/// Title of the group that decides.
pub const AS_FOUND: &str = "as found";
/// Title of the group that shows what the repair did.
pub const AFTER: &str = "after the repair";

/// The first stage that is dead or marginal: what the window puts in focus.
pub fn first_dead(inspection: &Inspection) -> Option<Stage> {
    let ill = |state| matches!(state, StageState::Dead | StageState::Marginal);
    let mut found = inspection
        .stages
        .iter()
        .filter(|finding| ill(finding.state));
    found.next().map(|finding| finding.stage)
}
