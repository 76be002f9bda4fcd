//! Finished text and shapes for the panels: made from the state, tested without drawing.

use super::kept::Kept;
use super::state::{AppState, Explained, Look, MiddleView, Problem};

pub mod budget_curve;
pub mod budget_sheet;
pub mod cards;
pub mod compared;
pub mod controller_sheet;
pub mod details;
pub mod events;
pub mod import_rows;
pub mod import_sheet;
pub mod job_sheet;
pub mod known;
pub mod lanes;
pub mod loop_parts;
pub mod meter;
pub mod parts;
pub mod plan;
pub mod shots;
pub mod steps;
pub mod summary;
pub mod table;
pub mod ticks;
pub mod vcc_loop;

/// What runs off the UI thread, for the progress line.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// What is being done.
    pub what: &'static str,
    /// Share done, 0 to 1, if known.
    pub fraction: Option<f32>,
}

/// What stands in the middle.
#[derive(Debug, Clone)]
pub enum Middle {
    /// Nothing yet, and what to do about it.
    Empty(String),
    /// Lanes of a shot.
    Lanes(lanes::LanesModel),
    /// Cautions, what was not tested, notes.
    Before,
    /// The threshold loop of a group.
    Loop(vcc_loop::LoopModel),
    /// The shots still to take.
    Plan(plan::PlanModel),
    /// Voltage steps.
    Steps(steps::StepsModel),
    /// Before and after.
    Compare(compared::CompareModel),
    /// One controller.
    Controller(Box<controller_sheet::ControllerModel>),
    /// The start-up budget.
    Budget(Box<budget_sheet::BudgetModel>),
    /// The record of the job.
    Job(job_sheet::JobModel),
}

/// All that one frame shows.
#[derive(Debug, Clone)]
pub struct PanelModel {
    /// Unit, controller, groups.
    pub head: summary::HeadModel,
    /// The start-up order.
    pub cards: Vec<cards::CardModel>,
    /// Works, does not, measure next.
    pub lines: Vec<summary::LineModel>,
    /// What must not be exceeded, and other cautions that stand large.
    pub banner: Vec<summary::BannerModel>,
    /// Shots that may be one, as indices, with the words on the button.
    pub together: Vec<(Vec<usize>, String)>,
    /// The shots of the group.
    pub shots: Vec<shots::ShotModel>,
    /// What can take the middle, with titles.
    pub sheets: Vec<(MiddleView, String)>,
    /// Planned roles that the record speaks against.
    pub offer: Option<plan::OfferModel>,
    /// What to know before connecting.
    pub before: summary::BeforeModel,
    /// What the user knows.
    pub known: known::KnownModel,
    /// The form that sets a channel to the meter.
    pub meter: meter::MeterModel,
    /// The walk along the starts and stops.
    pub events: Option<events::EventsModel>,
    /// Lanes or loop.
    pub middle: Middle,
    /// Which of the two.
    pub view: MiddleView,
    /// Measured against expected.
    pub table: table::TableModel,
    /// Is there an inspection?
    pub inspected: bool,
    /// Causes that fit.
    pub suspects: Vec<table::SuspectModel>,
    /// What the bottom line explains.
    pub explained: Option<Explained>,
    /// The bottom line.
    pub details: details::DetailsModel,
    /// Is it tall?
    pub tall_details: bool,
    /// What went wrong.
    pub problems: Vec<Problem>,
    /// How a file is understood, while its sheet is open.
    pub sheet: Option<import_sheet::SheetModel>,
    /// What is under way.
    pub work: Option<Work>,
    /// Light or dark.
    pub look: Look,
    /// Path as it stands in its field.
    pub path: String,
}

impl PanelModel {
    /// The model of a state, with nothing kept from before; `work` is what runs.
    pub fn of(state: &AppState, work: Option<Work>) -> PanelModel {
        Self::with(state, work, &Kept::default())
    }

