//! Starts and stops from OUT or the gate, where nothing better was recorded: the last witness, since
//! its samples alias with the pulses.
//!
//! A block of samples is active when its highest one is well above the lower state. The upper state
//! does not serve: OUT follows VCC, and a sweep lowers it by half.

use crate::data::{Event, EventKind, Pulses, Role};
use crate::signal::stats;

use super::trace::Trace;

/// A sample this share of the amplitude above the lower state belongs to a pulse …
const ABOVE_LOW: f64 = 0.25;
/// … if it also lies so many volts above it.
const LEAST_ABOVE_V: f64 = 1.5;
/// An idle stretch of fewer samples than this ends no run: with a third of the samples high, chance
/// leaves 50 of them low once in a thousand million.
const LEAST_PAUSE: f64 = 50.0;
/// A run ends before the record does where nothing pulses for so many times the longest of its own pauses.
const BEYOND_PAUSES: f64 = 1.5;
/// Fewest rises: fewer are no run.
const FEWEST_RISES: usize = 8;
/// Of all the time that the pulses run this part may lie in pauses longer than is allowed for.
const MISSED: f64 = 0.01;
/// Samples that chance may leave low at the beginning or the end of a run: the chance is 1 in 100 where
/// 45 % are high.
const MISSED_SAMPLES: f64 = 8.0;
/// A wait of more than twice this share of them comes in 1 of 25 cases: most starts are met within two samples.
const SELDOM_MORE: f64 = 0.3;
/// Pulses of at least so many samples a period are followed, not met at random.
const FOLLOWED: f64 = 6.0;
/// Where so many samples in a row may have missed the pulses, the events are not bounded.
const MOST_MISSED: f64 = 200.0;
const IN_STEP_WHY: &str = "pulses, so it runs, but its samples fall in step with the pulses";
const FEW_WHY: &str = "goes high, but its samples meet too few pulses";
/// Rises that lie further apart than this, in samples, though not evenly, come from samples that fall
/// in step with the pulses.
const IN_STEP: f64 = 20.0;
/// A stop and the next start lie at least so far apart in volts: half the hysteresis of the narrowest
/// variant (0.8 V typical, SLUS223G).
pub(super) const LEAST_HYSTERESIS_V: f64 = 0.4;
/// Blocks with a high sample, below which they may be anything.
const FEWEST_HIGH: usize = 20;
/// High samples return evenly where more than this share of their distances lies within …
const MOSTLY: f64 = 0.5;
/// … this part of the usual one.
const EVENLY: f64 = 0.3;

/// What bursts of pulses tell.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Activity {
    /// Starts and stops.
    Events(Vec<Event>),
    /// It pulses, and when it starts and stops can't be told.
    CantTell(&'static str),
    /// It does not pulse.
    Still,
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
    let Some(pulses) = out.pulses() else {
        return Activity::Still;
    };
    let level = high_level(out, pulses);
    if pulses.rising.len() < FEWEST_RISES {
        let high = !pulses.rising.is_empty() && out.true_of(out.facts().max) > level;
        return if high {
            Activity::CantTell(FEW_WHY)
        } else {
            Activity::Still
        };
    }
    let mut gaps: Vec<f64> = pulses.rising.windows(2).map(|w| w[1] - w[0]).collect();
    let usual = stats::median(&mut gaps);
    let even = |g: &&f64| (**g - usual).abs() < 0.1 * usual;
    let followed = usual > FOLLOWED && 10 * gaps.iter().filter(even).count() > 9 * gaps.len();
    if !followed && usual > IN_STEP {
        return Activity::CantTell(IN_STEP_WHY);
    }
    let active: Vec<usize> = (0..out.blocks())
        .filter(|b| out.block_range(*b).1 > level)
        .collect();
    let size = out.block_size() as f64;
    let least = (LEAST_PAUSE.max(10.0 * usual) / size).ceil() as usize;
    // VCC just before each: a stop lets it rise by what the feed drops, a start lets it fall
    let volts = |block: usize| vcc_at(out.time(out.block_middle(block.saturating_sub(1))));
    let restarts = |stop: usize, start: usize| {
        let both = volts(stop).zip(volts(start));
        both.is_none_or(|(stop, start)| start > stop + LEAST_HYSTERESIS_V)
    };
    let mut runs: Vec<(usize, usize)> = Vec::new();
    let mut pauses: Vec<f64> = Vec::new();
    for block in active {
        match runs.last_mut() {
            Some(run) if block - run.1 <= least || !restarts(run.1, block) => {
                pauses.push((block - run.1 - 1) as f64 * size);
                run.1 = block;
            }
            _ => runs.push((block, block)),
        }
    }
    let longest = pauses.iter().copied().fold(0.0, f64::max);
    let quiet = LEAST_PAUSE.max(BEYOND_PAUSES * longest);
    let missed = if followed {
        usual
    } else {
        missed(pauses, &runs, size)
    };
    if missed > MOST_MISSED {
        return Activity::CantTell(IN_STEP_WHY);
    }
    // of pulses that are followed a whole pause may be missed, of those met at random seldom so many samples
    let usually = if followed { 0.5 } else { SELDOM_MORE } * missed;
    let ends = runs
        .iter()
        .flat_map(|run| events(index, out, role, *run, (usually, quiet, level)));
    Activity::Events(ends.collect())
}

