//! The form that sets a channel to multimeter readings, and what the readings did.

use super::known::{self, FieldModel};
use super::shot_words;
use crate::app::meter;
use crate::app::state::{AppState, Below};
use crate::data::options::MeterPoint;
use crate::data::text::{engineering, harmless};
use crate::data::{Inspection, MeterPiece, Unit};

/// A channel that may have one input and range with the channel chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SameRange {
    /// 0-based shot.
    pub shot: usize,
    /// 0-based channel.
    pub channel: usize,
    /// `shot 2, VCC`.
    pub label: String,
    /// Is it said to be on the same?
    pub same: bool,
    /// Does the program take it for the same by itself, from name, factor, accuracy and code step?
    pub by_itself: bool,
}

/// The form.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MeterModel {
    /// Is it unfolded?
    pub open: bool,
    /// On the line that unfolds it.
    pub title: String,
    /// Names of the channels of the shot shown.
    pub channels: Vec<String>,
    /// The one chosen.
    pub channel: usize,
    /// Begin as it stands in its field.
    pub from: String,
    /// End.
    pub to: String,
    /// The reading.
    pub reading: String,
    /// Accuracy of the meter.
    pub accuracy: Option<FieldModel>,
    /// Is a reading being tried?
    pub trying: bool,
    /// Why a reading was not taken.
    pub wrong: Option<String>,
    /// The readings taken, as sentences, in the order of the options.
    pub readings: Vec<String>,
    /// Channels of the run that may share the range.
    pub same: Vec<SameRange>,
    /// What the readings did, and what speaks against it.
    pub said: Vec<String>,
}

/// The form of the group and the shot shown.
pub fn meter(state: &AppState) -> MeterModel {
    let form = &state.meter;
    let points = state.group().map_or(&[][..], |g| &g.options.meter_points);
    let title = match points.len() {
        0 => "Set to a meter reading".to_owned(),
        count => format!("Set to the meter ({count})"),
    };
    let mut model = MeterModel {
        open: state.below == Some(Below::Meter),
        title,
        ..MeterModel::default()
    };
    if !model.open {
        return model;
    }
    let inspection = state.inspection();
    let count = state.shot().map_or(0, |shot| shot.capture.channels.len());
    model.channels = (0..count).map(|c| name(state, state.shot, c)).collect();
    model.channel = meter::channel(state);
    (model.from, model.to) = meter::times(state);
    model.reading.clone_from(&form.reading);
    model.accuracy = Some(known::meter_accuracy(state));
    model.trying = form.tried.as_ref().is_some_and(|t| t.group == state.group);
    model.wrong.clone_from(&form.wrong);
    model.readings = points.iter().map(|p| reading(inspection, p)).collect();
    model.same = same(state, model.channel);
    model.said = inspection.map(said).unwrap_or_default();
    model
}

/// `VCC (7), CH1`, or the channel's name alone.
fn name(state: &AppState, shot: usize, channel: usize) -> String {
    let raw = state.group().and_then(|group| group.shots.get(shot));
    let raw = raw.and_then(|shot| shot.capture.channels.get(channel));
    let name = raw.map_or_else(String::new, |channel| harmless(&channel.name, 16));
    let known = state.inspection().and_then(|i| i.captures.get(shot));
    match known.and_then(|known| known.channels.get(channel)?.role.value) {
        Some(role) => format!("{}, {name}", role.title_with_pin()),
        None => name,
    }
}

/// One reading: where, what the meter read, and what the scope showed.
fn reading(inspection: Option<&Inspection>, point: &MeterPoint) -> String {
    let time = |at_s| engineering(at_s, Unit::Second, 4);
    let volts = |v| engineering(v, Unit::Volt, 4);
    let shot = point.channel.capture.map(|number| number.saturating_sub(1));
    let whose = match shot {
        Some(_) => format!("{}, ", shot_words(shot)),
        None => String::new(),
    };
    let place = if point.to_s > point.from_s {
        format!("{} to {}", time(point.from_s), time(point.to_s))
    } else {
        time(point.from_s)
    };
    let piece = inspection.and_then(|found| piece(found, point));
    let shown = piece.map_or_else(String::new, |piece| {
        let left = match piece.left_v.abs() < 5e-4 {
            true => String::new(),
            false => format!(", left over {}", volts(piece.left_v)),
        };
        format!(", the scope showed {}{left}", volts(piece.shown_v))
    });
    format!(
        "{whose}channel {}, {place}: the meter read {}{shown}",
        harmless(&point.channel.channel, 16),
        volts(point.volts),
    )
}

/// The piece of the record that a reading belongs to.
fn piece<'a>(inspection: &'a Inspection, point: &MeterPoint) -> Option<&'a MeterPiece> {
    let tied = |capture: &'a crate::data::InspectedCapture| {
        let channels = capture.channels.iter();
        channels.filter_map(|known| known.set_to_meter.as_ref())
    };
    let pieces = inspection.captures.iter().flat_map(tied);
    let off = |piece: &&MeterPiece| (piece.from_s - point.from_s).abs();
    pieces
        .flat_map(|tied| &tied.pieces)
        .filter(|piece| {
            let here = point.channel.capture.is_none_or(|n| n == piece.capture + 1);
            here && (piece.read_v - point.volts).abs() < 1e-9
        })
        .min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// All other channels of the run that a probe stood on.
fn same(state: &AppState, chosen: usize) -> Vec<SameRange> {
    let Some(group) = state.group() else {
        return Vec::new();
    };
    let here = (state.shot, chosen);
    let groups = meter::same_ranges(state);
    let with_it: Vec<(usize, usize)> = groups
        .into_iter()
        .filter(|group| group.contains(&here))
        .flatten()
        .collect();
    let range = |(shot, channel): (usize, usize)| {
        let known = state.inspection()?.captures.get(shot)?;
        Some(known.channels.get(channel)?.range)
    };
    let mut found = Vec::new();
    for (shot, raw) in group.shots.iter().enumerate() {
        for channel in 0..raw.capture.channels.len() {
            let place = (shot, channel);
            if place == here {
                continue;
            }
            let told = with_it.contains(&place);
            found.push(SameRange {
                shot,
                channel,
                label: format!("{}: {}", shot_words(Some(shot)), name(state, shot, channel)),
                same: told,
                by_itself: !told && range(place).is_some() && range(place) == range(here),
            });
        }
    }
    found
}

/// What the readings did to each channel, and what speaks against it, each once.
fn said(inspection: &Inspection) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for (shot, capture) in inspection.captures.iter().enumerate() {
        for (number, known) in capture.channels.iter().enumerate() {
            let Some(tied) = &known.set_to_meter else {
                continue;
            };
            all.push(tied.in_words(shot, number));
            for doubt in &tied.doubts {
                if !all.contains(doubt) {
                    all.push(doubt.clone());
                }
            }
        }
    }
    all
}
