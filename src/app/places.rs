//! Where in the record something is seen, and how the window gets there.

use super::state::{AppState, Explained, MiddleView, Seen, Visit};
use super::zoom;
use crate::data::{Inspection, Mark, Measured, Stage, Unit};

/// A place in the record: 0-based shot, and where on its time axis if known.
pub type Place = (usize, Option<(f64, f64)>);

/// Shots in which something was measured for a stage, in their order.
pub fn shots_of(inspection: &Inspection, stage: Stage) -> Vec<usize> {
    let mut shots: Vec<usize> = inspection
        .measured_for(stage)
        .filter(|judged| judged.measured.value().is_some())
        .filter_map(|judged| judged.measured.capture)
        .collect();
    shots.sort_unstable();
    shots.dedup();
    shots
}

/// Shows the first shot that shows the stage in focus; stays where the one shown does.
pub fn show_stage(state: &mut AppState) {
    let Some(inspection) = state.inspection() else {
        return;
    };
    let shots = shots_of(inspection, state.focus);
    if let Some(first) = shots.first()
        && !shots.contains(&state.shot)
    {
        state.select_shot(*first);
    }
}

/// Shows a place: its shot, the span marked, and a part of the time axis in which it can be seen.
pub fn show(state: &mut AppState, shot: usize, span_s: Option<(f64, f64)>) {
    if state.group().is_none_or(|group| shot >= group.shots.len()) {
        return;
    }
    if state.shot != shot {
        state.select_shot(shot);
    }
    state.view = MiddleView::Lanes;
    // a span over all of the record would only veil it
    let whole = |(from, to): (f64, f64)| {
        let full = state.full_s();
        full.is_some_and(|full| (to - from).abs() >= 0.98 * (full.1 - full.0))
    };
    let known = span_s.filter(|(from, to)| from.is_finite() && to.is_finite());
    if known.is_some_and(whole) {
        state.window_s = None;
        state.span_s = None;
        return;
    }
    if let Some((a, b)) = known {
        let span = (a.min(b), a.max(b));
        state.span_s = Some(span);
        bring_into_view(state, span);
    }
}

/// Leaves the time axis alone where the span is seen well on it already.
fn bring_into_view(state: &mut AppState, (from, to): (f64, f64)) {
    let (Some(full), Some(shown)) = (state.full_s(), state.shown_s()) else {
        return;
    };
    let length = to - from;
    let inside = from >= shown.0 && to <= shown.1;
    if inside && length * 30.0 >= shown.1 - shown.0 {
        return;
    }
    // an instant gets a twentieth of the record around it, so that one sees what led to it
    let reach = (6.0 * length)
        .max(0.025 * (full.1 - full.0))
        .max(20.0 * zoom::shortest_interval_s(state));
    let middle = 0.5 * (from + to);
    zoom::set_window(state, full, middle - reach, middle + reach);
}

/// Explains something and shows its place, where it has one; chosen again, while that place is still
/// shown, it gives back what the middle showed before.
pub fn visit(state: &mut AppState, what: Explained) {
    let now = state.seen();
    let last = state.visit.take();
    if let Some(last) = last
        && last.what == what
        && (now.shot, now.view) == (last.there.shot, last.there.view)
    {
        go_back(state, &last.before);
        state.explained = Some(what);
        return;
    }
    let place = state.inspection().and_then(|found| place_of(found, what));
    if let Some((shot, span_s)) = place {
        show(state, shot, span_s);
        // from place to place, what the user had chosen himself stays what one comes back to
        let before = match last {
            Some(last) if last.there == now => last.before,
            _ => now,
        };
        let there = state.seen();
        state.visit = (there != before).then_some(Visit {
            what,
            before,
            there,
        });
    }
    state.explained = Some(what);
}

fn go_back(state: &mut AppState, to: &Seen) {
    if state.shot != to.shot {
        state.select_shot(to.shot);
    }
    state.view = to.view;
    state.window_s = to.window_s;
    state.span_s = to.span_s;
}

/// From the first to the last of the instants near the first: those of a fast pin that a value was taken
/// from would fall on each other with all of the record in view.
fn instants_of(measured: &Measured) -> Option<(f64, f64)> {
    let unit = measured.quantity.info().unit;
    let fast = matches!(unit, Unit::Second | Unit::Hertz | Unit::One);
    let instant = |mark: &Mark| match mark {
        Mark::Instant { at_s, .. } => Some(*at_s),
        Mark::Level { .. } => None,
    };
    let mut all: Vec<f64> = measured.marks.iter().filter_map(instant).collect();
    all.sort_by(f64::total_cmp);
    let near = all.len().min(NEAR_INSTANTS);
    (fast && near > 1).then(|| (all[0], all[near - 1]))
}

/// Instants that are brought into view together.
const NEAR_INSTANTS: usize = 6;

/// Where a value, a suspect's best evidence, or an event is seen.
pub fn place_of(inspection: &Inspection, what: Explained) -> Option<Place> {
    match what {
        Explained::Measured(index) => {
            let measured = &inspection.measured.get(index)?.measured;
            Some((measured.capture?, instants_of(measured).or(measured.span_s)))
        }
        Explained::Suspect(index) => {
            let reasons = &inspection.suspects.get(index)?.reasons_for;
            let seen = |span: bool| reasons.iter().find(|r| r.span_s.is_some() == span);
            let reason = seen(true).or_else(|| seen(false))?;
            Some((reason.capture?, reason.span_s))
        }
        Explained::Event(index) => {
            let event = inspection.events.get(index)?;
            let within = event.within_s.abs();
            Some((
                event.capture,
                Some((event.at_s - within, event.at_s + within)),
            ))
        }
    }
}
