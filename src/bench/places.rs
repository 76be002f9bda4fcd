//! One net on two channels, at two places: VCC at the pin and at its capacitor.

use crate::data::text::engineering;
use crate::data::{Event, EventKind, InspectedCapture, Note, Role, Term, Unit, Value};
use crate::signal::stats;

use super::trace::Trace;

/// One net on two channels, at two places: how far apart they stand on average, and what that changes by where the
/// controller starts and stops.
pub fn compared(shots: &[&InspectedCapture], events: &[Event]) -> Vec<Note> {
    shots
        .iter()
        .enumerate()
        .flat_map(|(number, shot)| places_in(number, shot, events))
        .collect()
}

/// Samples of either channel on each side of an event …
const BESIDE: usize = 40;
/// … so many away from it.
const AWAY: usize = 3;
/// Most events that are looked at.
const MOST_EVENTS: usize = 32;

/// By how much the difference of two channels changes from stopped to running, over all starts and stops: offsets
/// stay, and gains act on what each channel changes by. `None` where no event has samples on both sides.
fn moves(traces: &[Trace<'_>; 2], capture: usize, events: &[Event]) -> Option<Value> {
    let [a, b] = traces;
    if a.len() != b.len() {
        return None;
    }
    let here = events.iter().filter(|e| e.capture == capture);
    let each = here.take(MOST_EVENTS).filter_map(|event| {
        let one = |trace: &Trace<'_>| change(trace, event);
        Some((one(a)?, one(b)?))
    });
    let (of_a, of_b): (Vec<f64>, Vec<f64>) = each.unzip();
    let apart: Vec<f64> = of_a.iter().zip(&of_b).map(|(a, b)| a - b).collect();
    let spread = stats::summary(&apart);
    if apart.is_empty() {
        return None;
    }
    let samples = BESIDE as f64 * apart.len() as f64;
    let noise = 2.0_f64.sqrt() * a.grain().hypot(b.grain()) / samples.sqrt();
    let random = if spread.deviation / (apart.len() as f64).sqrt() > noise {
        Term::mean_of("spread", spread.deviation, apart.len())
    } else {
        Term::normal("noise", noise)
    };
    let changed = |trace: &Trace<'_>, by: &[f64]| {
        let by = stats::summary(by).mean;
        let mut terms = trace.systematic_over(by);
        terms.push(trace.resolution_term());
        Value::from_terms(by, terms)
    };
    let (by_a, by_b) = (changed(a, &of_a), changed(b, &of_b));
    let random = Value::from_terms(0.0, vec![random]);
    let parts = [(1.0, &by_a), (-1.0, &by_b), (1.0, &random)];
    Some(Value::linear(spread.mean, &parts))
}

/// Level of a channel beside an event while it runs, less that while it is stopped.
fn change(trace: &Trace<'_>, event: &Event) -> Option<f64> {
    let time = &trace.channel.time;
    let first = time
        .index_from(event.at_s - event.within_s)
        .checked_sub(AWAY)?;
    let last = time.index_from(event.at_s + event.within_s) + AWAY;
    let mean = |range: std::ops::Range<usize>| {
        let mut values = trace.values(range);
        values.retain(|v| v.is_finite());
        (values.len() > BESIDE / 2).then(|| stats::summary(&values).mean)
    };
    let before = mean(first.checked_sub(BESIDE)?..first)?;
    let after = mean(last..(last + BESIDE).min(trace.len()))?;
    Some(match event.kind {
        EventKind::Start => after - before,
        EventKind::Stop => before - after,
    })
}

fn places_in(number: usize, shot: &InspectedCapture, events: &[Event]) -> Vec<Note> {
    let mut notes = Vec::new();
    for role in Role::ALL {
        let at: Vec<usize> = (0..shot.channels.len())
            .filter(|i| {
                shot.channels[*i].role.value == Some(role) && shot.channels[*i].place.is_some()
            })
            .collect();
        let [first, second] = at.as_slice() else {
            continue;
        };
        let traces = [*first, *second].map(|index| Trace::new(shot, index));
        let [at_a, at_b] =
            [first, second].map(|i| shot.channels[*i].place.as_deref().unwrap_or_default());
        let pin = role.title_with_pin();
        let number = number + 1;
        let notes_of_events = moves(&traces, number - 1, events).map(|by| {
            let shown = engineering(by.value.abs(), Unit::Volt, 3);
            let doubt = engineering(by.u95, Unit::Volt, 2);
            let side = if by.value < 0.0 { "lower" } else { "higher" };
            if by.value.abs() > by.u95 {
                format!("Shot {number}: while it runs, {pin} at the {at_a} lies {shown} {side} against the {at_b} than while it is stopped (±{doubt}): what lies between the two drops that much. Look at contacts, tracks and resistors there.")
            } else {
                format!("Shot {number}: running or stopped, {pin} at the {at_a} stands the same against the {at_b} (±{doubt}).")
            }
        });
        notes.extend(notes_of_events.map(Note::new));
        let value = |t: &Trace<'_>| {
            let level = t.true_of(t.facts().mean);
            Value::from_terms(level, t.systematic(level))
        };
        let (level_a, level_b) = (value(&traces[0]), value(&traces[1]));
        let parts = [(1.0, &level_a), (-1.0, &level_b)];
        let apart = Value::linear(level_a.value - level_b.value, &parts);
        let side = if apart.value < 0.0 { "below" } else { "above" };
        let sure = if apart.value.abs() > apart.u95 {
            "more than measuring explains"
        } else {
            "no more than measuring may explain"
        };
        notes.push(Note::new(format!(
            "Shot {number}: {pin} at the {at_a} lies on average {} {side} the {at_b} (±{}): {sure}.",
            engineering(apart.value.abs(), Unit::Volt, 3),
            engineering(apart.u95, Unit::Volt, 2),
        )));
    }
    notes
}
