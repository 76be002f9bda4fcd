//! Measured against expected, and the suspects.

use super::details::measured;
use super::shot_words;
use crate::data::text::plus_minus;
use crate::data::{Inspection, Judged, Limit, Outcome, Quantity, Stage, Suspect, Value, Verdict};

/// Where a value and its uncertainty lie against the limits; all from 0 (left) to 1 (right).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Lower limit, if there is one.
    pub min: Option<f32>,
    /// Upper limit, if there is one.
    pub max: Option<f32>,
    /// Typical value, if there is one.
    pub typ: Option<f32>,
    /// The value.
    pub value: f32,
    /// The interval of 95 %.
    pub reach: (f32, f32),
}

impl Bar {
    /// The bar of a value; `None` without a finite value or anything to set it against.
    pub fn of(value: f64, half_width: f64, limit: &Limit) -> Option<Bar> {
        let half_width = if half_width.is_finite() {
            half_width.abs()
        } else {
            0.0
        };
        let known = [limit.min, limit.max, limit.typ];
        if !value.is_finite() || known.iter().all(Option::is_none) {
            return None;
        }
        let places = known
            .into_iter()
            .flatten()
            .chain([value - half_width, value + half_width]);
        let (low, high) = places
            .filter(|place| place.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| {
                (a.min(p), b.max(p))
            });
        let margin = 0.18
            * (high - low)
                .max(0.02 * high.abs().max(low.abs()))
                .max(1e-30);
        let (low, range) = (low - margin, high - low + 2.0 * margin);
        let at = |place: f64| ((place - low) / range) as f32;
        Some(Bar {
            min: limit.min.map(at),
            max: limit.max.map(at),
            typ: limit.typ.map(at),
            value: at(value),
            reach: (at(value - half_width), at(value + half_width)),
        })
    }
}

/// A measured quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Index in the inspection's list.
    pub index: usize,
    /// Name of the quantity.
    pub title: String,
    /// Where it comes from, and what it was before.
    pub shot: String,
    /// Value with its uncertainty.
    pub value: String,
    /// Limits, or `no limit published`.
    pub limits: String,
    /// The bar.
    pub bar: Option<Bar>,
    /// Verdict.
    pub verdict: Verdict,
    /// Verdict as a word, marked where it is provisional.
    pub word: String,
    /// Condition and source of the limits.
    pub source: String,
    /// Accessible name.
    pub spoken: String,
    /// The row as tab-separated text.
    pub copied: String,
    /// Definition, source, status, chance and budget, shown under the pointer.
    pub why: String,
}

/// A quantity that could not be measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gap {
    /// Index in the inspection's list.
    pub index: usize,
    /// Name of the quantity and its shot.
    pub title: String,
    /// Why not.
    pub reason: String,
    /// Definition and reason, shown under the pointer.
    pub why: String,
}

/// What the stage in focus shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TableModel {
    /// Stage in focus.
    pub title: &'static str,
    /// Rows with a value.
    pub rows: Vec<Row>,
    /// What could not be measured.
    pub gaps: Vec<Gap>,
    /// All of it as tab-separated text.
    pub copied: String,
}

/// The table of a stage; `before` is the first group's inspection, whose values stand beside.
pub fn table(
    inspection: Option<&Inspection>,
    before: Option<&Inspection>,
    stage: Stage,
) -> TableModel {
    let mut model = TableModel {
        title: stage.title(),
        ..TableModel::default()
    };
    let Some(inspection) = inspection else {
        return model;
    };
    for (index, judged) in inspection.measured.iter().enumerate() {
        if judged.measured.quantity.info().stage != stage {
            continue;
        }
        match &judged.measured.outcome {
            Outcome::Value(value) => {
                let before = before.and_then(|before| value_of(before, judged.measured.quantity));
                model
                    .rows
                    .push(row(index, judged, value, before.as_deref()));
            }
            Outcome::NotMeasurable(reason) => model.gaps.push(Gap {
                index,
                title: format!(
                    "{}, {}",
                    judged.measured.quantity.info().title,
                    shot_words(judged.measured.capture)
                ),
                reason: reason.clone(),
                why: measured(judged).text(),
            }),
        }
    }
    model.copied = copied(&model);
    model
}

