//! The threshold loop: VCC across, another pin up, every sweep of the group on one VCC axis.

use std::sync::Arc;

use super::lanes::{Band, bands};
use super::loop_parts::{self, LoopLevel, LoopPart};
use super::ticks::{Tick, ticks};
use crate::app::kept::{Kept, Part};
use crate::app::state::AppState;
use crate::data::{InspectedCapture, Inspection, Role, ShotKind, Unit};
use crate::inspect::Shot;
pub use crate::inspect::view::sweep::LoopPoint;
use crate::inspect::view::sweep::{self, HEIGHT_STRETCHES, STRETCHES};

/// One sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopRun {
    /// 0-based shot.
    pub shot: usize,
    /// Name shown.
    pub text: String,
    /// Its path, in order of time.
    pub points: Vec<LoopPoint>,
    /// Where VCC rises and where it falls.
    pub parts: Vec<LoopPart>,
}

/// One pin over VCC.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopPanel {
    /// The pin that goes up.
    pub role: Role,
    /// What goes up, in words.
    pub title: String,
    /// The sweeps.
    pub runs: Vec<LoopRun>,
    /// Values at the lower and upper edge.
    pub up: (f64, f64),
    /// Places on the upward axis.
    pub up_ticks: Vec<Tick>,
    /// The thresholds of its shots.
    pub levels: Vec<LoopLevel>,
}

/// The loop: every sweep of the run on one VCC axis.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopModel {
    /// The one pin chosen; `None` shows every pin there is.
    pub chosen: Option<Role>,
    /// Pins that could.
    pub choices: Vec<Role>,
    /// The pins shown, one below the other.
    pub panels: Vec<LoopPanel>,
    /// VCC at the left and right edge.
    pub across: (f64, f64),
    /// Start and stop limits on the VCC axis.
    pub bands: Vec<Band>,
    /// Places on the VCC axis.
    pub across_ticks: Vec<Tick>,
    /// Accessible name.
    pub spoken: String,
}

/// The loop of the group shown, or why there is none.
///
/// # Errors
/// A sentence for the middle of the window.
pub fn vcc_loop(state: &AppState, kept: &Kept) -> Result<LoopModel, &'static str> {
    let inspection = state
        .inspection()
        .ok_or("The loop needs an inspection; it is not there yet.")?;
    let group = state.group().ok_or("This group is not there any more.")?;
    let captures = inspection.captures.iter().zip(&group.shots).enumerate();
    let sweeps: Vec<(usize, &InspectedCapture, &Arc<Shot>)> = captures
        .filter(|(_, (found, _))| {
            matches!(found.kind.value, Some(ShotKind::Sweep | ShotKind::Start))
        })
        .map(|(shot, (found, raw))| (shot, found, raw))
        .collect();
    let shown = |role: &Role| sweeps.iter().any(|s| sweep::pair(s.1, *role).is_some());
    let choices: Vec<Role> = sweep::UPWARD.into_iter().filter(shown).collect();
    if choices.is_empty() {
        return Err("The loop needs a sweep with VCC and one more pin in the same shot.");
    }
    let chosen = state.loop_role.filter(|role| choices.contains(role));
    let runs = |role: Role| -> Vec<LoopRun> {
        let all = sweeps.iter();
        all.filter_map(|(shot, found, raw)| run(*shot, found, raw, (role, kept)))
            .collect()
    };
    let roles = chosen.map_or_else(|| choices.clone(), |role| vec![role]);
    let drawn: Vec<(Role, Vec<LoopRun>)> = roles.into_iter().map(|r| (r, runs(r))).collect();
    let bands = bands(Some(Role::Vcc), inspection.controller.as_ref());
    let of_vcc = |point: &LoopPoint| (point.vcc, point.vcc);
    let mut across = ends(drawn.iter().flat_map(|(_, runs)| runs), of_vcc);
    for band in &bands {
        across = (across.0.min(band.low), across.1.max(band.high));
    }
    let across = padded(across);
    let apart_v = sweep::APART * (across.1 - across.0);
    let panels: Vec<LoopPanel> = drawn
        .into_iter()
        .map(|(role, runs)| panel(role, runs, (inspection, apart_v)))
        .collect();
    Ok(LoopModel {
        chosen,
        choices,
        across_ticks: ticks(across.0, across.1, 8, Unit::Volt),
        spoken: spoken(&panels),
        panels,
        across,
        bands,
    })
}

fn panel(role: Role, runs: Vec<LoopRun>, (inspection, apart_v): (&Inspection, f64)) -> LoopPanel {
    let up = padded(ends(runs.iter(), |point| (point.low, point.high)));
    let shots = runs.iter().map(|run| run.shot);
    LoopPanel {
        role,
        title: match role {
            Role::RtCt => format!("height of {}", role.title_with_pin()),
            _ => role.title_with_pin(),
        },
        up_ticks: ticks(up.0, up.1, 5, Unit::Volt),
        up,
        levels: shots
            .flat_map(|shot| loop_parts::levels(inspection, shot, apart_v))
            .collect(),
        runs,
    }
}

/// What is drawn, for those who do not see it.
fn spoken(panels: &[LoopPanel]) -> String {
    let mut text = "Threshold loop, VCC across".to_owned();
    for panel in panels {
        let sweeps = match panel.runs.len() {
            1 => "1 sweep".to_owned(),
            more => format!("{more} sweeps"),
        };
        text.push_str(&format!("; {} up, {sweeps}", panel.title));
        for level in &panel.levels {
            text.push_str(&format!("; {}", level.text));
        }
    }
    text
}

fn ends<'a>(
    runs: impl Iterator<Item = &'a LoopRun>,
    pick: impl Fn(&LoopPoint) -> (f64, f64),
) -> (f64, f64) {
    let points = runs.flat_map(|run| &run.points).map(pick);
    points.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (low, high)| {
        (a.min(low), b.max(high))
    })
}

fn padded((low, high): (f64, f64)) -> (f64, f64) {
    if !(low.is_finite() && high.is_finite()) {
        return (0.0, 1.0);
    }
    let margin = (0.06 * (high - low)).max(1e-6);
    (low - margin, high + margin)
}

fn run(
    shot: usize,
    inspected: &InspectedCapture,
    raw: &Arc<Shot>,
    (role, kept): (Role, &Kept),
) -> Option<LoopRun> {
    let (vcc, other) = sweep::pair(inspected, role)?;
    let time = &raw.capture.channels.get(vcc)?.time;
    let (from_s, to_s) = (time.start_s(), time.end_s());
    let height = role == Role::RtCt;
    let count = if height { HEIGHT_STRETCHES } else { STRETCHES };
    let stretches = |index: usize| {
        let known = inspected.channels.get(index)?;
        let part = Part {
            shot: raw,
            channel: index,
            span_s: (from_s, to_s),
            map: (known.gain, known.offset),
        };
        Some(kept.columns(part, count))
    };
    let (vcc, other) = (stretches(vcc)?, stretches(other)?);
    let points = sweep::points(&vcc, &other, height);
    let kind = inspected.kind.value.map_or("shot", ShotKind::id);
    Some(LoopRun {
        shot,
        text: format!("shot {}, {kind}", shot + 1),
        parts: loop_parts::parts(&points),
        points,
    })
}