    /// The model of the next frame, made with what was kept of the last one.
    pub fn with(state: &AppState, work: Option<Work>, kept: &Kept) -> PanelModel {
        kept.begin_frame();
        let inspection = state.inspection();
        let first = state.inspections.first().and_then(Option::as_deref);
        let before = first.filter(|_| state.group > 0);
        PanelModel {
            head: summary::head(state),
            cards: cards::cards(inspection, state.focus),
            lines: summary::lines(inspection),
            banner: inspection
                .map(|inspection| summary::banner(inspection, known::bulk(state)))
                .unwrap_or_default(),
            together: shots::together(state),
            shots: shots::shots(state),
            sheets: sheets(state),
            offer: plan::offer(state),
            before: inspection.map(summary::before).unwrap_or_default(),
            middle: middle(state, kept),
            known: known::known(state),
            meter: meter::meter(state),
            events: events::events(state),
            view: state.view,
            table: table::table(inspection, before, state.focus),
            inspected: inspection.is_some(),
            suspects: inspection.map(table::suspects).unwrap_or_default(),
            explained: state.explained,
            details: explanation(state),
            tall_details: state.tall_details,
            problems: state.problems.clone(),
            sheet: import_sheet::sheet(state, work.as_ref()),
            work,
            look: state.look,
            path: state.path.clone(),
        }
    }
}

/// The bottom line, with the way back from the place that it is about.
fn explanation(state: &AppState) -> details::DetailsModel {
    let mut model = details::details(state.inspection(), state.explained, state.focus);
    let at_place = |visit: &super::state::Visit| Some(visit.what) == state.explained;
    if state.visit.as_ref().is_some_and(at_place) {
        let back = "The lanes show where it was taken; choose it again, and they show what they did before.";
        model.lines.push(back.to_owned());
    }
    model
}

/// What can take the middle, with how much is on it.
fn sheets(state: &AppState) -> Vec<(MiddleView, String)> {
    let cautions = state.inspection().map_or(0, |i| i.cautions.len());
    let plan = match plan::left(state) {
        Some(left) => format!("Shots to take ({left})"),
        None => "Shots to take".to_owned(),
    };
    let told = state.group().map_or(0, |g| g.options.steps.len());
    let steps = match told {
        0 => "Voltage steps".to_owned(),
        some => format!("Voltage steps ({some})"),
    };
    vec![
        (MiddleView::Lanes, "Lanes".to_owned()),
        (MiddleView::Loop, "Threshold loop".to_owned()),
        (MiddleView::Plan, plan),
        (MiddleView::Steps, steps),
        (MiddleView::Compare, "Before and after".to_owned()),
        (MiddleView::Controller, "Controller".to_owned()),
        (MiddleView::Budget, "Start-up budget".to_owned()),
        (MiddleView::Job, "Job sheet".to_owned()),
        (
            MiddleView::Before,
            format!("Before you connect ({cautions})"),
        ),
    ]
}

fn middle(state: &AppState, kept: &Kept) -> Middle {
    match state.view {
        MiddleView::Before => return Middle::Before,
        MiddleView::Plan => return Middle::Plan(plan::plan(state)),
        MiddleView::Job => return Middle::Job(job_sheet::job_sheet(state)),
        MiddleView::Compare => return Middle::Compare(compared::compared(state, kept)),
        MiddleView::Steps => return Middle::Steps(steps::steps(state)),
        MiddleView::Controller => {
            return Middle::Controller(Box::new(controller_sheet::controller(state)));
        }
        MiddleView::Budget => return Middle::Budget(Box::new(budget_sheet::budget(state))),
        MiddleView::Lanes | MiddleView::Loop => {}
    }
    if state.group().is_none_or(|group| group.shots.is_empty()) {
        return Middle::Empty(
            "No captures in this group yet. Drop files here, or name one in the field on the left."
                .to_owned(),
        );
    }
    let model = match state.view {
        MiddleView::Lanes => lanes::lanes(state, kept).map(Middle::Lanes),
        _ => vcc_loop::vcc_loop(state, kept).map(Middle::Loop),
    };
    model.unwrap_or_else(|why| Middle::Empty(why.to_owned()))
}

/// Shot numbers as the window counts them, from 1.
pub fn shot_words(capture: Option<usize>) -> String {
    match capture {
        Some(index) => format!("shot {}", index + 1),
        None => "by hand".to_owned(),
    }
}
