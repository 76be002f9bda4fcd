//! VCC that climbs by itself: first start, hiccup, slopes, margin, take-over.

use crate::data::{
    ControllerChoice, Event, EventKind, InspectedCapture, Mark, Quantity, Role, Shape, ShotKind,
    Term, TieSource, Value,
};
use crate::signal::{Line, stats};

use super::trace::Trace;
use super::{Findings, count, events, several};

/// Everything that a start shot shows of the start itself.
pub fn measure(
    shot: &InspectedCapture,
    events: &[Event],
    controller: Option<&ControllerChoice>,
    found: &mut Findings,
) {
    if shot.kind.value != Some(ShotKind::Start) {
        return;
    }
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return;
    };
    let runs = events::runs(events);
    let starts = events.iter().filter(|e| e.kind == EventKind::Start);
    found.marked(
        Quantity::StartAttempts,
        vcc.index,
        count(runs.len()),
        None,
        starts.map(instant).collect(),
    );
    first_start(&vcc, events, found);
    slopes(&vcc, events, found);
    period(&vcc, events, found);
    settled_and_margin(&vcc, &runs, controller, found);
}

/// A start or a stop in the lane of VCC.
fn instant(event: &Event) -> Mark {
    Mark::Instant {
        at_s: event.at_s,
        level: event.vcc.map(|(volts, _)| volts),
    }
}

/// A level in the lane of VCC.
fn level(level: f64, (from_s, to_s): (f64, f64)) -> Mark {
    Mark::Level {
        level,
        from_s,
        to_s,
    }
}

/// Time-base error assumed: ±100 ppm (common practice for bench scopes).
fn time_base(seconds: f64) -> Term {
    Term::within("time base (assumed)", 1e-4 * seconds).tied(TieSource::TimeBase, seconds)
}

fn times(events: &[Event], kind: EventKind) -> Vec<f64> {
    events
        .iter()
        .filter(|e| e.kind == kind)
        .map(|e| e.at_s)
        .collect()
}

/// From the foot of the climb, where a line through its first part meets the resting level.
fn first_start(vcc: &Trace<'_>, events: &[Event], found: &mut Findings) {
    let quantity = Quantity::FirstStartDelay;
    let Some(start) = events.iter().find(|e| e.kind == EventKind::Start) else {
        found.refuse(
            quantity,
            vcc.index,
            "VCC never starts the controller in this capture",
        );
        return;
    };
    let Some((foot_s, u_s)) = foot(vcc, start.at_s) else {
        found.refuse(
            quantity,
            vcc.index,
            "the record begins after VCC had begun to climb; start it earlier",
        );
        return;
    };
    let delay = start.at_s - foot_s;
    let terms = vec![
        Term::within("sample interval", start.within_s),
        Term::normal("foot of the climb", u_s),
        time_base(delay),
    ];
    let foot = Mark::Instant {
        at_s: foot_s,
        level: None,
    };
    found.marked(
        quantity,
        vcc.index,
        Value::from_terms(delay, terms),
        Some((foot_s, start.at_s)),
        vec![foot, instant(start)],
    );
}

