//! What the next file is to be: a shot of the list, whose roles it takes unless the record speaks
//! against them.

use super::commands::Effect;
use super::state::AppState;
use crate::data::options::{ChannelChoice, RoleChoice};
use crate::data::{NextRoles, PlannedRole, PlannedShot, Setup, ShotList, roles_for_file};

/// Most channels of a scope that shots are planned for.
pub const MOST_CHANNELS: usize = 8;

/// What the user chose of the shot list.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// Which shot the next file is; `None` plans nothing.
    pub next: Option<Next>,
    /// A file that came for a planned shot and is not inspected yet.
    pub awaited: Option<Box<Came>>,
    /// Roles that the record speaks against.
    pub offer: Option<Box<Offer>>,
    /// What was done with the last file, as a sentence.
    pub said: Option<String>,
}

/// Which shot comes next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// The first that is not done: goes on by itself.
    First,
    /// The one at this index of the list.
    Shot(usize),
}

/// A shot that came for a planned one.
#[derive(Debug, Clone, PartialEq)]
pub struct Came {
    /// 0-based group.
    pub group: usize,
    /// 0-based shot.
    pub shot: usize,
    /// What was planned.
    pub planned: PlannedShot,
}

/// Planned roles that the record speaks against.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The shot.
    pub came: Came,
    /// The roles.
    pub roles: Vec<PlannedRole>,
    /// What speaks against them, as a sentence.
    pub reason: String,
}

/// A wish about the shot list.
#[derive(Debug, Clone, PartialEq)]
pub enum PlanCommand {
    /// The next file is the shot at this index, or nothing planned.
    Next(Option<usize>),
    /// Channels of the scope at hand.
    Channels(usize),
    /// The set-up that shots are planned for.
    Setup(Setup),
    /// Set the offered roles in spite of what the record says.
    TakeOffer,
    /// Leave the roles as they are.
    DropOffer,
}

/// Applies a wish.
pub fn apply(state: &mut AppState, command: PlanCommand) -> Option<Effect> {
    let group = state.group;
    match command {
        PlanCommand::Next(index) => {
            state.plan.next = index.map(|index| match first(state) {
                Some(first) if first == index => Next::First,
                _ => Next::Shot(index),
            });
        }
        PlanCommand::Channels(count) => {
            let options = &mut state.case.groups.get_mut(group)?.options;
            options.scope_channels = Some(count.clamp(1, MOST_CHANNELS));
            return Some(Effect::Examine(group));
        }
        PlanCommand::Setup(setup) => {
            let options = &mut state.case.groups.get_mut(group)?.options;
            options.next_setup = Some(setup);
            return Some(Effect::Examine(group));
        }
        PlanCommand::TakeOffer => {
            let offer = state.plan.offer.take()?;
            return set(state, &offer.came, &offer.roles);
        }
        PlanCommand::DropOffer => state.plan.offer = None,
    }
    None
}

/// The shot list of the group shown.
pub fn list(state: &AppState) -> Option<&ShotList> {
    state.inspection()?.shot_list.as_ref()
}

/// Index of the first shot that is not done.
fn first(state: &AppState) -> Option<usize> {
    list(state)?.shots.iter().position(|shot| !shot.done)
}

/// Index of the shot that the next file is taken for.
pub fn next(state: &AppState) -> Option<usize> {
    match state.plan.next? {
        Next::First => first(state),
        Next::Shot(index) => (index < list(state)?.shots.len()).then_some(index),
    }
}

/// Shots were added to a group: one alone is taken for the planned one.
pub(super) fn expect(state: &mut AppState, group: usize, shot: usize, count: usize) {
    if count != 1 {
        return;
    }
    let planned = next(state).and_then(|index| list(state)?.shots.get(index).cloned());
    let Some(planned) = planned else { return };
    state.plan.said = None;
    state.plan.offer = None;
    state.plan.awaited = Some(Box::new(Came {
        group,
        shot,
        planned,
    }));
}

/// A shot left a group: what was kept of it and of those behind it no longer fits.
pub(super) fn removed(state: &mut AppState) {
    state.plan.awaited = None;
    state.plan.offer = None;
}

/// The inspection of a group came: the shot that was waited for takes its roles, or they are offered.
pub fn settle(state: &mut AppState, group: usize) -> Option<Effect> {
    let came = state.plan.awaited.take_if(|came| came.group == group)?;
    let inspection = state.inspections.get(group)?.as_ref()?;
    let capture = inspection.captures.get(came.shot)?;
    let seen: Vec<_> = capture.channels.iter().map(|c| c.role.clone()).collect();
    match roles_for_file(&came.planned, &seen) {
        NextRoles::Set(roles) => set(state, &came, &roles),
        NextRoles::Offer { roles, reason } => {
            state.plan.offer = Some(Box::new(Offer {
                came: *came,
                roles,
                reason,
            }));
            None
        }
    }
}

/// Gives a shot its planned roles and set-up; what the user said of it before gives way.
fn set(state: &mut AppState, came: &Came, roles: &[PlannedRole]) -> Option<Effect> {
    let number = came.shot + 1;
    let group = state.case.groups.get_mut(came.group)?;
    let channels = &group.shots.get(came.shot)?.capture.channels;
    let options = &mut group.options;
    for planned in roles {
        let name = &channels.get(planned.channel)?.name;
        let digits = (planned.channel + 1).to_string();
        options.roles.retain(|told| {
            let same = told.channel.channel == digits || told.channel.channel == *name;
            !(told.channel.capture == Some(number) && same)
        });
        options.roles.push(RoleChoice {
            channel: ChannelChoice {
                capture: Some(number),
                channel: digits,
            },
            role: planned.role,
            place: planned.place.clone(),
        });
    }
    let setup = came.planned.setup;
    options.capture_setups.entry(came.shot).or_insert(setup);
    state.plan.said = Some(format!(
        "Shot {number} was taken as planned: {}, {}.",
        came.planned.title,
        setup.id()
    ));
    state.plan.next = Some(Next::First);
    Some(Effect::Examine(came.group))
}
