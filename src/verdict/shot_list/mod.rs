//! The shots that fit the set-up, the scope at hand and the controller, and which of them the run
//! holds.
//!
//! Start reading at [`find`], then `pairs.rs` (which pins), `group.rs` (how many at once), `expect.rs`
//! (which voltages and times) and `scale.rs` (which settings).

mod beside;
mod expect;
mod group;
mod how;
mod pairs;
mod scale;
mod words;

use crate::controllers::Profile;
use crate::data::{DoNotExceed, PlannedChannel, PlannedShot, Role, Setup, ShotKind, ShotList};

use super::view::View;
use expect::Expect;
use group::Group;

/// Channels of a scope where nobody tells (common practice for a budget scope).
const USUAL_CHANNELS: usize = 2;

/// The shot list of a run; `None` while no set-up is known.
///
/// `candidates` are the controllers that the marking leaves open (empty without one), `ceiling` what a
/// bench supply must not exceed with them. Without captures nothing is done; a zener on the
/// board lowers every voltage. A scope of no channels counts as one of 1.
pub fn find(view: &View<'_>, candidates: &[&Profile], ceiling: &DoNotExceed) -> Option<ShotList> {
    let mut setups = view.setups_and_next();
    let last = *setups.last()?;
    if let Some(next) = view.options.next_setup {
        // what is planned comes first
        setups.sort_by_key(|setup| *setup != next);
    }
    let channels = channels(view);
    let ceiling = ceiling.clone().with_zener(&view.options.parts);
    let expect = Expect::new(view, candidates, ceiling);
    let shots: Vec<PlannedShot> = setups
        .iter()
        .flat_map(|setup| group::of(*setup, channels, view.captures))
        .map(|group| planned(&group, &expect))
        .collect();
    let open = shots.iter().find(|shot| !shot.done);
    let setup = open.map_or(last, |shot| shot.setup);
    Some(ShotList {
        setup,
        channels,
        shots,
        readings: beside::readings(&setups, view.options),
        later: beside::later(last),
    })
}

fn channels(view: &View<'_>) -> usize {
    let most = || {
        let counts = view.captures.iter().map(|c| c.channels.len());
        counts.max().unwrap_or(0).max(USUAL_CHANNELS)
    };
    view.options.scope_channels.unwrap_or_else(most).max(1)
}

fn planned(group: &Group, expect: &Expect) -> PlannedShot {
    let seconds_per_division = expect.seconds_per_division(group.kind);
    let titles: Vec<String> = group.roles.iter().map(|r| r.title_with_pin()).collect();
    let channels = group.roles.iter();
    PlannedShot {
        title: titles.join(" + "),
        why: group.why.join(" "),
        setup: group.setup,
        kind: group.kind,
        channels: channels
            .map(|role| channel(*role, group.setup, group.kind, expect))
            .collect(),
        seconds_per_division,
        how: how::sentences(group, expect, seconds_per_division),
        cautions: how::cautions(group, expect),
        done: group.taken_as.is_some(),
        taken_as: group.taken_as,
    }
}

fn channel(role: Role, setup: Setup, kind: ShotKind, expect: &Expect) -> PlannedChannel {
    let range_v = expect.range_v(role, setup, kind);
    let scale = scale::fit(range_v.0, range_v.1);
    PlannedChannel {
        role,
        place: (role == Role::Vcc).then(|| "pin".to_owned()),
        volts_per_division: scale.volts_per_division,
        zero_divisions: scale.zero_divisions,
        position: scale::position(scale, range_v),
        range_v,
        probe: how::probe(role, setup, expect),
    }
}