/// The moment at which VCC leaves its resting level below 1 V, and its standard uncertainty.
fn foot(vcc: &Trace<'_>, start_s: f64) -> Option<(f64, f64)> {
    let end = vcc.channel.time.index_from(start_s) / vcc.block_size();
    let top = vcc.block_mean(end.checked_sub(1)?);
    let rest = vcc.block_mean(0);
    let climb = top - rest;
    let doubt = Value::from_terms(rest, vcc.systematic(rest)).u95;
    if !(rest.abs() < 0.6 + doubt && climb > 3.0) {
        return None;
    }
    let part = |share: f64| {
        (0..end)
            .rev()
            .find(|b| vcc.block_mean(*b) < rest + share * climb)
    };
    let crossing = |low: f64, high: f64| {
        let (low, high) = (part(low)?, part(high)?);
        let points = (low..high).map(|b| (vcc.time(vcc.block_middle(b)), vcc.block_mean(b)));
        let line = Line::fit(points).filter(|l| l.slope > 0.0)?;
        let at = line.origin + (rest - line.at_origin) / line.slope;
        Some((
            at,
            (line.u_at(at).hypot(vcc.grain()) / line.slope).max(0.5 * vcc.interval_s()),
        ))
    };
    // the climb bends: a stretch near the foot, and one farther up to see how much that matters
    let near = (4.0 * vcc.grain() / climb).clamp(0.02, 0.1);
    let (at, u) = crossing(near, near + 0.1)?;
    let (far, _) = crossing(near + 0.1, near + 0.25)?;
    let u = u.hypot(0.3 * (at - far));
    let begun = vcc.time(0.0) + 2.0 * vcc.interval_s();
    (at > begun).then_some((at, u))
}

fn period(vcc: &Trace<'_>, events: &[Event], found: &mut Findings) {
    let starts = times(events, EventKind::Start);
    let stops = times(events, EventKind::Stop);
    if stops.is_empty() {
        return;
    }
    if starts.len() < 3 {
        found.refuse(
            Quantity::HiccupPeriod,
            vcc.index,
            "fewer than three starts in the capture; record longer",
        );
        return;
    }
    let span = Some((starts[0], starts[starts.len() - 1]));
    let periods: Vec<f64> = starts.windows(2).map(|w| w[1] - w[0]).collect();
    let n = periods.len() as f64;
    let spread = stats::summary(&periods);
    let widest_s = events
        .iter()
        .filter(|e| e.kind == EventKind::Start)
        .map(|e| e.within_s);
    let within = widest_s.fold(0.0, f64::max) / n;
    // the first start and the last one are off independently
    let mut terms = vec![
        time_base(spread.mean),
        Term::within("first start", within),
        Term::within("last start", within),
    ];
    if n >= 2.0 && spread.deviation / n.sqrt() > 2.0 * within {
        terms.push(Term {
            name: "spread of the periods",
            u: spread.deviation / n.sqrt(),
            shape: Shape::Student { degrees: n - 1.0 },
            tie: None,
        });
    }
    let of_starts = events.iter().filter(|e| e.kind == EventKind::Start);
    found.marked(
        Quantity::HiccupPeriod,
        vcc.index,
        Value::from_terms(spread.mean, terms).with_singles(periods),
        span,
        of_starts.map(instant).collect(),
    );
    ratio(vcc, events, found);
}

fn ratio(vcc: &Trace<'_>, events: &[Event], found: &mut Findings) {
    let bursts: Vec<f64> = gaps(events, EventKind::Start);
    let recharges: Vec<f64> = gaps(events, EventKind::Stop);
    let (burst, recharge) = (stats::summary(&bursts), stats::summary(&recharges));
    if burst.count == 0 || recharge.count == 0 || burst.mean <= 0.0 {
        return;
    }
    let value = recharge.mean / burst.mean;
    // starts and stops are off by what sampling in step with the hiccup may repeat each time; the
    // period is known far better, so what a burst gains a recharge loses
    let widest = |kind| {
        let of_kind = events.iter().filter(|e| e.kind == kind);
        of_kind.map(|e| e.within_s).fold(0.0, f64::max)
    };
    let by_burst = (burst.mean + recharge.mean) / (burst.mean * burst.mean);
    let spread = if burst.count > 1 {
        burst.deviation
    } else {
        0.0
    };
    let terms = vec![
        Term::within("start times", by_burst * widest(EventKind::Start)),
        Term::within("stop times", by_burst * widest(EventKind::Stop)),
        Term::normal(
            "spread of the bursts",
            by_burst * spread / (burst.count as f64).sqrt(),
        ),
    ];
    let value = Value::from_terms(value, terms);
    let marks = events.iter().map(instant).collect();
    found.marked(Quantity::HiccupRatio, vcc.index, value, None, marks);
}

