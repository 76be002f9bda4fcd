//! The threshold loop: VCC across, another pin up, every sweep of the group on one VCC axis.

use std::sync::Arc;

use super::lanes::{Band, bands};
use super::ticks::{Tick, ticks};
use crate::app::kept::{Kept, Part};
use crate::app::state::AppState;
use crate::data::{InspectedCapture, Role, ShotKind, Unit};
use crate::inspect::Shot;

/// What the other pin did in one short stretch of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopPoint {
    /// Middle of VCC in the stretch.
    pub vcc: f64,
    /// Smallest value of the other pin.
    pub low: f64,
    /// Largest value of the other pin.
    pub high: f64,
}

/// One sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopRun {
    /// 0-based shot.
    pub shot: usize,
    /// Name shown.
    pub text: String,
    /// Its path, in order of time.
    pub points: Vec<LoopPoint>,
}

/// The loop.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopModel {
    /// The pin that goes up.
    pub role: Role,
    /// Pins that could.
    pub choices: Vec<Role>,
    /// The sweeps.
    pub runs: Vec<LoopRun>,
    /// VCC at the left and right edge.
    pub across: (f64, f64),
    /// Values at the lower and upper edge.
    pub up: (f64, f64),
    /// Start and stop limits on the VCC axis.
    pub bands: Vec<Band>,
    /// Places on the VCC axis.
    pub across_ticks: Vec<Tick>,
    /// Places on the upward axis.
    pub up_ticks: Vec<Tick>,
}

/// Stretches that a sweep is cut into.
const STRETCHES: usize = 1500;
/// Pins that the loop can show.
const UPWARD: [Role; 4] = [Role::Vref, Role::RtCt, Role::Out, Role::Gate];

/// The loop of the group shown, or why there is none.
///
/// # Errors
/// A sentence for the middle of the window.
pub fn vcc_loop(state: &AppState, kept: &Kept) -> Result<LoopModel, &'static str> {
    let inspection = state
        .inspection()
        .ok_or("The loop needs an inspection; it is not there yet.")?;
    let sweeps = || {
        let slow = |inspected: &&InspectedCapture| {
            matches!(
                inspected.kind.value,
                Some(ShotKind::Sweep | ShotKind::Start)
            )
        };
        inspection.captures.iter().filter(slow)
    };
    let choices: Vec<Role> = UPWARD
        .into_iter()
        .filter(|role| sweeps().any(|found| pair(found, *role).is_some()))
        .collect();
    let role = state
        .loop_role
        .filter(|role| choices.contains(role))
        .or_else(|| choices.first().copied())
        .ok_or("The loop needs a sweep with VCC and one more pin in the same shot.")?;
    let group = state.group().ok_or("This group is not there any more.")?;
    let runs: Vec<LoopRun> = inspection
        .captures
        .iter()
        .zip(&group.shots)
        .enumerate()
        .filter(|(_, (found, _))| {
            matches!(found.kind.value, Some(ShotKind::Sweep | ShotKind::Start))
        })
        .filter_map(|(shot, (found, raw))| run(shot, found, raw, (role, kept)))
        .collect();
    let bands = bands(Some(Role::Vcc), inspection.controller.as_ref());
    let ends = |pick: fn(&LoopPoint) -> (f64, f64)| {
        let points = runs.iter().flat_map(|run| &run.points).map(pick);
        points.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (low, high)| {
            (a.min(low), b.max(high))
        })
    };
    let mut across = ends(|point| (point.vcc, point.vcc));
    for band in &bands {
        across = (across.0.min(band.low), across.1.max(band.high));
    }
    let across = padded(across);
    let up = padded(ends(|point| (point.low, point.high)));
    Ok(LoopModel {
        role,
        choices,
        across_ticks: ticks(across.0, across.1, 8, Unit::Volt),
        up_ticks: ticks(up.0, up.1, 6, Unit::Volt),
        runs,
        across,
        up,
        bands,
    })
}

fn padded((low, high): (f64, f64)) -> (f64, f64) {
    if !(low.is_finite() && high.is_finite()) {
        return (0.0, 1.0);
    }
    let margin = (0.06 * (high - low)).max(1e-6);
    (low - margin, high + margin)
}

fn pair(inspected: &InspectedCapture, role: Role) -> Option<(usize, usize)> {
    Some((
        inspected.channel_of(Role::Vcc)?,
        inspected.channel_of(role)?,
    ))
}

fn run(
    shot: usize,
    inspected: &InspectedCapture,
    raw: &Arc<Shot>,
    (role, kept): (Role, &Kept),
) -> Option<LoopRun> {
    let (vcc, other) = pair(inspected, role)?;
    let time = &raw.capture.channels.get(vcc)?.time;
    let (from_s, to_s) = (time.start_s(), time.end_s());
    let stretches = |index: usize| {
        let known = inspected.channels.get(index)?;
        let part = Part {
            shot: raw,
            channel: index,
            span_s: (from_s, to_s),
            map: (known.gain, known.offset),
        };
        Some(kept.columns(part, STRETCHES))
    };
    let (vcc, other) = (stretches(vcc)?, stretches(other)?);
    let mut other = other.iter().peekable();
    let mut points = Vec::with_capacity(vcc.len());
    for across in vcc.iter() {
        // the two channels may have axes of their own: match stretches by their beginning
        while other
            .peek()
            .is_some_and(|up| up.from_s < across.from_s - 1e-12)
        {
            other.next();
        }
        let Some(up) = other.peek().filter(|up| up.from_s <= across.to_s) else {
            continue;
        };
        let point = LoopPoint {
            vcc: 0.5 * (across.min + across.max),
            low: up.min,
            high: up.max,
        };
        if point.vcc.is_finite() && point.low.is_finite() {
            points.push(point);
        }
    }
    let kind = inspected.kind.value.map_or("shot", ShotKind::id);
    Some(LoopRun {
        shot,
        text: format!("shot {}, {kind}", shot + 1),
        points,
    })
}
