//! Why there is no threshold, and what should be said beside one.

use crate::data::text::engineering;
use crate::data::{Event, EventKind, InspectedCapture, Role, ShotKind, Unit, Value};
use crate::signal::{Line, stats};

use super::super::events::why_pulses_tell_none;
use super::super::trace::Trace;
use super::reading::Reading;
use super::unread;

fn volts(value: f64) -> String {
    engineering(value, Unit::Volt, 4)
}

/// Why there is no threshold; `None` where none is to be expected, as a stop in a start that holds.
pub(super) fn why_none(
    shot: &InspectedCapture,
    kind: EventKind,
    events: &[Event],
) -> Option<String> {
    let word = kind.id();
    if let Some(event) = events.iter().find(|e| e.kind == kind) {
        return event.why_no_vcc.as_ref().map(|none| none.why.clone());
    }
    let witnesses = [Role::Vref, Role::RtCt, Role::Out, Role::Gate];
    let witnessed = witnesses
        .iter()
        .any(|role| shot.channel_of(*role).is_some());
    match shot.kind.value {
        Some(ShotKind::Start) if kind == EventKind::Stop => None,
        Some(ShotKind::Sweep) if !witnessed => Some(format!(
            "nothing in this capture shows a {word}; record {} or {} beside VCC",
            Role::Vref.title_with_pin(),
            Role::RtCt.title_with_pin()
        )),
        _ => Some(not_reached(shot, kind, events)),
    }
}

/// The controller did not start or stop as far as VCC went.
fn not_reached(shot: &InspectedCapture, kind: EventKind, events: &[Event]) -> String {
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return format!("no {} is seen in this capture", kind.id());
    };
    if let Some(low_v) = vcc.upside_down() {
        return unread::upside_down(&Role::Vcc.title_with_pin(), low_v);
    }
    if let Some((role, why)) = why_pulses_tell_none(shot, events) {
        return format!(
            "{} {why}: when it {}s can't be told from it; record {} beside VCC",
            role.title_with_pin(),
            kind.id(),
            Role::Vref.title_with_pin()
        );
    }
    if kind == EventKind::Start {
        if !events.is_empty() {
            return "it already runs where the record begins: begin with VCC off".to_owned();
        }
        if let Some(why) = vref_not_up(shot) {
            return why;
        }
    }
    let level = |q: f64| vcc.true_of(vcc.facts().histogram.quantile(q));
    match (kind, shot.kind.value) {
        (EventKind::Start, Some(ShotKind::Start)) => format!(
            "no start is seen: VCC climbs to {} and no further; the start threshold lies above that, or nothing that would show a start was recorded",
            volts(level(0.998))
        ),
        (EventKind::Start, _) => format!(
            "no start is seen up to {}, the highest VCC of this capture: drive it higher, but not above the voltage that must not be exceeded",
            volts(level(0.998))
        ),
        (EventKind::Stop, _) if events.is_empty() => {
            "no stop is seen, as it never starts".to_owned()
        }
        (EventKind::Stop, _) => match lowest_after(&vcc, events) {
            Some(lowest) => format!(
                "no stop is seen down to {}, the lowest VCC after the start: let it fall further",
                volts(lowest)
            ),
            None => "no stop is seen in this capture".to_owned(),
        },
    }
}

/// A move of VREF of fewer volts than this is a leak or a disturbance.
const VREF_MOVES_V: f64 = 0.3;
/// A VREF that gets this far is up, in volts.
const VREF_UP_V: f64 = 2.5;
/// So many samples or more show a move of VREF.
const SHOWN_BY: f64 = 3.0;

/// A VREF that moves, but neither far nor long enough to tell a start.
fn vref_not_up(shot: &InspectedCapture) -> Option<String> {
    let vref = Trace::of_role(shot, Role::Vref)?;
    if let Some(low_v) = vref.upside_down() {
        return Some(unread::upside_down(&Role::Vref.title_with_pin(), low_v));
    }
    let level = |q: f64| vref.true_of(vref.facts().histogram.quantile(q));
    let top = level(1.0 - (SHOWN_BY - 0.5) / vref.len().max(1) as f64);
    if top - level(0.1) < VREF_MOVES_V.max(8.0 * vref.noise()) {
        return None;
    }
    let (pin, top_v) = (Role::Vref.title_with_pin(), volts(top));
    Some(if top > VREF_UP_V {
        format!(
            "{pin} is up, at {top_v}, for too few samples to tell a start: record it with a faster time base, and look at what stops it"
        )
    } else {
        format!(
            "{pin} comes up to {top_v} and no further: too little to tell a start. Where VCC is past the start threshold something pulls it down: power off, measure VREF to ground in ohms, and lift what hangs on it. Else drive VCC higher, but not above the voltage that must not be exceeded"
        )
    })
}

/// Lowest block mean after the last start, in volts.
fn lowest_after(vcc: &Trace<'_>, events: &[Event]) -> Option<f64> {
    let start = events.iter().rev().find(|e| e.kind == EventKind::Start)?;
    let from = vcc.channel.time.index_from(start.at_s) / vcc.block_size().max(1);
    let means = (from..vcc.blocks()).map(|b| vcc.block_mean(b));
    means.filter(|v| v.is_finite()).reduce(f64::min)
}