/// Where samples of a pulse were high.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Glimpses {
    /// First and last time of high samples in a row, in seconds.
    pub high_s: Vec<(f64, f64)>,
    /// Usual distance of such rows, in seconds, where they return evenly.
    pub usual_s: Option<f64>,
}

/// Where OUT or the gate is seen high; `None` where it goes from low to high nowhere, or hardly ever.
pub(super) fn glimpses(out: &Trace<'_>) -> Option<Glimpses> {
    let pulses = out.pulses().filter(|p| !p.rising.is_empty())?;
    let level = high_level(out, pulses);
    let mut high_s: Vec<(f64, f64)> = Vec::new();
    let (mut last, mut found) = (None, 0);
    for block in (0..out.blocks()).filter(|b| out.block_range(*b).1 > level) {
        let at = out.time(out.block_middle(block));
        match high_s.last_mut() {
            Some(row) if last == block.checked_sub(1) => row.1 = at,
            _ => high_s.push((at, at)),
        }
        last = Some(block);
        found += 1;
    }
    if found < FEWEST_HIGH {
        return None;
    }
    let mut gaps: Vec<f64> = high_s.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let usual = stats::median(&mut gaps);
    let rows = usual > IN_STEP * out.interval_s();
    let even = gaps.iter().filter(|g| (**g - usual).abs() < EVENLY * usual);
    let evenly =
        rows && high_s.len() >= FEWEST_RISES && even.count() as f64 > MOSTLY * gaps.len() as f64;
    Some(Glimpses {
        high_s,
        usual_s: evenly.then_some(usual),
    })
}

/// The level above which a sample belongs to a pulse, in true volts.
fn high_level(out: &Trace<'_>, pulses: &Pulses) -> f64 {
    let (low, high) = (out.true_of(pulses.low), out.true_of(out.facts().max));
    low + (ABOVE_LOW * (high - low)).max(LEAST_ABOVE_V)
}

/// Samples that may have fallen between the pulses before one met a pulse.
fn missed(mut pauses: Vec<f64>, runs: &[(usize, usize)], size: f64) -> f64 {
    let whole: f64 = runs
        .iter()
        .map(|run| (run.1 + 1 - run.0) as f64 * size)
        .sum();
    pauses.sort_by(f64::total_cmp);
    let mut longer = 0.0;
    for pause in pauses.into_iter().rev() {
        longer += pause;
        if longer > MISSED * whole {
            return pause.max(MISSED_SAMPLES);
        }
    }
    MISSED_SAMPLES
}

/// Start and stop of one run of active blocks, each by `missed` samples beyond its first and last high one
/// and within as many; none where the run reaches an end of the record, or leaves less than `quiet` samples there.
fn events(
    index: usize,
    out: &Trace<'_>,
    role: Role,
    (first, last): (usize, usize),
    (missed, quiet, level): (f64, f64, f64),
) -> Vec<Event> {
    let size = out.block_size();
    let samples = |block: usize| out.values(block * size..((block + 1) * size).min(out.len()));
    let above = |v: &f64| *v > level;
    let from = samples(first)
        .iter()
        .position(above)
        .map(|i| (first * size + i) as f64);
    let to = samples(last)
        .iter()
        .rposition(above)
        .map(|i| (last * size + i) as f64);
    let event = |kind, position: f64| Event {
        capture: index,
        kind,
        at_s: out.time(position),
        within_s: (missed + 0.5) * out.interval_s(),
        witness: role,
        vcc: None,
        why_no_vcc: None,
    };
    let end = out.len() as f64 - 1.0 - quiet;
    let start = from.filter(|from| *from > quiet);
    let start = start.map(|from| event(EventKind::Start, from - missed));
    let stop = to
        .filter(|to| *to < end)
        .map(|to| event(EventKind::Stop, to + missed));
    start.into_iter().chain(stop).collect()
}