/// Times from each event of a kind to the next event.
fn gaps(events: &[Event], from: EventKind) -> Vec<f64> {
    events
        .windows(2)
        .filter(|w| w[0].kind == from && w[1].kind != from)
        .map(|w| w[1].at_s - w[0].at_s)
        .collect()
}

/// Slopes by a line over the middle of each flank, joined over the capture.
fn slopes(vcc: &Trace<'_>, events: &[Event], found: &mut Findings) {
    let mut rises = Vec::new();
    let mut falls = Vec::new();
    for pair in events.windows(2) {
        let (from, to) = (pair[0].at_s, pair[1].at_s);
        match (pair[0].kind, pair[1].kind) {
            (EventKind::Stop, EventKind::Start) => rises.extend(slope(vcc, from, to, 0.05)),
            (EventKind::Start, EventKind::Stop) => falls.extend(slope(vcc, from, to, 0.1)),
            _ => {}
        }
    }
    let first = events
        .first()
        .filter(|e| rises.is_empty() && e.kind == EventKind::Start);
    if let Some((start_s, (foot_s, _))) = first.and_then(|e| Some((e.at_s, foot(vcc, e.at_s)?))) {
        let from_s = start_s - 0.25 * (start_s - foot_s);
        rises.extend(slope(vcc, from_s, start_s, 0.02));
    }
    joined_slope(vcc, Quantity::ChargeSlope, &rises, found);
    joined_slope(vcc, Quantity::BurstSlope, &falls, found);
}

fn slope(vcc: &Trace<'_>, from_s: f64, to_s: f64, margin: f64) -> Option<(f64, f64)> {
    let cut = margin * (to_s - from_s);
    let first = vcc.channel.time.index_from(from_s + cut) as f64;
    let last = vcc.channel.time.index_from(to_s - cut) as f64 - 1.0;
    let blocks = vcc.blocks_within(first, last);
    let line = Line::fit(blocks.map(|b| (vcc.time(vcc.block_middle(b)), vcc.block_mean(b))))?;
    Some((line.slope, line.u_slope()))
}

fn joined_slope(vcc: &Trace<'_>, quantity: Quantity, slopes: &[(f64, f64)], found: &mut Findings) {
    if slopes.is_empty() {
        return;
    }
    let (mean, random) = several::joined(slopes);
    let mut terms = vcc.systematic_over(mean);
    terms.push(random);
    let values = slopes.iter().map(|s| s.0).collect();
    found.value(
        quantity,
        vcc.index,
        Value::from_terms(mean, terms).with_singles(values),
        None,
    );
}

/// Seconds that a run has to outlast its burst-to-be for "it runs on" to be said: five times the
/// fall from the last start to the lowest VCC.
const OUTLAST: f64 = 5.0;

fn settled_and_margin(
    vcc: &Trace<'_>,
    runs: &[(&Event, Option<&Event>)],
    controller: Option<&ControllerChoice>,
    found: &mut Findings,
) {
    let Some((start, stop)) = runs.last() else {
        return;
    };
    if stop.is_some() {
        found.refuse(
            Quantity::StartMargin,
            vcc.index,
            "the last start of the capture ends in a stop: nothing takes over",
        );
        return;
    }
    let first = vcc.channel.time.index_from(start.at_s) / vcc.block_size() + 1;
    let lowest = (first..vcc.blocks())
        .filter(|b| vcc.block_mean(*b).is_finite())
        .min_by(|a, b| vcc.block_mean(*a).total_cmp(&vcc.block_mean(*b)));
    let Some(lowest) = lowest else { return };
    let low_s = vcc.time(vcc.block_middle(lowest));
    let end_s = vcc.channel.time.end_s();
    if end_s - low_s < OUTLAST * (low_s - start.at_s).max(vcc.interval_s())
        && lowest + 3 > vcc.blocks()
    {
        found.refuse(
            Quantity::StartMargin,
            vcc.index,
            "the record ends while VCC still falls; record longer",
        );
        return;
    }
    settled(vcc, end_s, found);
    margin(vcc, lowest, (start.at_s, low_s), controller, found);
}

