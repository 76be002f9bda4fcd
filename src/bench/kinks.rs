//! Starts and stops from VCC alone: where it is fed through a resistance, the running current lets it
//! fall at a start and rise at a stop, against the direction of the sweep.

use crate::data::{Event, EventKind, Role};
use crate::signal::Line;

use super::trace::Trace;

/// Points that a record is looked at in; of longer ones several blocks make a point.
const MOST_POINTS: usize = 2_000;
/// Points on each side of a step that lines are fitted to.
const SIDE: usize = 20;
/// A step must stand so many times out of the scatter about the lines …
const STANDS_OUT: f64 = 8.0;
/// … so many times out of their scatter, so that ripple is none …
const ABOVE_SCATTER: f64 = 3.0;
/// … and measure so many volts: the current of a running controller, 10 mA or more, through 10 Ω and a
/// diode (common practice) gives that.
const LEAST_STEP_V: f64 = 0.15;
/// Points that a step may take: it settles with the VCC capacitor (1 ms for 22 Ω and 47 µF).
const WIDTH: usize = 2;

/// Steps of a driven VCC against its direction, as starts and stops of capture `index`.
pub(super) fn find(index: usize, vcc: &Trace<'_>) -> Vec<Event> {
    let together = vcc.blocks().div_ceil(MOST_POINTS).max(1);
    let mean = |first: usize| {
        let last = (first + together).min(vcc.blocks());
        (first..last).map(|b| vcc.block_mean(b)).sum::<f64>() / (last - first) as f64
    };
    let means: Vec<f64> = (0..vcc.blocks()).step_by(together).map(mean).collect();
    let mut events: Vec<Event> = Vec::new();
    let mut at = SIDE;
    while at + SIDE + WIDTH < means.len() {
        match step_at(&means, at) {
            Some((size, rising)) if better(&means, at, size) => {
                let kind = if rising {
                    EventKind::Start
                } else {
                    EventKind::Stop
                };
                events.push(refined(index, vcc, at * together, together, kind));
                at += SIDE;
            }
            _ => at += 1,
        }
    }
    alternate(events)
}

/// The step between points `at - 1` and `at + WIDTH` and whether VCC rises on both sides of it.
fn step_at(means: &[f64], at: usize) -> Option<(f64, bool)> {
    let line = |range: std::ops::Range<usize>| Line::fit(range.map(|i| (i as f64, means[i])));
    let before = line(at - SIDE..at)?;
    let after = line(at + WIDTH..at + WIDTH + SIDE)?;
    let middle = at as f64 + 0.5 * (WIDTH as f64 - 1.0);
    let size = after.at(middle) - before.at(middle);
    let u = before.u_at(middle).hypot(after.u_at(middle));
    let rising = before.slope > 0.0;
    let against = (size < 0.0) == rising;
    let both = (after.slope > 0.0) == rising
        && before.slope.abs() > 2.0 * before.u_slope()
        && after.slope.abs() > 2.0 * after.u_slope();
    // a hand that turns back moves as fast as it came, a step is faster than any of it
    let fast = size.abs() > 4.0 * before.slope.abs().max(after.slope.abs());
    let scatter = before.scatter.max(after.scatter);
    let least = LEAST_STEP_V
        .max(STANDS_OUT * u)
        .max(ABOVE_SCATTER * scatter);
    (against && both && fast && size.abs() > least).then_some((size.abs(), rising))
}

/// Is the step at `at` larger than at its neighbours?
fn better(means: &[f64], at: usize, size: f64) -> bool {
    (1..=WIDTH).all(|by| {
        let next = at + by + WIDTH + SIDE < means.len();
        !next || step_at(means, at + by).is_none_or(|(other, _)| other <= size)
    })
}

/// The event lies between the last block before the step and the first after it.
fn refined(index: usize, vcc: &Trace<'_>, at: usize, together: usize, kind: EventKind) -> Event {
    let from = vcc.block_middle(at - together);
    let to = vcc.block_middle((at + WIDTH * together).min(vcc.blocks()) - 1);
    Event {
        capture: index,
        kind,
        at_s: vcc.time(0.5 * (from + to)),
        within_s: 0.5 * (to - from) * vcc.interval_s(),
        witness: Role::Vcc,
        vcc: None,
        why_no_vcc: None,
    }
}

/// A start is followed by a stop: of two of a kind in a row neither is sure, and nothing is told.
fn alternate(events: Vec<Event>) -> Vec<Event> {
    let sound = events.windows(2).all(|w| w[0].kind != w[1].kind);
    if sound { events } else { Vec::new() }
}
