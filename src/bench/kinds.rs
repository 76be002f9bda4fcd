//! What a capture shows, and how the unit was fed, each with the reason.

use crate::data::text::engineering;
use crate::data::{
    Event, EventKind, InspectedCapture, Options, Proposed, Role, Setup, ShotKind, Unit,
};

use super::trace::Trace;
use super::{corners, thresholds};

/// A record shorter than this, in seconds, in which nothing slow happens shows something that runs.
const FAST_RECORD_S: f64 = 0.02;

/// Kind of the shot: set by the user, else from what VCC does around the events.
pub fn kind(
    index: usize,
    shot: &InspectedCapture,
    events: &[Event],
    options: &Options,
) -> Proposed<ShotKind> {
    if let Some(kind) = options.capture_kinds.get(&index) {
        return Proposed::set(*kind);
    }
    let span = shot
        .channels
        .iter()
        .enumerate()
        .map(|(i, _)| Trace::new(shot, i).span_s())
        .fold(0.0, f64::max);
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return without_vcc(shot, events, span);
    };
    let range = vcc.facts().peak_to_peak() * vcc.known.gain.abs();
    let throughout = span < FAST_RECORD_S && events.is_empty() && runs_throughout(shot);
    if vcc.pulses().is_none() || (span < FAST_RECORD_S && range < 1.0) || throughout {
        return Proposed::because(
            ShotKind::Running,
            format!(
                "VCC stays at {}",
                engineering(vcc.true_of(vcc.facts().mean), Unit::Volt, 3)
            ),
        );
    }
    let fed = options
        .capture_setups
        .get(&index)
        .or(options.setup.as_ref());
    let by_bench = matches!(fed, Some(Setup::Injected | Setup::LowBulk));
    let starts = events.iter().filter(|e| e.kind == EventKind::Start);
    let driven = driven(&vcc, events);
    if by_bench && starts.count() > 1 && driven == Some(false) {
        return Proposed::because(
            ShotKind::Sweep,
            "a bench supply feeds VCC (set by you), and each start and stop turns it: the feed is soft",
        );
    }
    if by_bench && !events.is_empty() && driven.is_none() {
        return Proposed::because(ShotKind::Sweep, "a bench supply feeds VCC (set by you)");
    }
    let stops = events.iter().any(|e| e.kind == EventKind::Stop);
    moving(&vcc, driven, stops)
}

/// Does OUT, the gate or the ramp go on from the beginning of the record to its end?
fn runs_throughout(shot: &InspectedCapture) -> bool {
    let roles = [Role::Out, Role::Gate, Role::RtCt];
    let traces = roles
        .into_iter()
        .filter_map(|role| Trace::of_role(shot, role));
    let mut pulses = traces.filter_map(|t| Some((t.pulses()?, t.len() as f64)));
    pulses.any(|(pulses, samples)| {
        let (Some(first), Some(last)) = (pulses.rising.first(), pulses.rising.last()) else {
            return false;
        };
        let usual = (last - first) / (pulses.rising.len() - 1).max(1) as f64;
        let idle = pulses.rising.windows(2).any(|w| w[1] - w[0] > 5.0 * usual);
        pulses.rising.len() > 5 && *first < 3.0 * usual && samples - last < 3.0 * usual && !idle
    })
}

fn without_vcc(shot: &InspectedCapture, events: &[Event], span: f64) -> Proposed<ShotKind> {
    let runs = [Role::RtCt, Role::Out, Role::Gate]
        .iter()
        .any(|role| shot.channel_of(*role).is_some());
    if span < FAST_RECORD_S || (runs && events.is_empty()) {
        return Proposed::because(
            ShotKind::Running,
            format!("a fast record of {}", engineering(span, Unit::Second, 2)),
        );
    }
    Proposed::unknown("can't tell: no channel is VCC")
}

/// Driven from outside, VCC goes on in its direction after most starts and stops; by itself it turns. `None`
/// where no event shows either; one near which VCC is clipped, is missing or jumps shows neither.
pub(super) fn driven(vcc: &Trace<'_>, events: &[Event]) -> Option<bool> {
    let next = |number: usize| events.get(number + 1).map_or(f64::INFINITY, |e| e.at_s);
    let shown = thresholds::show_way(vcc, events, followed_v(vcc));
    let votes: Vec<bool> = events
        .iter()
        .enumerate()
        .filter(|(number, _)| shown[*number])
        .filter_map(|(number, event)| goes_on(vcc, event, next(number)))
        .collect();
    let driven = votes.iter().filter(|v| **v).count();
    (!votes.is_empty()).then_some(2 * driven > votes.len())
}

/// What VCC does around the events, else by itself.
fn moving(vcc: &Trace<'_>, driven: Option<bool>, stops: bool) -> Proposed<ShotKind> {
    if let Some(driven) = driven {
        return if driven {
            Proposed::because(
                ShotKind::Sweep,
                "VCC goes on rising after a start and falling after a stop: it is driven",
            )
        } else {
            Proposed::because(
                ShotKind::Start,
                "VCC turns at the starts and stops: it climbs and falls by itself",
            )
        };
    }
    let mut swing = corners::swing_of(vcc).max(1.0);
    if stops {
        // it has gone both ways, however little of that the range shows
        swing = swing.min(0.5 * vcc.facts().peak_to_peak() * vcc.known.gain.abs());
    }
    let points = corners::turning_points(vcc, swing);
    match points.as_slice() {
        [] => Proposed::because(ShotKind::Start, "VCC climbs once and stays"),
        [first, ..] if first.top && settles(vcc) => {
            Proposed::because(ShotKind::Start, "VCC climbs and settles")
        }
        _ => Proposed::because(
            ShotKind::Sweep,
            "VCC goes up and down and nothing turns it: it is driven",
        ),
    }
}

