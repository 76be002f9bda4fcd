//! Pairs put together into shots for the channels at hand, and what the run holds of them.

use crate::data::{InspectedCapture, Role, Setup, ShotKind};

use super::pairs::{self, Pair};

/// A shot before its settings are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Group {
    /// How the unit is fed.
    pub setup: Setup,
    /// What it shows.
    pub kind: ShotKind,
    /// Its pins, each once.
    pub roles: Vec<Role>,
    /// What it answers.
    pub why: Vec<&'static str>,
    /// The capture that holds them all.
    pub taken_as: Option<usize>,
}

/// The shots of a set-up. What one capture holds is one shot; what is still open is put together as far
/// as `channels` (at least 1) go. With one channel a sweep or a start is VCC alone.
pub(super) fn of(setup: Setup, channels: usize, captures: &[InspectedCapture]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for pair in pairs::of(setup) {
        for roles in pieces(pair, channels) {
            let taken_as = holding(setup, pair.kind, roles, captures);
            // a capture may show more pins than the scope at hand has channels
            let room = if taken_as.is_some() {
                usize::MAX
            } else {
                channels
            };
            let fits = |group: &&mut Group| {
                group.kind == pair.kind
                    && group.taken_as == taken_as
                    && joined(&group.roles, roles).len() <= room
            };
            match groups.iter_mut().find(fits) {
                Some(group) => {
                    group.roles = joined(&group.roles, roles);
                    if !group.why.contains(&pair.why) {
                        group.why.push(pair.why);
                    }
                }
                None => groups.push(Group {
                    setup,
                    kind: pair.kind,
                    roles: roles.to_vec(),
                    why: vec![pair.why],
                    taken_as,
                }),
            }
        }
    }
    groups
}

/// The pair; with a single channel its pins one by one, in sweeps and starts VCC only.
fn pieces(pair: &Pair, channels: usize) -> Vec<&[Role]> {
    match (channels, pair.kind) {
        (0 | 1, ShotKind::Running) => pair.roles.chunks(1).collect(),
        (0 | 1, _) => vec![&pair.roles[..1]],
        _ => vec![&pair.roles],
    }
}

fn joined(some: &[Role], more: &[Role]) -> Vec<Role> {
    let new = more.iter().filter(|role| !some.contains(role));
    some.iter().chain(new).copied().collect()
}

/// The first capture with these pins, of this kind and in this set-up.
fn holding(
    setup: Setup,
    kind: ShotKind,
    roles: &[Role],
    captures: &[InspectedCapture],
) -> Option<usize> {
    captures.iter().position(|capture| {
        capture.setup.value == Some(setup)
            && capture.kind.value == Some(kind)
            && roles.iter().all(|role| capture.channel_of(*role).is_some())
    })
}
