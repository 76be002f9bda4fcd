//! What a view can ask for, and what each wish does to the state. Views return commands; they are
//! applied here, in one `match`, after drawing.

use std::path::PathBuf;

use super::budget_sheet::{self, BudgetCommand};
use super::compare::{self, CompareCommand};
use super::controller_sheet::{self, ControllerCommand};
use super::dialog::Ask;
use super::events::{self, Step};
use super::group_edits::{begin_after, put_together, remove_shot, set_role, set_setup};
use super::job::{self, JobCommand};
use super::meter::{self, MeterCommand};
use super::places;
use super::plan::{self, PlanCommand};
use super::sheet::{self, SheetCommand};
use super::state::{AppState, Below, Explained, Look, MiddleView};
use super::steps::{self, StepsCommand};
use super::told::{self, Field};
use super::zoom;
use crate::data::{Role, Setup, Stage};

/// A wish of the user.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// Put a stage in focus.
    Focus(Stage),
    /// Show a shot.
    SelectShot(usize),
    /// Show a group.
    SelectGroup(usize),
    /// Begin the group that shows what the repair did.
    BeginAfter,
    /// Say how the unit was fed in a shot.
    SetSetup(usize, Setup),
    /// Say which pin a channel is on.
    SetRole {
        /// 0-based shot.
        shot: usize,
        /// 0-based channel.
        channel: usize,
        /// Its role.
        role: Role,
    },
    /// Take a shot out of the group.
    RemoveShot(usize),
    /// Make one shot of files with one channel each.
    PutTogether(Vec<usize>),
    /// Put the built-in unit back.
    BackToDemo,
    /// The marking field changed.
    EditMarking(String),
    /// Judge by the marking in the field.
    ApplyMarking,
    /// A field of what the user knows changed.
    EditField(Field, String),
    /// A field of what the user knows was left.
    EnterField(Field),
    /// Something about setting a channel to the meter.
    Meter(MeterCommand),
    /// Something about voltage steps.
    Steps(StepsCommand),
    /// Something about the shots still to take.
    Plan(PlanCommand),
    /// Something about before and after.
    Compare(CompareCommand),
    /// Something about the sheet of one controller.
    Controller(ControllerCommand),
    /// Something about the start-up budget.
    Budget(BudgetCommand),
    /// Something about the record of the job.
    Job(JobCommand),
    /// Clear the bench for another unit.
    NewUnit,
    /// Open the sheet of a file.
    OpenSheet(PathBuf),
    /// Open the sheet of the file that a shot came from.
    OpenSheetOf(usize),
    /// Something about the sheet that is open.
    Sheet(SheetCommand),
    /// Show a place in the record.
    ShowPlace {
        /// 0-based shot.
        shot: usize,
        /// Where, in seconds; `None` shows the shot.
        span_s: Option<(f64, f64)>,
    },
    /// The path field changed.
    EditPath(String),
    /// Open what the path field names.
    OpenPath,
    /// Open these files.
    OpenFiles(Vec<PathBuf>),
    /// Show the dialog of the desktop.
    Choose(Ask),
    /// Stop the work under way.
    CancelWork,
    /// What stands in the middle.
    Show(MiddleView),
    /// Unfold something below the middle, or fold all.
    Unfold(Option<Below>),
    /// What the loop shows upward; `None` shows every pin there is.
    LoopRole(Option<Role>),
    /// Visit the next start or stop, or the one before.
    Step(Step),
    /// Light or dark.
    SetLook(Look),
    /// Make the time axis `factor` times as long around `at_s`.
    Zoom {
        /// The instant that stays where it is.
        at_s: f64,
        /// Below 1 shows less time.
        factor: f64,
    },
    /// Move the time axis.
    Pan(f64),
    /// Show all of the time axis.
    ShowAll,
    /// Mark a span, or none.
    MarkSpan(Option<(f64, f64)>),
    /// Explain something in the bottom line.
    Explain(Explained),
    /// Explain something, and show where in the record it is seen.
    Visit(Explained),
    /// Make the bottom line tall, or as it was.
    TallDetails(bool),
    /// A lane is this many pixels wide.
    LaneColumns(usize),
    /// Put a note away.
    Dismiss(usize),
    /// Copy text.
    Copy(String),
}

/// Work that a command leads to.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Inspect a group again.
    Examine(usize),
    /// Inspect all groups again.
    ExamineAll,
    /// Keep the job in a new folder.
    KeepJob(PathBuf),
    /// Open the job of a folder, taken over from another process or not.
    OpenJob(PathBuf, bool),
    /// Copy pictures into the job's folder, with what they show.
    AttachPictures(Vec<PathBuf>, String),
    /// Write the report.
    WritePage,
    /// Show a file in the desktop's program for it.
    ShowFile(PathBuf),
    /// Read files.
    Load(Vec<PathBuf>),
    /// Read a file of voltage steps for a group.
    ReadSteps(PathBuf, usize),
    /// Look at the first lines of the file whose sheet is open.
    Look,
    /// Read that file as its sheet says.
    ReadSheet,
    /// Remember the layout of the sheet.
    Remember,
    /// Forget the layout of that form.
    Forget,
    /// Make the built-in unit.
    Demo,
    /// Show the dialog.
    Pick(Ask),
    /// Stop what runs.
    Cancel,
    /// Put text on the clipboard.
    Copy(String),
}