/// Events of a kind whose VCC can't be read beside others where it can.
pub(super) fn not_counted(kind: EventKind, events: &[Event]) -> Option<String> {
    let of_kind = events.iter().filter(|e| e.kind == kind);
    let left: Vec<&String> = of_kind
        .clone()
        .filter_map(|e| Some(&e.why_no_vcc.as_ref()?.why))
        .collect();
    let why = left.first()?;
    let (count, verb) = match left.len() {
        1 => (1, "is"),
        more => (more, "are"),
    };
    let (all, word) = (of_kind.count(), kind.id());
    Some(format!(
        "{count} of {all} {word}s {verb} not counted: {why}."
    ))
}

/// What should be said beside a threshold.
pub(super) fn remarks(
    kind: EventKind,
    kept: &[Reading],
    outliers: &[Reading],
    (seen, mean): (&Value, &Value),
) -> Vec<String> {
    let found = [
        stepped(kept),
        soft(kind, kept, seen, mean),
        several(kind, kept),
        apart(kind, kept.len(), outliers),
        drift(kind, kept),
        of_extremes(kept),
        spiked(kept),
    ];
    found.into_iter().flatten().collect()
}

fn of_extremes(kept: &[Reading]) -> Option<String> {
    kept.iter().any(|r| r.half.is_some()).then(|| {
        "The record holds the lowest and highest of intervals, in which noise and ripple faster than an interval look alike (10 samples or more to an interval are taken for granted): a record of plain samples gives a sharper value.".to_owned()
    })
}

fn spiked(kept: &[Reading]) -> Option<String> {
    let all: Vec<_> = kept.iter().filter_map(|r| r.spikes).collect();
    let reach_v = all.iter().map(|s| s.reach_v).reduce(f64::max)?;
    let share = all.iter().map(|s| s.share).fold(0.0, f64::max);
    Some(format!(
        "Spikes of up to {} on {} of the samples of VCC are left out: rare, or up as well as down, they are no dips of the supply. If they stand at the pin too (short ground at the probe, fast time base), they may start or stop it earlier.",
        engineering(reach_v, Unit::Volt, 2),
        engineering(share, Unit::One, 2)
    ))
}

fn stepped(kept: &[Reading]) -> Option<String> {
    let steps = kept.iter().filter_map(|r| r.stair);
    let widest = steps.map(|s| s.high_v - s.low_v).reduce(f64::max)?;
    Some(format!(
        "VCC comes in steps of about {}: the event lies within one, and no record of it can say more. Turn in finer steps around it.",
        engineering(widest, Unit::Volt, 2)
    ))
}

/// Ripple of fewer volts than this is not worth a sentence.
const WORTH_SAYING_V: f64 = 0.1;

fn soft(kind: EventKind, kept: &[Reading], seen: &Value, mean: &Value) -> Option<String> {
    let n = kept.len().max(1) as f64;
    let ripple = kept.iter().map(Reading::ripple_v).sum::<f64>() / n;
    let doubt = kept.iter().map(|r| r.ripple.doubt_v).sum::<f64>() / n;
    if ripple < WORTH_SAYING_V.max(2.0 * doubt) {
        return None;
    }
    let (mean, seen) = (volts(mean.value), volts(seen.value));
    Some(match kind {
        EventKind::Stop => format!(
            "A meter reads {mean} at the stop, but the pin falls to {seen} within each swing of VCC, and that is what the controller acts on."
        ),
        EventKind::Start => format!(
            "A meter reads {mean} at the start, but the pin rises to {seen} within each swing of VCC, and that is what the controller acts on."
        ),
    })
}

/// How many there were, and how far they spread.
fn several(kind: EventKind, kept: &[Reading]) -> Option<String> {
    let seen: Vec<f64> = kept.iter().map(Reading::seen).collect();
    let spread = stats::summary(&seen).deviation;
    let (low, high) = seen
        .iter()
        .fold((f64::MAX, f64::MIN), |a, v| (a.0.min(*v), a.1.max(*v)));
    (seen.len() > 1).then(|| {
        format!(
            "The mean of {} {}s, from {} to {} (standard deviation {}).",
            seen.len(),
            kind.id(),
            volts(low),
            volts(high),
            engineering(spread, Unit::Volt, 2)
        )
    })
}

fn apart(kind: EventKind, kept: usize, outliers: &[Reading]) -> Option<String> {
    if outliers.is_empty() {
        return None;
    }
    let one = |r: &Reading| {
        format!(
            "{} at {}",
            volts(r.seen()),
            engineering(r.at_s, Unit::Second, 4)
        )
    };
    let list: Vec<String> = outliers.iter().take(5).map(one).collect();
    Some(format!(
        "{} of {} {}s lie far from the others and are not averaged in: {}{}. A contact that opens or a disturbed VCC looks like that.",
        outliers.len(),
        outliers.len() + kept,
        kind.id(),
        list.join(", "),
        if outliers.len() > 5 { " …" } else { "" }
    ))
}

/// A change from the first event to the last that is worth saying (common practice: 0.1 V).
const DRIFT_V: f64 = 0.1;

fn drift(kind: EventKind, kept: &[Reading]) -> Option<String> {
    if kept.len() < 3 {
        return None;
    }
    let line = Line::fit(kept.iter().enumerate().map(|(i, r)| (i as f64, r.seen())))?;
    let whole = line.slope * (kept.len() - 1) as f64;
    let sure = whole.abs() > 3.0 * line.u_slope() * (kept.len() - 1) as f64;
    (sure && whole.abs() > DRIFT_V).then(|| {
        format!(
            "From the first of {} {}s to the last it moves by {}{}: warmth or a contact; let it settle and sweep again.",
            kept.len(),
            kind.id(),
            if whole < 0.0 { "−" } else { "+" },
            engineering(whole.abs(), Unit::Volt, 2)
        )
    })
}
