//! What a view can ask for, and what each wish does to the state. Views return commands; they are
//! applied here, in one `match`, after drawing.

use std::path::PathBuf;
use std::sync::Arc;

use super::events::{self, Step};
use super::meter::{self, MeterCommand, MeterForm};
use super::places;
use super::sheet::{self, Origin, SheetCommand};
use super::state::{AFTER, AppState, Below, Explained, Look, MiddleView, Problem};
use super::told::{self, Field};
use super::zoom;
use crate::data::options::{ChannelChoice, RoleChoice};
use crate::data::{Role, Setup, Stage};
use crate::inspect::{self, Group, Shot};

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
    ChooseFiles,
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
    /// Read files.
    Load(Vec<PathBuf>),
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
    PickFiles,
    /// Stop what runs.
    Cancel,
    /// Put text on the clipboard.
    Copy(String),
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
        Command::BackToDemo => return Some(Effect::Demo),
        Command::EditMarking(text) => state.marking = text,
        Command::ApplyMarking => return apply_marking(state),
        Command::EditField(field, text) => told::edit(state, field, text),
        Command::EnterField(field) => return told::enter(state, field),
        Command::Meter(command) => return meter::apply(state, command),
        Command::OpenSheet(path) => return sheet::open(state, &path),
        Command::OpenSheetOf(shot) => return sheet::open_of_shot(state, shot),
        Command::Sheet(command) => return sheet::apply(state, command),
        Command::ShowPlace { shot, span_s } => places::show(state, shot, span_s),
        Command::EditPath(text) => state.path = text,
        Command::OpenPath => return open_path(state),
        Command::OpenFiles(files) => return (!files.is_empty()).then_some(Effect::Load(files)),
        Command::ChooseFiles => return Some(Effect::PickFiles),
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

/// Adds shots that were read: to the group shown, or in place of the built-in unit.
pub fn take_shots(state: &mut AppState, shots: Vec<Arc<Shot>>) -> Option<Effect> {
    if shots.is_empty() {
        return None;
    }
    if state.demo {
        let fresh = AppState::empty(state.read.clone(), state.options.clone());
        state.take_case(fresh.case, false);
    }
    let group = state.group;
    let first_new = state.group().map_or(0, |group| group.shots.len());
    state.case.groups.get_mut(group)?.shots.extend(shots);
    state.select_shot(first_new);
    Some(Effect::Examine(group))
}

/// Adds the shots of files that were read.
pub fn take_files(state: &mut AppState, origins: Vec<Origin>) -> Option<Effect> {
    let shots = origins.iter().flat_map(|origin| origin.shots.clone());
    let effect = take_shots(state, shots.collect());
    state.origins.extend(origins);
    effect
}

/// Takes a file that was read as its sheet says: its shots come in the places of those that it gave
/// before, where they are as many; else these go, and the new ones are added.
pub fn take_again(state: &mut AppState, origin: Origin) -> Option<Effect> {
    state.sheet = None;
    let of_it = |problem: &Problem| {
        problem
            .sheet
            .as_ref()
            .is_some_and(|s| s.path == origin.path)
    };
    state.problems.retain(|problem| !of_it(problem));
    let before = state.origins.iter().position(|o| o.path == origin.path);
    let Some(before) = before.map(|index| state.origins.remove(index)) else {
        return take_files(state, vec![origin]);
    };
    let old = |shot: &Arc<Shot>| before.shots.iter().any(|b| Arc::ptr_eq(b, shot));
    let groups = &state.case.groups;
    let holds = groups.iter().position(|group| group.shots.iter().any(old));
    if let Some(group) = holds.filter(|group| *group != state.group) {
        state.select_group(group);
    }
    let shots = state.group().map_or(&[][..], |group| &group.shots);
    let numbered = shots.iter().enumerate();
    let found: Vec<usize> = numbered.filter(|(_, s)| old(s)).map(|(i, _)| i).collect();
    if found.len() != origin.shots.len() {
        for shot in found.into_iter().rev() {
            // what follows is inspected with the new shots
            let _ = remove_shot(state, shot);
        }
        return take_files(state, vec![origin]);
    }
    let group = state.case.groups.get_mut(state.group)?;
    for (index, shot) in found.iter().zip(&origin.shots) {
        if let Some(place) = group.shots.get_mut(*index) {
            *place = Arc::clone(shot);
        }
    }
    let shown = found.first().copied().unwrap_or(state.shot);
    state.origins.push(origin);
    if let Some(inspection) = state.inspections.get_mut(state.group) {
        // it was made of the shots that went
        *inspection = None;
    }
    state.explained = None;
    state.select_shot(shown);
    Some(Effect::Examine(state.group))
}