fn settled(vcc: &Trace<'_>, end_s: f64, found: &mut Findings) {
    let first = vcc.blocks() - (vcc.blocks() / 5).max(1);
    let values: Vec<f64> = (first..vcc.blocks()).map(|b| vcc.block_mean(b)).collect();
    let spread = stats::summary(&values);
    let mut terms = vcc.systematic(spread.mean);
    terms.push(vcc.resolution_term());
    terms.push(Term::normal(
        "noise",
        spread.deviation / (values.len() as f64).sqrt(),
    ));
    let span = (vcc.time(vcc.block_middle(first)), end_s);
    found.marked(
        Quantity::VccSettled,
        vcc.index,
        Value::from_terms(spread.mean, terms),
        Some(span),
        vec![level(spread.mean, span)],
    );
}

/// Lowest VCC minus the stop threshold: measured in this capture, else the published typical one.
fn margin(
    vcc: &Trace<'_>,
    lowest: usize,
    span: (f64, f64),
    controller: Option<&ControllerChoice>,
    found: &mut Findings,
) {
    let (lowest_v, noise) = bottom(vcc, lowest);
    let quantity = Quantity::StartMargin;
    if let Some(stop) = found.found(Quantity::StopThreshold).cloned() {
        let mut terms = vcc.systematic(lowest_v);
        terms.extend([noise, vcc.resolution_term()]);
        let lowest = Value::from_terms(lowest_v, terms);
        let margin = lowest_v - stop.value;
        found.marked(
            quantity,
            vcc.index,
            Value::linear(margin, &[(1.0, &lowest), (-1.0, &stop)]),
            Some(span),
            vec![level(lowest_v, span), level(stop.value, span)],
        );
        return;
    }
    let published = controller.and_then(|c| c.stop.as_ref());
    let Some((limit, typ)) = published.and_then(|l| l.typ.map(|typ| (l, typ))) else {
        found.refuse(
            quantity,
            vcc.index,
            "the stop threshold is neither seen in this capture nor known: name the controller",
        );
        return;
    };
    let half = limit.max.unwrap_or(typ) - typ;
    let mut terms = vcc.systematic(lowest_v);
    terms.extend([
        noise,
        vcc.resolution_term(),
        Term::within("published spread of the stop threshold", half),
    ]);
    found.marked(
        quantity,
        vcc.index,
        Value::from_terms(lowest_v - typ, terms),
        Some(span),
        vec![level(lowest_v, span), level(typ, span)],
    );
}

/// Level of a lowest point, with the doubt that its shape leaves: a sharp one may go deeper between
/// two samples, a flat one is the median of its neighbours.
fn bottom(vcc: &Trace<'_>, lowest: usize) -> (f64, Term) {
    let near = lowest.saturating_sub(2)..(lowest + 3).min(vcc.blocks());
    let mut around: Vec<f64> = near.map(|b| vcc.block_mean(b)).collect();
    let count = around.len() as f64;
    let flat = stats::median(&mut around);
    let grain = vcc.grain() / (vcc.block_size() as f64).sqrt();
    let level = vcc.block_mean(lowest);
    if flat - level < 4.0 * grain {
        return (flat, Term::normal("noise", grain / count.sqrt()));
    }
    let step = (lowest.saturating_sub(1)..=(lowest + 1).min(vcc.blocks() - 1))
        .map(|b| (vcc.block_mean(b) - level).abs())
        .fold(0.0, f64::max);
    (
        level - 0.25 * step,
        Term::within("sample interval", 0.25 * step + 2.0 * grain),
    )
}
