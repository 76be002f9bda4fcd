//! The sheet of voltage steps: what was told, on a line of volts, and what it says.

use crate::app::state::AppState;
use crate::app::steps::StepsForm;
use crate::data::typed::{Kind, written};
use crate::data::{Direction, Inspection, Quantity, StepPlace, StepsFinding, VoltageStep};
use crate::report;

/// A reading of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct StepRow {
    /// Its place among the readings told; `None` where a capture stands for it.
    pub index: Option<usize>,
    /// `works at 8.53 V, going down, 11.5 mA`.
    pub text: String,
}

/// A mark on the line of volts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepMark {
    /// Where.
    pub volts: f64,
    /// Works, or is dead.
    pub works: bool,
    /// From which side.
    pub going: Option<Direction>,
}

/// Limits or a bracket, shaded on the line.
#[derive(Debug, Clone, PartialEq)]
pub struct StepBand {
    /// `start, published`.
    pub label: String,
    /// Lower end, in volts; `None` reaches to the edge.
    pub low_v: Option<f64>,
    /// Upper end.
    pub high_v: Option<f64>,
    /// In the row of the readings going this way.
    pub going: Direction,
    /// Published, as against read.
    pub published: bool,
}

/// The line of volts.
#[derive(Debug, Clone, PartialEq)]
pub struct StepsLine {
    /// Volts at its two ends.
    pub ends_v: (f64, f64),
    /// The readings.
    pub marks: Vec<StepMark>,
    /// What is shaded.
    pub bands: Vec<StepBand>,
    /// Has it a row of readings without direction?
    pub undirected: bool,
    /// All of it in a sentence, for those who can't see it.
    pub spoken: String,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StepsModel {
    /// The fields.
    pub form: StepsForm,
    /// The line, once there is a reading.
    pub line: Option<StepsLine>,
    /// Word and text of each threshold.
    pub thresholds: Vec<(&'static str, String)>,
    /// What can't be true together.
    pub contradictions: Vec<String>,
    /// What else they say.
    pub remarks: Vec<String>,
    /// The readings, by voltage.
    pub rows: Vec<StepRow>,
}

/// The sheet of the group shown.
pub fn steps(state: &AppState) -> StepsModel {
    let told = state.group().map_or(&[][..], |g| &g.options.steps);
    let inspection = state.inspection();
    let found = inspection.and_then(|run| run.steps.as_ref());
    let of_shots = found.map_or(&[][..], |f| &f.readings);
    let of_shots = of_shots
        .iter()
        .filter(|step| matches!(step.place, StepPlace::Shot(_)));
    let numbered = told.iter().enumerate().map(|(i, step)| (Some(i), step));
    let mut all: Vec<_> = numbered.chain(of_shots.map(|step| (None, step))).collect();
    all.sort_by(|a, b| b.1.volts.total_cmp(&a.1.volts));
    let rows = all.iter().map(|(index, step)| StepRow {
        index: *index,
        text: words(step),
    });
    let marks: Vec<StepMark> = all.iter().map(|(_, step)| mark(step)).collect();
    StepsModel {
        form: state.steps.clone(),
        line: line(marks, inspection, found),
        thresholds: found.map(report::step_thresholds).unwrap_or_default(),
        contradictions: found.map(|f| f.contradictions.clone()).unwrap_or_default(),
        remarks: found.map(|f| f.remarks.clone()).unwrap_or_default(),
        rows: rows.collect(),
    }
}

/// `works at 8.53 V, going down, 11.5 mA`.
fn words(step: &VoltageStep) -> String {
    let volts = written((step.volts * 1e3).round() / 1e3, Kind::Volt);
    let mut text = format!("{} at {volts}", step.state_id());
    if let Some(going) = step.going {
        text.push_str(&format!(", going {}", going.id()));
    }
    if let Some(current) = step.current_a {
        text.push_str(&format!(", {}", written(current, Kind::Ampere)));
    }
    if let StepPlace::Shot(_) | StepPlace::Line(_) = step.place {
        text.push_str(&format!(" ({})", step.place.in_words()));
    }
    text
}

fn mark(step: &VoltageStep) -> StepMark {
    StepMark {
        volts: step.volts,
        works: step.works,
        going: step.going,
    }
}

fn line(
    marks: Vec<StepMark>,
    inspection: Option<&Inspection>,
    found: Option<&StepsFinding>,
) -> Option<StepsLine> {
    let bands = bands(inspection, found);
    let ends = bands.iter().flat_map(|band| [band.low_v, band.high_v]);
    let volts = marks.iter().map(|m| m.volts).chain(ends.flatten());
    let (low, high) = volts.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| {
        (a.min(v), b.max(v))
    });
    if marks.is_empty() {
        return None;
    }
    let room = (0.08 * (high - low)).max(0.1);
    let works = marks.iter().filter(|m| m.works).count();
    Some(StepsLine {
        ends_v: (low - room, high + room),
        undirected: marks.iter().any(|m| m.going.is_none()),
        spoken: format!(
            "{} readings on a line of volts, {works} of them works",
            marks.len()
        ),
        marks,
        bands,
    })
}

/// Published limits of both thresholds, and between which readings they lie.
fn bands(inspection: Option<&Inspection>, found: Option<&StepsFinding>) -> Vec<StepBand> {
    let mut bands = Vec::new();
    for (quantity, word, going) in [
        (Quantity::StartThreshold, "start", Direction::Up),
        (Quantity::StopThreshold, "stop", Direction::Down),
    ] {
        let judged = inspection.and_then(|run| {
            let mut of_it = run.measured.iter();
            of_it.find(|j| j.measured.quantity == quantity && j.expected.is_some())
        });
        if let Some(limit) = judged.and_then(|j| j.expected.as_ref())
            && (limit.min.is_some() || limit.max.is_some())
        {
            bands.push(StepBand {
                label: format!("{word}, published"),
                low_v: limit.min,
                high_v: limit.max,
                going,
                published: true,
            });
        }
        let bracket = found.map(|f| match going {
            Direction::Up => f.start,
            Direction::Down => f.stop,
        });
        if let Some((low, high)) = bracket.and_then(|b| b.sides()) {
            bands.push(StepBand {
                label: format!("{word}, by the readings"),
                low_v: Some(low),
                high_v: Some(high),
                going,
                published: false,
            });
        }
    }
    bands
}