/// The first value of a quantity, as text.
fn value_of(inspection: &Inspection, quantity: Quantity) -> Option<String> {
    let of_it = |judged: &&Judged| judged.measured.quantity == quantity;
    let mut found = inspection.measured.iter().filter(of_it);
    let value = found.find_map(|judged| judged.measured.value())?;
    Some(plus_minus(value.value, value.u95, quantity.info().unit))
}

fn row(index: usize, judged: &Judged, value: &Value, before: Option<&str>) -> Row {
    let info = judged.measured.quantity.info();
    let shown = plus_minus(value.value, value.u95, info.unit);
    let shot = match before {
        Some(before) => format!("{}, was {before}", shot_words(judged.measured.capture)),
        None => shot_words(judged.measured.capture),
    };
    let limits = match judged.expected.as_ref().map(Limit::shown) {
        Some(text) if !text.is_empty() => text,
        _ => "no limit published".to_owned(),
    };
    let mut word = judged.verdict.title().to_owned();
    if judged.provisional {
        word.push_str(", provisional");
    }
    let source = judged.expected.as_ref().map_or_else(String::new, source_of);
    Row {
        index,
        title: info.title.to_owned(),
        bar: judged
            .expected
            .as_ref()
            .and_then(|limit| Bar::of(value.value, value.u95, limit)),
        verdict: judged.verdict,
        spoken: format!("{}, {shot}: {shown}; limits {limits}; {word}", info.title),
        copied: format!(
            "{}\t{shot}\t{shown}\t{limits}\t{word}\t{source}",
            info.title
        ),
        why: measured(judged).text(),
        shot,
        value: shown,
        limits,
        word,
        source,
    }
}

/// Condition, source and status of a limit, in a line.
pub fn source_of(limit: &Limit) -> String {
    let mut parts = Vec::new();
    if !limit.condition.is_empty() {
        parts.push(limit.condition.clone());
    }
    if !limit.source.is_empty() {
        parts.push(limit.source.clone());
    }
    let status = if limit.has_limits() {
        limit.status_limits
    } else {
        limit.status
    };
    parts.push(format!("status {}", status.id()));
    parts.join("; ")
}

fn copied(model: &TableModel) -> String {
    let mut text = String::from("quantity\tshot\tvalue\tlimits\tverdict\tsource\n");
    for row in &model.rows {
        text.push_str(&row.copied);
        text.push('\n');
    }
    for gap in &model.gaps {
        text.push_str(&format!(
            "{}\t\tnot measured\t\t\t{}\n",
            gap.title, gap.reason
        ));
    }
    text
}

/// A cause that fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SuspectModel {
    /// `likely`, `possible` or `unlikely`.
    pub rank: &'static str,
    /// What it is.
    pub title: String,
    /// What speaks for it.
    pub reasons: Vec<String>,
    /// What speaks against it.
    pub against: Vec<String>,
    /// The one check that separates it from the next.
    pub next_check: String,
    /// Accessible name.
    pub spoken: String,
    /// Everything for and against, shown under the pointer.
    pub why: String,
}

/// The suspects, best first.
pub fn suspects(inspection: &Inspection) -> Vec<SuspectModel> {
    let texts = |evidence: &[crate::data::Evidence]| {
        evidence.iter().map(|reason| reason.text.clone()).collect()
    };
    let model = |suspect: &Suspect| SuspectModel {
        rank: suspect.rank_word(),
        title: suspect.title.clone(),
        reasons: texts(&suspect.reasons_for),
        against: texts(&suspect.reasons_against),
        next_check: suspect.next_check.clone(),
        spoken: format!("{}: {}", suspect.rank_word(), suspect.title),
        why: super::details::suspect(suspect).text(),
    };
    inspection.suspects.iter().map(model).collect()
}