fn settles(vcc: &Trace<'_>) -> bool {
    let last = vcc.blocks().saturating_sub(vcc.blocks() / 5);
    let values = (last..vcc.blocks()).map(|b| vcc.block_mean(b));
    let (low, high) = values.fold((f64::MAX, f64::MIN), |a, v| (a.0.min(v), a.1.max(v)));
    high - low < 0.05 * high.abs() && low > 4.0
}

/// Volts that VCC is followed before and after an event …
const FOLLOWED_V: f64 = 0.5;
/// … or so many times its noise or code step, where that is more: a single sample must not seem to go on.
const FOLLOWED_GRAINS: f64 = 4.0;

pub(super) fn followed_v(vcc: &Trace<'_>) -> f64 {
    FOLLOWED_V.max(FOLLOWED_GRAINS * vcc.grain())
}

/// Share of what VCC is followed over that shows where it came from, or that it turned.
const SHOWN: f64 = 0.5;
/// A VCC that goes on much faster than it came was not turned by the same hand: its own winding
/// took over.
const FASTEST: f64 = 0.4;

/// Does VCC go on, before the next event, in the direction in which it came, about as fast? `None`
/// when the record ends before that shows.
fn goes_on(vcc: &Trace<'_>, event: &Event, next_s: f64) -> Option<bool> {
    let up = event.kind == EventKind::Start;
    let followed = followed_v(vcc);
    let at = vcc.channel.time.index_from(event.at_s) / vcc.block_size();
    let last = at.saturating_sub(1).min(vcc.blocks().checked_sub(1)?);
    // one block is as noisy as a sample where the record is short: those of a sixth of the way are joined
    let joined = (came(vcc, at, vcc.block_mean(last)) / 6).clamp(1, last + 1);
    let levels = (last + 1 - joined..=last).map(|b| vcc.block_mean(b));
    let here = levels.sum::<f64>() / joined as f64;
    let beyond = |value: f64, by: f64| {
        if up {
            value >= here + by
        } else {
            value <= here - by
        }
    };
    let came = came(vcc, at, here);
    if beyond(
        vcc.block_mean(at.saturating_sub(came + 1)),
        SHOWN * followed,
    ) {
        return None; // it came from the other side: something else made it start or stop
    }
    let mut back = false;
    let until = (vcc.channel.time.index_from(next_s) / vcc.block_size()).min(vcc.blocks());
    for block in at..until {
        let value = vcc.block_mean(block);
        if beyond(value, followed) {
            let took = (block - at).max(1) as f64;
            return Some(took / came.max(1) as f64 > FASTEST);
        }
        // a load step may put VCC back by half a volt before it goes on
        let turned = if up {
            value < here - (1.2_f64).max(2.0 * followed)
        } else {
            value > here + (1.2_f64).max(2.0 * followed)
        };
        if turned {
            return Some(false);
        }
        back |= (value - here).abs() < followed;
    }
    if next_s.is_finite() {
        // it had no time to go on; whether it turned shows in how far it came back
        let last = vcc.block_mean(until.saturating_sub(1).max(at));
        return (!beyond(last, -followed)).then_some(false);
    }
    // the end of the record: it turned if it stayed near
    (vcc.blocks() - at > 2 * came + 4 && back).then_some(false)
}

/// Blocks before one in which VCC was on the way to a level.
fn came(vcc: &Trace<'_>, at: usize, level: f64) -> usize {
    let near = |block: &usize| (vcc.block_mean(*block) - level).abs() < followed_v(vcc);
    (0..at).rev().take_while(near).count()
}

/// How the unit was fed: set by the user, else from the kind of shot and the bulk voltage.
pub fn setup(
    index: usize,
    shot: &InspectedCapture,
    events: &[Event],
    options: &Options,
) -> Proposed<Setup> {
    if let Some(setup) = options
        .capture_setups
        .get(&index)
        .or(options.setup.as_ref())
    {
        return Proposed::set(*setup);
    }
    let bulk = Trace::of_role(shot, Role::Bulk).map(|t| t.true_of(t.facts().mean));
    match (shot.kind.value, bulk) {
        (_, Some(bulk)) if bulk > 60.0 => Proposed::because(
            Setup::Mains,
            format!("the bulk stands at {}", engineering(bulk, Unit::Volt, 3)),
        ),
        (Some(ShotKind::Sweep), Some(bulk)) if bulk > 15.0 => Proposed::because(
            Setup::LowBulk,
            "VCC is driven, and the bulk stands at a low voltage",
        ),
        (Some(ShotKind::Sweep), _) => Proposed::because(
            Setup::Injected,
            "VCC is driven up and down, as by a bench supply",
        ),
        (Some(ShotKind::Start), _) if !events.is_empty() => Proposed::because(
            Setup::Mains,
            "VCC charges by itself through the start-up path",
        ),
        _ => Proposed::unknown("can't tell from this record"),
    }
}

/// Gives the set-up of the others to captures that do not tell theirs, when all others agree.
pub fn share_setup(shots: &mut [&mut InspectedCapture]) {
    let mut known: Vec<Setup> = shots.iter().filter_map(|s| s.setup.value).collect();
    known.sort_unstable();
    known.dedup();
    if let [only] = known.as_slice() {
        for shot in shots.iter_mut().filter(|s| s.setup.value.is_none()) {
            shot.setup = Proposed::because(*only, "as the other captures of this run");
        }
    }
}
