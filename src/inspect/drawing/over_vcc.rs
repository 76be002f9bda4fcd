//! The threshold loop: VCC across, another pin up, every sweep of the run on one VCC axis.

use std::sync::Arc;

use crate::data::drawing::{Axis, Drawing, Line, Panel, Reach, Upright};
use crate::data::ticks::ticks;
use crate::data::{InspectedCapture, Inspection, Role, ShotKind, Unit};
use crate::inspect::Shot;
use crate::inspect::view::bands::bands;
use crate::inspect::view::sweep::{self, LoopPoint};
use crate::inspect::view::{Column, columns};

/// The loop of a run: a panel for each pin that was recorded beside VCC in a sweep or a start. Nothing
/// where there is none.
pub fn over_vcc(shots: &[Arc<Shot>], inspection: &Inspection) -> Option<Drawing> {
    let panels: Vec<(Role, Vec<Path>)> = sweep::UPWARD
        .into_iter()
        .map(|role| (role, paths(shots, inspection, role)))
        .filter(|(_, paths)| !paths.is_empty())
        .collect();
    if panels.is_empty() {
        return None;
    }
    let limits = bands(Some(Role::Vcc), inspection.controller.as_ref());
    let points = || {
        panels
            .iter()
            .flat_map(|(_, paths)| paths)
            .flat_map(|path| &path.points)
    };
    let mut across = ends(points().map(|p| (p.vcc, p.vcc)));
    for band in &limits {
        across = (across.0.min(band.low), across.1.max(band.high));
    }
    let across = padded(across);
    let apart_v = sweep::APART * (across.1 - across.0);
    let panels: Vec<Panel> = panels
        .iter()
        .map(|(role, paths)| panel(*role, paths, inspection, apart_v))
        .collect();
    Some(Drawing {
        title: "Threshold loop".to_owned(),
        described: described(&panels),
        across: Axis {
            title: Role::Vcc.title_with_pin(),
            ends: across,
            ticks: ticks(across.0, across.1, 8, Unit::Volt),
        },
        bands: limits,
        uprights: Vec::new(),
        panels,
    })
}

/// The path of one shot.
struct Path {
    shot: usize,
    points: Vec<LoopPoint>,
}

fn paths(shots: &[Arc<Shot>], inspection: &Inspection, role: Role) -> Vec<Path> {
    let both = inspection.captures.iter().zip(shots).enumerate();
    let sweeps = both.filter(|(_, (found, _))| {
        matches!(found.kind.value, Some(ShotKind::Sweep | ShotKind::Start))
    });
    let found = sweeps.filter_map(|(shot, (inspected, raw))| {
        let points = path(inspected, raw, role)?;
        (points.len() > 1).then_some(Path { shot, points })
    });
    found.collect()
}

fn path(inspected: &InspectedCapture, raw: &Shot, role: Role) -> Option<Vec<LoopPoint>> {
    let (vcc, other) = sweep::pair(inspected, role)?;
    let time = &raw.capture.channels.get(vcc)?.time;
    let height = role == Role::RtCt;
    let count = if height {
        sweep::HEIGHT_STRETCHES
    } else {
        sweep::STRETCHES
    };
    let stretches = |index: usize| -> Option<Vec<Column>> {
        let (channel, facts) = (raw.capture.channels.get(index)?, raw.facts.get(index)?);
        let known = inspected.channels.get(index)?;
        let drawn = columns(channel, facts, time.start_s(), time.end_s(), count);
        let mapped = drawn.iter().map(|c| c.mapped(known.gain, known.offset));
        Some(mapped.collect())
    };
    Some(sweep::points(&stretches(vcc)?, &stretches(other)?, height))
}

fn panel(role: Role, paths: &[Path], inspection: &Inspection, apart_v: f64) -> Panel {
    let up = padded(ends(
        paths
            .iter()
            .flat_map(|p| &p.points)
            .map(|p| (p.low, p.high)),
    ));
    let levels = paths
        .iter()
        .flat_map(|path| sweep::levels(inspection, path.shot, apart_v));
    let shots: Vec<String> = paths.iter().map(|p| format!("{}", p.shot + 1)).collect();
    let word = if shots.len() > 1 { "shots" } else { "shot" };
    Panel {
        title: match role {
            Role::RtCt => format!("height of {}", role.title_with_pin()),
            _ => role.title_with_pin(),
        },
        note: format!("{word} {}", shots.join(", ")),
        role,
        up: Axis {
            title: Unit::Volt.shown().to_owned(),
            ends: up,
            ticks: ticks(up.0, up.1, 5, Unit::Volt),
        },
        bands: Vec::new(),
        lines: paths.iter().flat_map(lines).collect(),
        uprights: levels
            .map(|level| Upright {
                at: level.vcc,
                text: level.text,
                broken: level.mean,
            })
            .collect(),
    }
}

/// Full where VCC rises, broken where it falls.
fn lines(path: &Path) -> Vec<Line> {
    let reach = |point: &LoopPoint| Reach {
        at: point.vcc,
        low: point.low,
        high: point.high,
    };
    let of = |part: &sweep::LoopPart| {
        let points = path.points.get(part.first..=part.last)?;
        Some(Line {
            reaches: points.iter().map(reach).collect(),
            broken: !part.rising,
        })
    };
    sweep::parts(&path.points).iter().filter_map(of).collect()
}

fn described(panels: &[Panel]) -> String {
    let mut text = "VCC across; full lines where VCC rises, broken ones where it falls.".to_owned();
    for panel in panels {
        text.push_str(&format!(" {} up, {}", panel.title, panel.note));
        for level in &panel.uprights {
            text.push_str(&format!("; {}", level.text));
        }
        text.push('.');
    }
    text
}

fn ends(pairs: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    pairs.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (low, high)| {
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
