//! Two captures of the same happening on one time axis.

use crate::data::{AlignBy, Alignment, Event, EventKind, InspectedCapture, Role};
use crate::signal::correlate;

use super::trace::Trace;

/// Most points of one correlation.
const MOST_POINTS: usize = 131_072;
/// Least correlation coefficient, and most of a rival peak, for a shift to be believed.
const BELIEVED: (f64, f64) = (0.6, 0.95);

/// Widest range of shifts that fit as well, as a share of the longer record.
const LOOSE: f64 = 0.02;

/// One of the two captures.
#[derive(Debug, Clone, Copy)]
pub struct Half<'a> {
    /// Index in its inspection.
    pub index: usize,
    /// The capture.
    pub shot: &'a InspectedCapture,
    /// All events of its inspection.
    pub events: &'a [Event],
}

impl Half<'_> {
    fn first_start(&self) -> Option<&Event> {
        let mut own = self.events.iter().filter(|e| e.capture == self.index);
        own.find(|e| e.kind == EventKind::Start)
    }

    fn interval_s(&self, role: Role) -> f64 {
        let channel = self.shot.channel_of(role);
        let channel = channel.and_then(|c| self.shot.capture.channels.get(c));
        channel.map_or(0.0, |c| c.time.interval_s())
    }
}

/// Lays two captures over each other.
///
/// # Errors
/// Why it can't be done, as a sentence: no start, no edge, no common pin, nothing that fits, or several
/// shifts that fit as well.
pub fn find(before: &Half<'_>, after: &Half<'_>, by: AlignBy) -> Result<Alignment, String> {
    match by {
        AlignBy::Start => start(before, after),
        AlignBy::Edge => edge(before, after),
        AlignBy::Correlation => correlation(before, after),
        AlignBy::Hand(shift_s) => {
            let reason = "as told by hand.".to_owned();
            Ok(made(before, after, by, None, (shift_s, 0.0), reason))
        }
        AlignBy::Auto => start(before, after)
            .or_else(|_| correlation(before, after))
            .or_else(|_| edge(before, after)),
    }
}

fn made(
    before: &Half<'_>,
    after: &Half<'_>,
    by: AlignBy,
    role: Option<Role>,
    (shift_s, within_s): (f64, f64),
    reason: String,
) -> Alignment {
    Alignment {
        before: before.index,
        after: after.index,
        by,
        role,
        shift_s,
        within_s,
        reason,
    }
}

fn start(before: &Half<'_>, after: &Half<'_>) -> Result<Alignment, String> {
    let (Some(first), Some(second)) = (before.first_start(), after.first_start()) else {
        return Err("not both captures hold a start of the controller".to_owned());
    };
    let shift = (second.at_s - first.at_s, first.within_s + second.within_s);
    let reason = format!(
        "on the first start of the controller, told by {} before and {} after.",
        first.witness.title(),
        second.witness.title()
    );
    Ok(made(before, after, AlignBy::Start, None, shift, reason))
}

/// Pins that both captures have, in start-up order.
fn common(before: &Half<'_>, after: &Half<'_>) -> Vec<Role> {
    let both = |role: &Role| {
        before.shot.channel_of(*role).is_some() && after.shot.channel_of(*role).is_some()
    };
    Role::ALL.into_iter().filter(both).collect()
}

fn edge(before: &Half<'_>, after: &Half<'_>) -> Result<Alignment, String> {
    for role in common(before, after) {
        let first = |half: &Half<'_>| {
            let trace = Trace::of_role(half.shot, role)?;
            let pulses = trace.pulses().filter(|pulses| pulses.gap)?;
            let position = *pulses.rising.first()?;
            Some(trace.channel.time.at_position(position))
        };
        let (Some(a), Some(b)) = (first(before), first(after)) else {
            continue;
        };
        let within_s = before.interval_s(role) + after.interval_s(role);
        let reason = format!("on the first rising edge of {}.", role.title_with_pin());
        let shift = (b - a, within_s);
        return Ok(made(
            before,
            after,
            AlignBy::Edge,
            Some(role),
            shift,
            reason,
        ));
    }
    Err("no pin that both captures have shows an edge between two states".to_owned())
}

fn correlation(before: &Half<'_>, after: &Half<'_>) -> Result<Alignment, String> {
    let roles = common(before, after);
    if roles.is_empty() {
        return Err("the captures have no pin in common".to_owned());
    }
    let mut why = String::new();
    for role in roles {
        let (Some(a), Some(b)) = (
            Trace::of_role(before.shot, role),
            Trace::of_role(after.shot, role),
        ) else {
            continue;
        };
        match correlated(&a, &b) {
            Ok(fit) => {
                let reason = format!(
                    "where {} fits best, with a correlation coefficient of {:.2}.",
                    role.title_with_pin(),
                    fit.coefficient
                );
                let shift = (fit.shift_s, fit.within_s);
                let by = AlignBy::Correlation;
                return Ok(made(before, after, by, Some(role), shift, reason));
            }
            Err(reason) if why.is_empty() => {
                why = format!("{} {reason}", role.title_with_pin());
            }
            Err(_) => {}
        }
    }
    Err(why)
}