fn begin_after(state: &mut AppState) {
    if state.demo {
        return;
    }
    let mut options = state.options.clone();
    options.controller = state
        .group()
        .and_then(|group| group.options.controller.clone());
    if let Some(before) = state.group() {
        // the same board: its parts stay, but for the one that was changed
        options.parts.clone_from(&before.options.parts);
    }
    state.case.groups.push(Group {
        title: AFTER.to_owned(),
        shots: Vec::new(),
        options,
    });
    state.inspections.push(None);
    state.refusals.push(None);
    state.select_group(state.case.groups.len() - 1);
}

fn set_setup(state: &mut AppState, shot: usize, setup: Setup) -> Option<Effect> {
    let group = state.case.groups.get_mut(state.group)?;
    group.options.capture_setups.insert(shot, setup);
    Some(Effect::Examine(state.group))
}

fn set_role(state: &mut AppState, shot: usize, channel: usize, role: Role) -> Option<Effect> {
    let group = state.case.groups.get_mut(state.group)?;
    let name = group
        .shots
        .get(shot)
        .and_then(|shot| shot.capture.channels.get(channel))
        .map(|channel| channel.name.clone())?;
    let number = (channel + 1).to_string();
    let here = |choice: &ChannelChoice| {
        choice.capture == Some(shot + 1) && (choice.channel == number || choice.channel == name)
    };
    group.options.roles.retain(|choice| !here(&choice.channel));
    group.options.roles.push(RoleChoice {
        channel: ChannelChoice {
            capture: Some(shot + 1),
            channel: number,
        },
        role,
        place: None,
    });
    Some(Effect::Examine(state.group))
}

/// One shot of several: the others leave the group, and what was told about their channels with them.
fn put_together(state: &mut AppState, shots: &[usize]) -> Option<Effect> {
    let group = state.case.groups.get(state.group)?;
    let members: Vec<Arc<Shot>> = shots
        .iter()
        .filter_map(|index| group.shots.get(*index).cloned())
        .collect();
    let one = inspect::joined(&members, "as told in the window")?;
    for shot in shots.iter().skip(1).rev() {
        remove_shot(state, *shot);
    }
    let place = *shots.first()?;
    let group = state.case.groups.get_mut(state.group)?;
    let before = std::mem::replace(group.shots.get_mut(place)?, one);
    for origin in &mut state.origins {
        origin.shots.retain(|own| !Arc::ptr_eq(own, &before));
    }
    state.origins.retain(|origin| !origin.shots.is_empty());
    state.select_shot(place);
    Some(Effect::Examine(state.group))
}

fn remove_shot(state: &mut AppState, shot: usize) -> Option<Effect> {
    let group = state.case.groups.get_mut(state.group)?;
    if shot >= group.shots.len() {
        return None;
    }
    let removed = group.shots.remove(shot);
    for origin in &mut state.origins {
        origin.shots.retain(|own| !Arc::ptr_eq(own, &removed));
    }
    state.origins.retain(|origin| !origin.shots.is_empty());
    let options = &mut group.options;
    let moved = |index: usize| match index.cmp(&shot) {
        std::cmp::Ordering::Less => Some(index),
        std::cmp::Ordering::Equal => None,
        std::cmp::Ordering::Greater => Some(index - 1),
    };
    let shifted = |choice: &mut ChannelChoice| match choice.capture {
        None => true,
        Some(number) => {
            choice.capture = moved(number.saturating_sub(1)).map(|index| index + 1);
            choice.capture.is_some()
        }
    };
    options.capture_setups = std::mem::take(&mut options.capture_setups)
        .into_iter()
        .filter_map(|(index, setup)| Some((moved(index)?, setup)))
        .collect();
    options.capture_kinds = std::mem::take(&mut options.capture_kinds)
        .into_iter()
        .filter_map(|(index, kind)| Some((moved(index)?, kind)))
        .collect();
    options.roles.retain_mut(|role| shifted(&mut role.channel));
    options.probes.retain_mut(|(choice, _)| shifted(choice));
    options.accuracies.retain_mut(|(choice, _)| shifted(choice));
    options.bandwidths.retain_mut(|(choice, _)| shifted(choice));
    options.meter_points.retain_mut(|p| shifted(&mut p.channel));
    for range in &mut options.same_range {
        range.retain_mut(shifted);
    }
    options.same_range.retain(|range| range.len() > 1);
    state.meter = MeterForm::default();
    state.drafts.retain(|(_, field), _| !field.of_channel());
    let left = group.shots.len();
    let index = state.group;
    if let Some(inspection) = state.inspections.get_mut(index) {
        // its indices no longer fit
        *inspection = None;
    }
    state.explained = None;
    state.select_shot(state.shot.min(left.saturating_sub(1)));
    (left > 0).then_some(Effect::Examine(index))
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
