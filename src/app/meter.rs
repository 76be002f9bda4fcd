//! Setting a channel to multimeter readings: what stands in the form, and what becomes of it. A
//! reading that the inspection refuses leaves the options as they were.

use super::commands::Effect;
use super::state::AppState;
use super::told::names;
use crate::data::options::{ChannelChoice, MeterPoint};
use crate::data::text::engineering;
use crate::data::typed::{self, Kind};
use crate::data::{Options, Role, Unit};

/// The form as it stands, and the reading that is being tried.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MeterForm {
    /// 0-based shot and channel chosen, if any; another shot shown leaves it out of account.
    pub channel: Option<(usize, usize)>,
    /// Begin and end as typed; `None` follows the marked span.
    pub times: Option<(String, String)>,
    /// The reading as typed.
    pub reading: String,
    /// Why a reading was not taken.
    pub wrong: Option<String>,
    /// Group and options before and with the reading that is being tried.
    pub tried: Option<Box<Tried>>,
}

/// A reading that is being tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// 0-based group.
    pub group: usize,
    /// Its options before.
    pub before: Options,
    /// Its options with it.
    pub with: Options,
}

/// Which of the two time fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Begin.
    From,
    /// End; empty where a single time is meant.
    To,
}

/// A wish about the form.
#[derive(Debug, Clone, PartialEq)]
pub enum MeterCommand {
    /// Choose a channel of the shot shown.
    Channel(usize),
    /// A time field changed.
    EditTime(End, String),
    /// The field of the reading changed.
    EditReading(String),
    /// Set the channel to the reading.
    Set,
    /// Take a reading back, by its place in the list.
    Remove(usize),
    /// Say whether a channel has one input and range with the channel chosen.
    SameRange {
        /// 0-based shot of the other channel.
        shot: usize,
        /// 0-based other channel.
        channel: usize,
        /// Has it?
        same: bool,
    },
}

/// The channel chosen in the shot shown: the user's, else the one on VCC, else the first.
pub fn channel(state: &AppState) -> usize {
    if let Some((shot, channel)) = state.meter.channel
        && shot == state.shot
    {
        return channel;
    }
    let inspected = state
        .inspection()
        .and_then(|found| found.captures.get(state.shot));
    inspected
        .and_then(|found| found.channel_of(Role::Vcc))
        .unwrap_or(0)
}

/// Begin and end as they stand in their fields.
pub fn times(state: &AppState) -> (String, String) {
    if let Some(typed) = &state.meter.times {
        return typed.clone();
    }
    let shown = |at_s| engineering(at_s, Unit::Second, 5);
    state
        .span_s
        .map_or_else(Default::default, |(from, to)| (shown(from), shown(to)))
}

/// Applies a wish.
pub fn apply(state: &mut AppState, command: MeterCommand) -> Option<Effect> {
    match command {
        MeterCommand::Channel(channel) => state.meter.channel = Some((state.shot, channel)),
        MeterCommand::EditTime(end, text) => {
            let mut both = times(state);
            match end {
                End::From => both.0 = text,
                End::To => both.1 = text,
            }
            state.meter.times = Some(both);
            state.meter.wrong = None;
        }
        MeterCommand::EditReading(text) => {
            state.meter.reading = text;
            state.meter.wrong = None;
        }
        MeterCommand::Set => match point(state) {
            Ok(point) => return attempt(state, |options| options.meter_points.push(point)),
            Err(why) => state.meter.wrong = Some(why),
        },
        MeterCommand::Remove(index) => {
            return attempt(state, |options| {
                if index < options.meter_points.len() {
                    options.meter_points.remove(index);
                }
            });
        }
        MeterCommand::SameRange {
            shot,
            channel: other,
            same,
        } => {
            let chosen = (state.shot, channel(state));
            let groups = same_ranges(state);
            let groups = regrouped(groups, chosen, (shot, other), same);
            return attempt(state, |options| options.same_range = choices(&groups));
        }
    }
    None
}

/// What stands in the form, as an option.
fn point(state: &AppState) -> Result<MeterPoint, String> {
    if state.inspection().is_none() {
        return Err("This run is not inspected yet; set the channel once it is.".to_owned());
    }
    let span_s = state.span_s.filter(|_| state.meter.times.is_none());
    let (from_s, to_s) = match span_s {
        Some(span_s) => span_s,
        None => typed_times(&times(state))?,
    };
    let number = channel(state);
    let axis = state
        .shot()
        .and_then(|shot| shot.capture.channels.get(number))
        .map(|channel| (channel.time.start_s(), channel.time.end_s()))
        .ok_or("This shot has no such channel.")?;
    // a span may be dragged past the ends of the record
    let within = |at_s: f64| match span_s {
        Some(_) => at_s.clamp(axis.0, axis.1.max(axis.0)),
        None => at_s,
    };
    if state.meter.reading.trim().is_empty() {
        return Err("Type what the meter read there.".to_owned());
    }
    Ok(MeterPoint {
        channel: choice((state.shot, number)),
        from_s: within(from_s),
        to_s: within(to_s),
        volts: typed::value(&state.meter.reading, Kind::Volt)?,
    })
}