/// What a command's edit of the record is called where it can be taken back.
pub fn name(command: &Command) -> &'static str {
    match command {
        Command::SetRole { .. } => "a role",
        Command::SetSetup(..) | Command::Plan(_) => "a set-up",
        Command::RemoveShot(_) => "a shot less",
        Command::PutTogether(_) => "one shot of several",
        Command::ApplyMarking | Command::Controller(_) => "the marking",
        Command::EnterField(_) => "what you know",
        Command::Meter(_) => "a meter reading",
        Command::Steps(_) => "a voltage step",
        Command::BeginAfter => "a run",
        _ => "an edit",
    }
}

/// Applies one command; returns the work that follows.
pub fn apply(state: &mut AppState, command: Command) -> Option<Effect> {
    match command {
        Command::Focus(stage) => {
            state.focus = stage;
            state.explained = None;
            places::show_stage(state);
        }
        Command::SelectShot(shot) => state.select_shot(shot),
        Command::SelectGroup(group) => state.select_group(group),
        Command::BeginAfter => begin_after(state),
        Command::SetSetup(shot, setup) => return set_setup(state, shot, setup),
        Command::SetRole {
            shot,
            channel,
            role,
        } => return set_role(state, shot, channel, role),
        Command::RemoveShot(shot) => return remove_shot(state, shot),
        Command::PutTogether(shots) => return put_together(state, &shots),
        Command::NewUnit | Command::BackToDemo if !job::may_leave(state) => {}
        Command::BackToDemo => return Some(Effect::Demo),
        Command::EditMarking(text) => state.marking = text,
        Command::ApplyMarking => return apply_marking(state),
        Command::EditField(field, text) => told::edit(state, field, text),
        Command::EnterField(field) => return told::enter(state, field),
        Command::Meter(command) => return meter::apply(state, command),
        Command::Steps(command) => return steps::apply(state, command),
        Command::Plan(command) => return plan::apply(state, command),
        Command::Compare(command) => compare::apply(state, command),
        Command::Controller(command) => return controller_sheet::apply(state, command),
        Command::Budget(command) => budget_sheet::apply(state, command),
        Command::Job(command) => return job::apply(state, command),
        Command::NewUnit => {
            state.begin_unit();
            return Some(Effect::Examine(0));
        }
        Command::OpenSheet(path) => return sheet::open(state, &path),
        Command::OpenSheetOf(shot) => return sheet::open_of_shot(state, shot),
        Command::Sheet(command) => return sheet::apply(state, command),
        Command::ShowPlace { shot, span_s } => places::show(state, shot, span_s),
        Command::EditPath(text) => state.path = text,
        Command::OpenPath => return open_path(state),
        Command::OpenFiles(files) => return (!files.is_empty()).then_some(Effect::Load(files)),
        Command::Choose(what) => return Some(Effect::Pick(what)),
        Command::CancelWork => return Some(Effect::Cancel),
        Command::Show(view) => state.view = view,
        Command::Unfold(below) => state.below = below,
        Command::LoopRole(role) => state.loop_role = role,
        Command::Step(step) => events::step(state, step),
        Command::SetLook(look) => state.look = look,
        Command::Zoom { at_s, factor } => zoom::zoom(state, at_s, factor),
        Command::Pan(by_s) => zoom::pan(state, by_s),
        Command::ShowAll => {
            state.window_s = None;
            state.visit = None;
        }
        Command::TallDetails(tall) => state.tall_details = tall,
        Command::MarkSpan(span_s) => {
            state.span_s = span_s.map(|(a, b)| (a.min(b), a.max(b)));
            // the form follows the span again
            state.meter.times = None;
        }
        Command::Explain(what) => state.explained = Some(what),
        Command::Visit(what) => places::visit(state, what),
        Command::LaneColumns(columns) => state.lane_columns = columns.clamp(1, 16_384),
        Command::Dismiss(index) => {
            if index < state.problems.len() {
                state.problems.remove(index);
            }
        }
        Command::Copy(text) => return Some(Effect::Copy(text)),
    }
    None
}

fn apply_marking(state: &mut AppState) -> Option<Effect> {
    let marking = state.marking.trim().to_owned();
    let group = state.case.groups.get_mut(state.group)?;
    group.options.controller = (!marking.is_empty()).then_some(marking);
    Some(Effect::Examine(state.group))
}

fn open_path(state: &mut AppState) -> Option<Effect> {
    let path = state.path.trim().trim_matches('"').to_owned();
    if path.is_empty() {
        return None;
    }
    state.path.clear();
    Some(Effect::Load(vec![PathBuf::from(path)]))
}