/// Where two records fit.
struct Fit {
    shift_s: f64,
    within_s: f64,
    coefficient: f64,
}

fn correlated(a: &Trace<'_>, b: &Trace<'_>) -> Result<Fit, String> {
    let axes = [&a.channel.time, &b.channel.time];
    let step_s = axes.iter().map(|t| t.interval_s()).fold(0.0, f64::max);
    let longest_s = axes
        .iter()
        .map(|t| t.end_s() - t.start_s())
        .fold(0.0, f64::max);
    if step_s <= 0.0 || longest_s <= 0.0 {
        return Err("has too few samples".to_owned());
    }
    let points = longest_s / step_s + 1.0;
    let coarse_s = step_s * (points / MOST_POINTS as f64).max(1.0).ceil();
    let starts = (axes[0].start_s(), axes[1].start_s());
    let all = |trace: &Trace<'_>| {
        let time = &trace.channel.time;
        let count = ((time.end_s() - time.start_s()) / coarse_s) as usize + 1;
        grid(trace, time.start_s(), coarse_s, count)
    };
    let (first, second) = (all(a), all(b));
    let far = (isize::MIN / 4, isize::MAX / 4);
    let found = correlate::shift(&first, &second, far).ok_or("does not move, or not alike")?;
    if found.coefficient < BELIEVED.0 {
        return Err(format!(
            "does not look alike on both sides (correlation coefficient {:.2})",
            found.coefficient
        ));
    }
    if found.rival > BELIEVED.1 {
        return Err("repeats itself, so that several shifts fit as well".to_owned());
    }
    let within_s = found.within * coarse_s;
    if within_s > LOOSE * longest_s {
        return Err("fits as well over a wide range of shifts".to_owned());
    }
    let coarse = starts.1 - starts.0 + found.samples * coarse_s;
    let near = (steepest_s(&first, starts.0, coarse_s), coarse);
    let fine = (coarse_s > step_s)
        .then(|| refined(a, b, near, (step_s, coarse_s)))
        .flatten();
    let (shift_s, within_s) = fine.unwrap_or((coarse, within_s));
    Ok(Fit {
        shift_s,
        within_s: within_s.max(step_s),
        coefficient: found.coefficient,
    })
}

/// Where the record moves most from one point of the grid to the next, in seconds.
fn steepest_s(values: &[f64], start_s: f64, step_s: f64) -> f64 {
    let steps = values.windows(2).map(|w| (w[1] - w[0]).abs()).enumerate();
    let largest = steps
        .filter(|(_, step)| step.is_finite())
        .max_by(|a, b| a.1.total_cmp(&b.1));
    start_s + (largest.map_or(0, |(i, _)| i) as f64 + 0.5) * step_s
}

/// The shift by samples around one place, a few points of the coarse grid either way.
fn refined(
    a: &Trace<'_>,
    b: &Trace<'_>,
    (at_s, shift_s): (f64, f64),
    (step_s, coarse_s): (f64, f64),
) -> Option<(f64, f64)> {
    let reach = (3.0 * coarse_s / step_s).ceil() as usize;
    let half = (4 * reach).clamp(256, MOST_POINTS / 4);
    // both grids begin on a sample of their own
    let snapped = |trace: &Trace<'_>, near_s: f64| {
        let time = &trace.channel.time;
        time.at(time.index_from(near_s).min(time.len().saturating_sub(1)))
    };
    let from_s = snapped(a, at_s - half as f64 * step_s);
    let then_s = snapped(b, from_s + shift_s);
    let first = grid(a, from_s, step_s, 2 * half);
    let second = grid(b, then_s, step_s, 2 * half);
    let reach = reach as isize;
    let fine = correlate::shift(&first, &second, (-reach, reach))?;
    let shift_s = then_s - from_s + fine.samples * step_s;
    Some((shift_s, fine.within * step_s))
}

/// Mean of the record around each point of a grid, in true volts; NaN beyond its ends.
fn grid(trace: &Trace<'_>, from_s: f64, step_s: f64, count: usize) -> Vec<f64> {
    let time = &trace.channel.time;
    let ends = (time.start_s(), time.end_s());
    let slack = 0.5 * step_s;
    let value = |k: usize| {
        let at_s = from_s + k as f64 * step_s;
        if at_s < ends.0 - slack || at_s > ends.1 + slack {
            return f64::NAN;
        }
        let first = time.index_from(at_s - slack);
        let last = time.index_from(at_s + slack).min(time.len());
        mean_of(trace, first, last.max(first + 1))
    };
    (0..count).map(value).collect()
}

/// Mean of samples, from the blocks' means where they hold several.
fn mean_of(trace: &Trace<'_>, first: usize, last: usize) -> f64 {
    let pyramid = &trace.facts().pyramid;
    let blocks = if pyramid.base == 0 {
        0..0
    } else {
        first.div_ceil(pyramid.base)..last / pyramid.base
    };
    let mean = |values: &[f64]| {
        let numbers: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
        numbers.iter().sum::<f64>() / numbers.len() as f64
    };
    let raw = if blocks.end > blocks.start + 1 {
        mean(pyramid.means.get(blocks).unwrap_or(&[]))
    } else {
        mean(&trace.channel.valid_slice(first..last))
    };
    trace.true_of(raw)
}
