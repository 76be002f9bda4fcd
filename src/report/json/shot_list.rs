//! The shots that fit the set-up, done or not.

use serde_json::{Value, json};

use super::{number, numbered};
use crate::data::{PlannedChannel, PlannedShot, ShotList};

/// The list with every setting and sentence.
pub(super) fn shot_list(list: &ShotList) -> Value {
    json!({
        "setup": list.setup.id(),
        "channels": list.channels,
        "shots": list.shots.iter().map(shot).collect::<Vec<_>>(),
        "readings": list.readings,
        "after": list.later,
    })
}

fn shot(shot: &PlannedShot) -> Value {
    let channels = shot.channels.iter().enumerate();
    json!({
        "title": shot.title,
        "why": shot.why,
        "setup": shot.setup.id(),
        "kind": shot.kind.id(),
        "channels": channels.map(|(index, c)| channel(index, c)).collect::<Vec<_>>(),
        "seconds_per_division": number(shot.seconds_per_division),
        "how": shot.how,
        "cautions": shot.cautions,
        "done": shot.done,
        "taken_as": shot.taken_as.map(numbered),
    })
}

fn channel(index: usize, planned: &PlannedChannel) -> Value {
    let (low, high) = planned.screen_v();
    json!({
        "channel": numbered(index),
        "role": planned.role.id(),
        "place": planned.place,
        "volts_per_division": number(planned.volts_per_division),
        "zero_divisions": number(planned.zero_divisions),
        "position": planned.position,
        "range": [number(planned.range_v.0), number(planned.range_v.1)],
        "screen": [number(low), number(high)],
        "probe": planned.probe,
    })
}