fn typed_times((from, to): &(String, String)) -> Result<(f64, f64), String> {
    if from.trim().is_empty() {
        return Err(
            "Drag over a piece of a lane in which the voltage stands still, or type a time."
                .to_owned(),
        );
    }
    let from_s = typed::value(from, Kind::Second)?;
    let to_s = match to.trim() {
        "" => from_s,
        to => typed::value(to, Kind::Second)?,
    };
    if to_s < from_s {
        return Err("The piece ends before it begins.".to_owned());
    }
    Ok((from_s, to_s))
}

/// Changes the options of the group shown and has it inspected with them; a refusal takes the change
/// back.
fn attempt(state: &mut AppState, change: impl FnOnce(&mut Options)) -> Option<Effect> {
    let index = state.group;
    if let Some(why) = state.refusals.get(index).cloned().flatten() {
        // what is refused already would be laid at this reading's door
        state.meter.wrong = Some(format!("The run is not inspected as it is: {why}."));
        return None;
    }
    let group = state.case.groups.get_mut(index)?;
    let before = group.options.clone();
    change(&mut group.options);
    if group.options == before {
        return None;
    }
    let with = group.options.clone();
    state.meter.wrong = None;
    let first = match state.meter.tried.take() {
        // another one is still being tried: both go back together
        Some(tried) if tried.group == index => tried.before,
        _ => before,
    };
    state.meter.tried = Some(Box::new(Tried {
        group: index,
        before: first,
        with,
    }));
    (!group.shots.is_empty()).then_some(Effect::Examine(index))
}

/// The inspection with the reading came: it stays, and the form is ready for the next.
pub fn taken(state: &mut AppState, group: usize) {
    if state.meter.tried.take_if(|t| t.group == group).is_some() {
        state.meter.reading.clear();
        state.meter.times = None;
        state.meter.wrong = None;
    }
}

/// The inspection was refused, broken off or stopped: the reading goes back. `true` where one was being
/// tried, so that its form says why; then `again` tells whether the group has to be inspected once
/// more, because something else was changed meanwhile.
pub fn refused(state: &mut AppState, group: usize, why: &str) -> Option<Again> {
    let tried = state.meter.tried.take_if(|t| t.group == group)?;
    state.meter.wrong = Some(format!("Not set: {why}."));
    let options = &mut state.case.groups.get_mut(group)?.options;
    if *options == tried.with {
        *options = tried.before;
        return Some(Again(false));
    }
    options.meter_points = tried.before.meter_points;
    options.same_range = tried.before.same_range;
    Some(Again(true))
}

/// Has the group to be inspected once more?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Again(pub bool);

/// Groups of channels, 0-based shot and channel, that the user says share one input and range.
pub fn same_ranges(state: &AppState) -> Vec<Vec<(usize, usize)>> {
    let Some(group) = state.group() else {
        return Vec::new();
    };
    let places = group.shots.iter().enumerate().flat_map(|(shot, raw)| {
        (0..raw.capture.channels.len()).map(move |channel| (shot, channel, &raw.capture))
    });
    let places: Vec<_> = places.collect();
    let members = |choices: &Vec<ChannelChoice>| {
        let mut found = Vec::new();
        for (shot, channel, capture) in &places {
            if choices.iter().any(|c| names(c, *shot, *channel, capture)) {
                found.push((*shot, *channel));
            }
        }
        found
    };
    group.options.same_range.iter().map(members).collect()
}

/// The groups with `other` put to the one of `chosen`, or taken out of it; a group of one goes.
fn regrouped(
    mut groups: Vec<Vec<(usize, usize)>>,
    chosen: (usize, usize),
    other: (usize, usize),
    same: bool,
) -> Vec<Vec<(usize, usize)>> {
    if chosen == other {
        return groups;
    }
    if same {
        let (mut joined, rest): (Vec<_>, Vec<_>) = groups
            .into_iter()
            .partition(|group| group.contains(&chosen) || group.contains(&other));
        joined.push(vec![chosen, other]);
        let mut all: Vec<_> = joined.into_iter().flatten().collect();
        all.sort_unstable();
        all.dedup();
        groups = rest;
        groups.push(all);
    } else {
        for group in &mut groups {
            group.retain(|place| *place != other);
        }
        groups.retain(|group| group.len() > 1);
    }
    groups
}

fn choices(groups: &[Vec<(usize, usize)>]) -> Vec<Vec<ChannelChoice>> {
    let of = |group: &Vec<_>| group.iter().copied().map(choice).collect();
    groups.iter().map(of).collect()
}

fn choice((shot, channel): (usize, usize)) -> ChannelChoice {
    ChannelChoice {
        capture: Some(shot + 1),
        channel: (channel + 1).to_string(),
    }
}
