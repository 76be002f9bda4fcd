//! The lanes of one shot: one a channel, in start-up order, on one time axis.

use crate::data::drawing::{Axis, Drawing, Line, Panel, Reach, Upright};
use crate::data::text::engineering;
use crate::data::ticks::ticks;
use crate::data::{Channel, ControllerChoice, Event, Inspection, Role, Unit};
use crate::inspect::Shot;
use crate::inspect::view::bands::{bands, range_of};
use crate::inspect::view::{Column, columns};

/// The lanes of shot `number` (from 0) of a run, in `count` columns. Nothing for a shot that is not there
/// and for one without a time axis to draw on.
pub fn lanes(shot: &Shot, inspection: &Inspection, number: usize, count: usize) -> Option<Drawing> {
    let inspected = inspection.captures.get(number)?;
    let span_s = span_of(&shot.capture.channels)?;
    let role_of = |index: usize| inspected.channels.get(index).and_then(|c| c.role.value);
    let mut order: Vec<usize> = (0..shot.capture.channels.len()).collect();
    let place = |index: &usize| {
        let role = role_of(*index);
        let known = role.and_then(|r| Role::ALL.iter().position(|other| *other == r));
        (known.unwrap_or(Role::ALL.len()), *index)
    };
    order.sort_by_key(place);
    let panel = |index: &usize| {
        let role = role_of(*index);
        let view = LaneView {
            span_s,
            count,
            controller: inspection.controller.as_ref(),
        };
        lane(shot, inspected.channels.get(*index), *index, role, &view)
    };
    let panels: Vec<Panel> = order.iter().filter_map(panel).collect();
    let of_shot = inspection.events.iter().filter(|e| e.capture == number);
    let events: Vec<&Event> = of_shot.collect();
    let kind = inspected
        .kind
        .value
        .map_or("unknown kind", |kind| kind.id());
    Some(Drawing {
        title: format!("Shot {}, {kind}", number + 1),
        described: described(&panels, &events, span_s),
        across: Axis {
            title: "time".to_owned(),
            ends: span_s,
            ticks: ticks(span_s.0, span_s.1, 8, Unit::Second),
        },
        bands: Vec::new(),
        uprights: events.iter().map(|event| upright(event)).collect(),
        panels,
    })
}

struct LaneView<'a> {
    span_s: (f64, f64),
    count: usize,
    controller: Option<&'a ControllerChoice>,
}

/// The span that holds all channels.
fn span_of(channels: &[Channel]) -> Option<(f64, f64)> {
    let axes = channels.iter().filter(|c| !c.samples.is_empty());
    let whole = axes.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), c| {
        (a.min(c.time.start_s()), b.max(c.time.end_s()))
    });
    (whole.0 < whole.1 && whole.0.is_finite() && whole.1.is_finite()).then_some(whole)
}

fn lane(
    shot: &Shot,
    known: Option<&crate::data::InspectedChannel>,
    index: usize,
    role: Option<Role>,
    view: &LaneView<'_>,
) -> Option<Panel> {
    let channel = shot.capture.channels.get(index)?;
    let facts = shot.facts.get(index)?;
    let (gain, offset) = known.map_or((1.0, 0.0), |known| (known.gain, known.offset));
    let (from_s, to_s) = view.span_s;
    let drawn = columns(channel, facts, from_s, to_s, view.count);
    let limits = bands(role, view.controller);
    let ends = (facts.min * gain + offset, facts.max * gain + offset);
    let range = range_of((ends.0.min(ends.1), ends.0.max(ends.1)), &limits);
    Some(Panel {
        title: role.map_or_else(|| "pin not known".to_owned(), Role::title_with_pin),
        note: channel.name.clone(),
        role: role.unwrap_or(Role::Other),
        up: Axis {
            title: channel.unit.shown().to_owned(),
            ends: range,
            ticks: ticks(range.0, range.1, 4, channel.unit),
        },
        bands: limits,
        lines: vec![Line {
            reaches: drawn
                .iter()
                .map(|c| reach(c.mapped(gain, offset)))
                .collect(),
            broken: false,
        }],
        uprights: Vec::new(),
    })
}

fn reach(column: Column) -> Reach {
    Reach {
        at: 0.5 * (column.from_s + column.to_s),
        low: column.min,
        high: column.max,
    }
}

fn upright(event: &Event) -> Upright {
    Upright {
        at: event.at_s,
        text: event.kind.id().to_owned(),
        broken: true,
    }
}

/// Most events that are named in words.
const MOST: usize = 6;

fn described(panels: &[Panel], events: &[&Event], span_s: (f64, f64)) -> String {
    let names: Vec<&str> = panels.iter().map(|panel| panel.title.as_str()).collect();
    let at = |seconds: f64| engineering(seconds, Unit::Second, 4);
    let mut text = format!(
        "{} over time, {} to {}.",
        names.join(" and "),
        at(span_s.0),
        at(span_s.1)
    );
    let named = events.iter().take(MOST).map(|event| {
        let vcc = event
            .vcc
            .map(|(volts, _)| engineering(volts, Unit::Volt, 4));
        let vcc = vcc.map_or(String::new(), |v| format!(" at VCC {v}"));
        format!("{} at {}{vcc}", event.kind.id(), at(event.at_s))
    });
    let named: Vec<String> = named.collect();
    if !named.is_empty() {
        let more = events.len().saturating_sub(MOST);
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        text.push_str(&format!(" Marked: {}{more}.", named.join(", ")));
    }
    text
}
