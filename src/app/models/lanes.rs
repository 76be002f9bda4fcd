//! The lanes of one shot: one a channel, in start-up order, on one time axis.

use std::sync::Arc;

use super::details::event_words;
use super::ticks::{Tick, label, ticks};
use crate::app::kept::{Kept, Part};
use crate::app::state::{AppState, Explained};
use crate::data::text::{engineering, harmless};
use crate::data::{
    self, ControllerChoice, EventKind, FactorOffer, InspectedCapture, Inspection, Role, SampleKind,
    Unit, typed,
};
use crate::inspect::Shot;
use crate::inspect::view::Column;
pub use crate::inspect::view::bands::{Band, bands, range_of};

/// One lane.
#[derive(Debug, Clone)]
pub struct Lane {
    /// 0-based channel of the shot.
    pub channel: usize,
    /// Its role, if known.
    pub role: Option<Role>,
    /// Name of the role with its pin number.
    pub title: String,
    /// Name of the channel in the file, made harmless.
    pub name: String,
    /// Why it has this role.
    pub reason: String,
    /// How sure a proposed role is, `likely 97 %`; empty where the user set it.
    pub sure: String,
    /// Values at the lower and the upper edge.
    pub range: (f64, f64),
    /// What is drawn, corrected.
    pub columns: Arc<Vec<Column>>,
    /// Does a value hold until the next?
    pub held: bool,
    /// Limits.
    pub bands: Vec<Band>,
    /// Places on the value axis.
    pub ticks: Vec<Tick>,
    /// Figures of the marked span.
    pub span: String,
    /// Levels and instants that the value explained was taken from.
    pub taken: Vec<Taken>,
    /// A probe factor that would make it fit, in words, and its text for the field.
    pub offer: Option<Offer>,
}

/// A level or an instant that the value explained was taken from.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Where.
    pub mark: data::Mark,
    /// The level in words; empty for an instant, and for a level that another mark names already.
    pub label: String,
}

/// A probe factor on offer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// On the button.
    pub words: String,
    /// The factor as it is typed.
    pub factor: String,
    /// Why.
    pub reason: String,
}

/// A start or a stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Index in the inspection's list.
    pub index: usize,
    /// When.
    pub at_s: f64,
    /// Start or stop.
    pub kind: EventKind,
    /// Beside the line.
    pub text: &'static str,
    /// Accessible name, and what the pointer shows.
    pub spoken: String,
}

/// The marked span.
#[derive(Debug, Clone, PartialEq)]
pub struct SpanModel {
    /// Begin and end, in seconds.
    pub span_s: (f64, f64),
    /// Its length.
    pub length: String,
    /// All its figures as text.
    pub copied: String,
}

/// All lanes of a shot.
#[derive(Debug, Clone)]
pub struct LanesModel {
    /// 0-based shot.
    pub shot: usize,
    /// Part of the time axis shown, in seconds.
    pub shown_s: (f64, f64),
    /// The whole of it.
    pub full_s: (f64, f64),
    /// The lanes.
    pub lanes: Vec<Lane>,
    /// Starts and stops.
    pub marks: Vec<Mark>,
    /// Places on the time axis.
    pub ticks: Vec<Tick>,
    /// The marked span.
    pub span: Option<SpanModel>,
    /// Pixel columns that the lanes were made for.
    pub columns: usize,
    /// Accessible name of the time axis.
    pub spoken: String,
}

/// The lanes of the shot shown, or why there are none.
///
/// # Errors
/// A sentence for the middle of the window.
pub fn lanes(state: &AppState, kept: &Kept) -> Result<LanesModel, &'static str> {
    let shot = state.shot().ok_or("This shot is not there any more.")?;
    let (full_s, shown_s) = state
        .full_s()
        .zip(state.shown_s())
        .ok_or("This capture has no time axis to draw on.")?;
    let inspection = state.inspection();
    let inspected = inspection.and_then(|inspection| inspection.captures.get(state.shot));
    let controller = inspection.and_then(|inspection| inspection.controller.as_ref());
    let mut order: Vec<(usize, Option<Role>)> = (0..shot.capture.channels.len())
        .map(|channel| (channel, role_of(inspected, channel)))
        .collect();
    order.sort_by_key(|(channel, role)| (place(*role), *channel));
    let request = Request {
        shown_s,
        columns: state.lane_columns,
        span_s: state.span_s,
        controller,
        taken: taken(state),
        kept,
    };
    let lanes: Vec<Lane> = order
        .into_iter()
        .filter_map(|(channel, role)| lane(shot, inspected, channel, role, &request))
        .collect();
    let span = state.span_s.map(|span_s| span_model(span_s, &lanes));
    Ok(LanesModel {
        shot: state.shot,
        shown_s,
        full_s,
        marks: inspection.map(|i| marks(i, state.shot)).unwrap_or_default(),
        ticks: ticks(shown_s.0, shown_s.1, 6, Unit::Second),
        span,
        columns: state.lane_columns,
        spoken: format!(
            "Lanes of shot {}, {} to {}",
            state.shot + 1,
            engineering(shown_s.0, Unit::Second, 4),
            engineering(shown_s.1, Unit::Second, 4)
        ),
        lanes,
    })
}

struct Request<'a> {
    shown_s: (f64, f64),
    columns: usize,
    span_s: Option<(f64, f64)>,
    controller: Option<&'a ControllerChoice>,
    /// Channel and marks of the value explained.
    taken: Option<(usize, Vec<data::Mark>)>,
    kept: &'a Kept,
}

