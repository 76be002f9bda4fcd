//! Roles for the next file: those of a planned shot, unless the record speaks against them.

use super::inspection::Proposed;
use super::role::Role;
use super::shot_list::{PlannedRole, PlannedShot, ShotList};

/// What to do with the roles of a planned shot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NextRoles {
    /// Nothing speaks against them.
    Set(Vec<PlannedRole>),
    /// The record looks like something else: ask first.
    Offer {
        /// The planned roles.
        roles: Vec<PlannedRole>,
        /// What speaks against them, as a sentence.
        reason: String,
    },
}

/// The roles of the first shot not done, by channel; `None` when every shot is done.
pub fn roles_for_next(list: &ShotList) -> Option<Vec<PlannedRole>> {
    list.open().next().map(PlannedShot::roles)
}

/// The roles of a planned shot for a file in which these roles were proposed, one a channel.
///
/// A proposal that names another pin, or a role that the user set, is never overridden unasked: that
/// makes it an offer with the reason. So does a file with another number of channels than planned; roles
/// of channels that it does not have are left out.
pub fn roles_for_file(planned: &PlannedShot, seen: &[Proposed<Role>]) -> NextRoles {
    let mut roles = planned.roles();
    let mut reasons: Vec<String> = roles
        .iter()
        .filter_map(|role| against(role, seen.get(role.channel)?))
        .collect();
    if seen.len() != roles.len() {
        reasons.push(format!(
            "{} planned, the file has {}",
            counted(roles.len()),
            seen.len()
        ));
        roles.retain(|role| role.channel < seen.len());
    }
    if reasons.is_empty() {
        return NextRoles::Set(roles);
    }
    NextRoles::Offer {
        roles,
        reason: format!("{}.", reasons.join("; ")),
    }
}

/// What speaks against a planned role, if anything does.
fn against(planned: &PlannedRole, seen: &Proposed<Role>) -> Option<String> {
    let found = seen.value.filter(|role| *role != planned.role)?;
    let number = planned.channel + 1;
    let plan = planned.role.title_with_pin();
    let found = found.title_with_pin();
    Some(if seen.by_user {
        format!("channel {number} was set to {found} by you, planned is {plan}")
    } else {
        let sure = seen.sureness().map_or(String::new(), |s| format!(", {s}"));
        let why = seen.reason.trim_end_matches('.');
        format!("channel {number} looks like {found}{sure} ({why}), planned is {plan}")
    })
}

fn counted(channels: usize) -> String {
    match channels {
        1 => "1 channel".to_owned(),
        more => format!("{more} channels"),
    }
}
