//! The table of measured against expected, and what could not be measured.

use super::page::Page;
use crate::data::text::{engineering, plus_minus, trimmed};
use crate::data::{Inspection, Judged, Measured, Outcome, Quantity, Stage, Unit};

/// Widths of the columns: quantity, capture, value, limits, verdict.
const COLUMNS: [usize; 5] = [20, 4, 19, 17, 11];

/// Measured values against what is published, stage by stage, then where the limits are from.
pub(super) fn table(page: &mut Page, run: &Inspection) {
    let any = run.measured.iter().any(|j| j.measured.value().is_some());
    if !any {
        return;
    }
    page.heading("MEASURED AGAINST PUBLISHED (± holds 95 %)");
    let [quantity, shot, value, limits, verdict] = COLUMNS;
    page.row(
        1,
        &[
            ("", quantity),
            ("shot", shot),
            ("measured", value),
            ("published", limits),
            ("verdict", verdict),
        ],
    );
    for stage in Stage::ALL {
        let rows: Vec<&Judged> = run
            .measured_for(stage)
            .filter(|j| j.measured.value().is_some())
            .collect();
        if !rows.is_empty() {
            page.paragraph(stage.title());
        }
        let mut before: Option<&Judged> = None;
        for row in by_quantity(&rows) {
            one_row(page, row, before);
            before = Some(row);
        }
    }
    if run.measured.iter().any(|j| j.provisional) {
        page.hanging(
            "",
            2,
            "* provisional: the limit is from memory, not read in a document.",
        );
    }
    remarks(page, run);
    settle(page, run);
    sources(page, run);
}

/// What should be said beside a value, each sentence once, with the quantities that it belongs to.
fn remarks(page: &mut Page, run: &Inspection) {
    let mut said: Vec<(&str, Vec<String>)> = Vec::new();
    for row in &run.measured {
        let measured = &row.measured;
        for text in &measured.remarks {
            let name = named(measured);
            match said.iter_mut().find(|(known, _)| known == text) {
                Some((_, names)) if names.contains(&name) => {}
                Some((_, names)) => names.push(name),
                None => said.push((text, vec![name])),
            }
        }
    }
    for (text, names) in said {
        page.hanging("  -", 4, &format!("{}: {text}", names.join(", ")));
    }
}

/// `start threshold (shot 1)`.
fn named(measured: &Measured) -> String {
    let title = measured.quantity.info().title;
    match measured.capture {
        Some(capture) => format!("{title} (shot {})", capture + 1),
        None => title.to_owned(),
    }
}

/// Rows of one quantity together, in the order in which the quantities first come.
fn by_quantity<'a>(rows: &[&'a Judged]) -> Vec<&'a Judged> {
    let mut order: Vec<Quantity> = Vec::new();
    for row in rows {
        if !order.contains(&row.measured.quantity) {
            order.push(row.measured.quantity);
        }
    }
    let of = |quantity: &Quantity| {
        let quantity = *quantity;
        rows.iter()
            .copied()
            .filter(move |r| r.measured.quantity == quantity)
    };
    order.iter().flat_map(of).collect()
}

/// One row; what the row `before` it says as well, name and limits, is left blank.
fn one_row(page: &mut Page, row: &Judged, before: Option<&Judged>) {
    let info = row.measured.quantity.info();
    let shot = row
        .measured
        .capture
        .map_or("hand".to_owned(), |c| (c + 1).to_string());
    let value = row
        .measured
        .value()
        .map_or_else(String::new, |v| plus_minus(v.value, v.u95, info.unit));
    let published = |row: &Judged| {
        row.expected.as_ref().map_or_else(String::new, |limit| {
            compact(limit.min, limit.max, limit.typ, limit.unit)
        })
    };
    let before = before.filter(|b| b.measured.quantity == row.measured.quantity);
    let title = if before.is_some() { "" } else { info.title };
    let mut limits = published(row);
    if before.is_some_and(|b| published(b) == limits) {
        limits.clear();
    }
    let verdict = format!(
        "{}{}",
        row.verdict.title(),
        if row.provisional { "*" } else { "" }
    );
    let [w0, w1, w2, w3, w4] = COLUMNS;
    page.row(
        1,
        &[
            (title, w0),
            (&shot, w1),
            (&value, w2),
            (&limits, w3),
            (&verdict, w4),
        ],
    );
}

/// Limits in the width of a column: `14.5 … 17.5 V` with the unit once.
pub fn compact(min: Option<f64>, max: Option<f64>, typ: Option<f64>, unit: Unit) -> String {
    let shown = |v: f64| trimmed(&engineering(v, unit, 4));
    match (min, max, typ) {
        (Some(min), Some(max), _) => {
            let (low, high) = (shown(min), shown(max));
            match (low.split_once(' '), high.split_once(' ')) {
                (Some((number, a)), Some((_, b))) if a == b => format!("{number} … {high}"),
                _ => format!("{low} … {high}"),
            }
        }
        (Some(min), None, _) => format!("≥ {}", shown(min)),
        (None, Some(max), _) => format!("≤ {}", shown(max)),
        (None, None, Some(typ)) => format!("typ. {}", shown(typ)),
        (None, None, None) => String::new(),
    }
}

fn settle(page: &mut Page, run: &Inspection) {
    let mut said: Vec<String> = Vec::new();
    for row in run.measured.iter().filter(|j| !j.settle.is_empty()) {
        let text = format!(
            "To settle the {}: {}",
            row.measured.quantity.info().title,
            row.settle
        );
        if !said.contains(&text) {
            page.hanging("", 2, &text);
            said.push(text);
        }
    }
}

fn sources(page: &mut Page, run: &Inspection) {
    let mut seen: Vec<&str> = Vec::new();
    for limit in run.measured.iter().filter_map(|j| j.expected.as_ref()) {
        for source in limit.source.split("; ").filter(|s| !s.is_empty()) {
            if !seen.contains(&source) {
                seen.push(source);
            }
        }
    }
    if !seen.is_empty() {
        page.hanging(
            "",
            2,
            &format!("Published values from: {}.", seen.join("; ")),
        );
    }
}

/// What could not be measured: each reason once, with the quantities that it holds for.
pub(super) fn not_measured(page: &mut Page, run: &Inspection) {
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for row in &run.measured {
        let Outcome::NotMeasurable(reason) = &row.measured.outcome else {
            continue;
        };
        let name = named(&row.measured);
        match reasons
            .iter_mut()
            .find(|(known, _)| *known == reason.as_str())
        {
            Some((_, names)) => names.push(name),
            None => reasons.push((reason, vec![name])),
        }
    }
    if reasons.is_empty() {
        return;
    }
    page.heading("NOT MEASURED");
    for (reason, names) in reasons {
        page.hanging("  -", 4, &format!("{}: {reason}", names.join(", ")));
    }
}