/// Channel and marks of the value explained, where it is of this shot.
fn taken(state: &AppState) -> Option<(usize, Vec<data::Mark>)> {
    let Some(Explained::Measured(index)) = state.explained else {
        return None;
    };
    let measured = &state.inspection()?.measured.get(index)?.measured;
    if measured.capture != Some(state.shot) {
        return None;
    }
    Some((measured.channel?, measured.marks.clone()))
}

/// Most levels of a value that are named.
const MOST_LABELS: usize = 4;

/// The marks with each level named once.
fn labelled(marks: &[data::Mark], unit: Unit) -> Vec<Taken> {
    let mut named: Vec<String> = Vec::new();
    let mut label = |mark: &data::Mark| match mark {
        data::Mark::Level { level, .. } => {
            let text = engineering(*level, unit, 4);
            if named.contains(&text) || named.len() >= MOST_LABELS {
                return String::new();
            }
            named.push(text.clone());
            text
        }
        data::Mark::Instant { .. } => String::new(),
    };
    let taken = |mark: &data::Mark| Taken {
        mark: *mark,
        label: label(mark),
    };
    marks.iter().map(taken).collect()
}

/// The offer as the window shows it.
pub fn offer_words(offer: &FactorOffer) -> Offer {
    let factor = typed::written(offer.factor, typed::Kind::Ratio);
    Offer {
        words: format!("Use factor {factor}"),
        factor,
        reason: offer.reason.clone(),
    }
}

fn role_of(inspected: Option<&InspectedCapture>, channel: usize) -> Option<Role> {
    inspected?.channels.get(channel)?.role.value
}

fn place(role: Option<Role>) -> usize {
    let known = |role| Role::ALL.iter().position(|other| *other == role);
    role.and_then(known).unwrap_or(Role::ALL.len())
}

fn lane(
    shot: &Arc<Shot>,
    inspected: Option<&InspectedCapture>,
    index: usize,
    role: Option<Role>,
    request: &Request<'_>,
) -> Option<Lane> {
    let channel = shot.capture.channels.get(index)?;
    let facts = shot.facts.get(index)?;
    let known = inspected.and_then(|inspected| inspected.channels.get(index));
    let (gain, offset) = known.map_or((1.0, 0.0), |known| (known.gain, known.offset));
    let part = |span_s| Part {
        shot,
        channel: index,
        span_s,
        map: (gain, offset),
    };
    let drawn = request.kept.columns(part(request.shown_s), request.columns);
    let bands = bands(role, request.controller);
    let ends = (facts.min * gain + offset, facts.max * gain + offset);
    let range = range_of((ends.0.min(ends.1), ends.0.max(ends.1)), &bands);
    let span = request
        .span_s
        .and_then(|span_s| request.kept.span(part(span_s)));
    let reason = known.map_or_else(
        || "not inspected yet".to_owned(),
        |known| match &known.place {
            Some(place) => {
                let reason = known.role.reason.trim_end_matches('.');
                format!("{reason}. Taken at the {place}.")
            }
            None => known.role.reason.clone(),
        },
    );
    Some(Lane {
        channel: index,
        role,
        title: role.map_or_else(|| "pin not known".to_owned(), Role::title_with_pin),
        name: harmless(&channel.name, 48),
        reason,
        sure: known
            .and_then(|known| known.role.sureness())
            .unwrap_or_default(),
        ticks: ticks(range.0, range.1, 4, channel.unit),
        range,
        columns: drawn,
        held: channel.kind == SampleKind::Held,
        bands,
        span: span.map_or_else(String::new, |f| span_words(&f, channel.unit)),
        taken: match &request.taken {
            Some((of, marks)) if *of == index => labelled(marks, channel.unit),
            _ => Vec::new(),
        },
        offer: known
            .and_then(|known| known.factor_offer.as_ref())
            .map(offer_words),
    })
}

fn span_words(figures: &crate::inspect::view::SpanFigures, unit: Unit) -> String {
    let slope_unit = match unit {
        Unit::Volt => engineering(figures.slope, Unit::VoltPerSecond, 3),
        other => format!(
            "{} {}/s",
            engineering(figures.slope, Unit::Unknown, 3),
            other.shown()
        ),
    };
    format!(
        "{} to {}, mean {}, slope {slope_unit}",
        engineering(figures.level_from, unit, 4),
        engineering(figures.level_to, unit, 4),
        engineering(figures.mean, unit, 4),
    )
}

fn marks(inspection: &Inspection, shot: usize) -> Vec<Mark> {
    inspection
        .events
        .iter()
        .enumerate()
        .filter(|(_, event)| event.capture == shot)
        .map(|(index, event)| Mark {
            index,
            at_s: event.at_s,
            kind: event.kind,
            text: event.kind.id(),
            spoken: event_words(event),
        })
        .collect()
}

fn span_model(span_s: (f64, f64), lanes: &[Lane]) -> SpanModel {
    let length_s = span_s.1 - span_s.0;
    let length = engineering(length_s, Unit::Second, 4);
    let mut copied = format!(
        "span\t{} to {}\tlength {length}\n",
        label(
            span_s.0,
            length_s.abs() * 1e-3 + f64::MIN_POSITIVE,
            Unit::Second
        ),
        label(
            span_s.1,
            length_s.abs() * 1e-3 + f64::MIN_POSITIVE,
            Unit::Second
        ),
    );
    for lane in lanes {
        copied.push_str(&format!("{}\t{}\n", lane.title, lane.span));
    }
    SpanModel {
        span_s,
        length,
        copied,
    }
}
