//! What changes a run of the unit: its shots, their roles and set-ups, and a run after the repair.

use std::sync::Arc;

use super::commands::Effect;
use super::meter::MeterForm;
use super::plan;
use super::sheet::Origin;
use super::state::{AFTER, AppState, Problem};
use crate::data::options::{ChannelChoice, RoleChoice};
use crate::data::{Role, Setup};
use crate::inspect::{self, Group, Shot};

/// Adds shots that were read: to the group shown, or in place of the built-in unit.
pub fn take_shots(state: &mut AppState, shots: Vec<Arc<Shot>>) -> Option<Effect> {
    if shots.is_empty() {
        return None;
    }
    leave_demo(state, false);
    let group = state.group;
    let first_new = state.group().map_or(0, |group| group.shots.len());
    plan::expect(state, group, first_new, shots.len());
    state.case.groups.get_mut(group)?.shots.extend(shots);
    state.select_shot(first_new);
    Some(Effect::Examine(group))
}

/// Puts an empty bench in place of the built-in unit.
fn leave_demo(state: &mut AppState, stay: bool) {
    if state.demo && !stay {
        let fresh = AppState::empty(state.read.clone(), state.options.clone());
        state.take_case(fresh.case, false);
    }
}

/// Adds the shots of files that were read.
pub fn take_files(state: &mut AppState, origins: Vec<Origin>) -> Option<Effect> {
    leave_demo(state, origins.iter().all(|origin| origin.shots.is_empty()));
    for origin in &origins {
        state
            .job
            .shelf
            .take(&origin.path, &origin.own, &origin.shots);
    }
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
    state
        .job
        .shelf
        .take(&origin.path, &origin.own, &origin.shots);
    state.origins.push(origin);
    if let Some(inspection) = state.inspections.get_mut(state.group) {
        // it was made of the shots that went
        *inspection = None;
    }
    state.explained = None;
    state.select_shot(shown);
    Some(Effect::Examine(state.group))
}

pub(super) fn begin_after(state: &mut AppState) {
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
        options.marks.clone_from(&before.options.marks);
    }
    state.add_group(Group {
        title: AFTER.to_owned(),
        shots: Vec::new(),
        options,
    });
}

pub(super) fn set_setup(state: &mut AppState, shot: usize, setup: Setup) -> Option<Effect> {
    let group = state.case.groups.get_mut(state.group)?;
    group.options.capture_setups.insert(shot, setup);
    Some(Effect::Examine(state.group))
}

pub(super) fn set_role(
    state: &mut AppState,
    shot: usize,
    channel: usize,
    role: Role,
) -> Option<Effect> {
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
pub(super) fn put_together(state: &mut AppState, shots: &[usize]) -> Option<Effect> {
    let group = state.case.groups.get(state.group)?;
    let members: Vec<Arc<Shot>> = shots
        .iter()
        .filter_map(|index| group.shots.get(*index).cloned())
        .collect();
    let one = inspect::joined(&members, "as told in the window")?;
    state.job.shelf.take_joined(&members, &one);
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

pub(super) fn remove_shot(state: &mut AppState, shot: usize) -> Option<Effect> {
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
    plan::removed(state);
    if let Some(inspection) = state.inspections.get_mut(index) {
        // its indices no longer fit
        *inspection = None;
    }
    state.explained = None;
    state.select_shot(state.shot.min(left.saturating_sub(1)));
    Some(Effect::Examine(index))
}
