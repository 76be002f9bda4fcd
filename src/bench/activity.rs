//! Starts and stops from OUT or the gate, where nothing better was recorded: the last witness, since
//! its samples alias with the pulses.

use crate::data::{Event, EventKind, Role};
use crate::signal::stats;

use super::trace::Trace;

/// A pause this many times the usual one between two rises ends a burst.
const PAUSE: f64 = 25.0;
/// … and takes at least so many samples.
const LEAST_PAUSE: f64 = 50.0;
/// Fewest rises in a burst: fewer are no run.
const FEWEST_RISES: usize = 8;
/// Chance at which samples of a slow record may all have missed the pulses.
const MISSED: f64 = 0.01;
/// Pulses of at least so many samples a period are followed, not met at random.
const FOLLOWED: f64 = 6.0;
/// Neighbouring samples that agree so often although the pulses are much faster than the record: the
/// rate of one is near a multiple of the other.
const SYNCHRONOUS: f64 = 0.9;

/// What bursts of pulses tell.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Activity {
    /// Starts and stops.
    Events(Vec<Event>),
    /// Nothing, and why not.
    CantTell(&'static str),
}

/// The bursts of OUT or the gate as starts and stops of capture `index`. `vcc_at` gives VCC at a time:
/// a controller that stopped starts again only at a higher VCC, so a pause after which VCC is no
/// higher is one in which the samples missed the pulses.
pub(super) fn find(
    index: usize,
    out: &Trace<'_>,
    role: Role,
    vcc_at: impl Fn(f64) -> Option<f64>,
) -> Activity {
    let Some(pulses) = out.pulses().filter(|p| p.gap && !p.cut) else {
        return Activity::CantTell("it is not seen to have two states");
    };
    let rises = &pulses.rising;
    if rises.len() < FEWEST_RISES || pulses.falling.len() < FEWEST_RISES {
        return Activity::CantTell("it pulses too seldom to tell a start by");
    }
    let gaps: Vec<f64> = rises.windows(2).map(|w| w[1] - w[0]).collect();
    let usual = stats::median(&mut gaps.clone());
    let pause = (PAUSE * usual).max(LEAST_PAUSE);
    // a record that follows the pulses has sharp ones at equal distances
    let steady = gaps
        .iter()
        .filter(|g| (**g - usual).abs() < 0.1 * usual)
        .count();
    let followed = usual > FOLLOWED && 10 * steady > 9 * gaps.len();
    if !followed && usual > 2.0 / (1.0 - SYNCHRONOUS) {
        return Activity::CantTell(
            "its samples fall in step with the pulses; record it with another time base",
        );
    }
    let restarts = |from: f64, to: f64| {
        let volts = vcc_at(out.time(from)).zip(vcc_at(out.time(to)));
        volts.is_none_or(|(stop, start)| start > stop + LEAST_HYSTERESIS_V)
    };
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for rise in rises {
        match runs.last_mut() {
            Some(run) if rise - run.1 < pause || !restarts(run.1, *rise) => run.1 = *rise,
            _ => runs.push((*rise, *rise)),
        }
    }
    let many = |run: &&(f64, f64)| {
        rises
            .iter()
            .filter(|r| **r >= run.0 && **r <= run.1)
            .count()
            >= FEWEST_RISES
    };
    let missed = if followed {
        usual
    } else {
        missed(&gaps, &runs, rises)
    };
    let ends = |run: &(f64, f64)| {
        let after = pulses.falling.iter().find(|f| **f > run.1);
        (run.0, after.copied().unwrap_or(run.1))
    };
    let found = runs.iter().filter(many).map(ends);
    Activity::Events(
        found
            .flat_map(|run| events(index, out, role, run, (missed, pause)))
            .collect(),
    )
}

/// A stop and the next start lie at least so far apart in volts: half the hysteresis of the narrowest
/// variant (0.8 V typical, SLUS223G).
const LEAST_HYSTERESIS_V: f64 = 0.4;

/// Samples that may have fallen between the pulses before one met a pulse: of all the time that the
/// pulses run, one part in a hundred lies in longer pauses.
fn missed(gaps: &[f64], runs: &[(f64, f64)], rises: &[f64]) -> f64 {
    let within = |i: usize| {
        runs.iter()
            .any(|run| rises[i] >= run.0 && rises[i + 1] <= run.1)
    };
    let mut inside: Vec<f64> = (0..gaps.len())
        .filter(|i| within(*i))
        .map(|i| gaps[i])
        .collect();
    inside.sort_by(f64::total_cmp);
    let whole: f64 = inside.iter().sum();
    let mut longer = 0.0;
    for gap in inside.iter().rev() {
        longer += gap;
        if longer > MISSED * whole {
            return gap.max(2.0);
        }
    }
    2.0
}

/// Start and stop of one run of pulses, each within the samples that may have missed it; none where
/// the run reaches an end of the record.
fn events(
    index: usize,
    out: &Trace<'_>,
    role: Role,
    (from, to): (f64, f64),
    (missed, pause): (f64, f64),
) -> Vec<Event> {
    let last = out.len() as f64 - 1.0;
    let event = |kind, position: f64| Event {
        capture: index,
        kind,
        at_s: out.time(position),
        within_s: (0.5 * missed + 0.5) * out.interval_s(),
        witness: role,
        vcc: None,
    };
    let mut found = Vec::new();
    if from > pause {
        found.push(event(EventKind::Start, from - 0.5 * missed));
    }
    if to < last - pause {
        found.push(event(EventKind::Stop, to + 0.5 * missed));
    }
    found
}
