//! What was done: parts replaced and checked, before and after, margin left, soak, hours and cost.

use super::page::Page;
use super::{Sheet, joined};
use crate::data::job::{PartCheck, Soak, Work};
use crate::data::text::plus_minus;
use crate::data::typed::{Kind, written};
use crate::data::{Comparison, Difference, Quantity, Row, Side};
use crate::report::job::run_words;

/// Replaced, checked, soak, hours and cost.
pub(super) fn done(page: &mut Page, sheet: &Sheet<'_>) {
    let job = sheet.report.job;
    page.heading(2, "What was done");
    let replaced = job.replaced.iter().map(|r| {
        [
            r.part.clone(),
            r.why.clone(),
            r.with.clone(),
            r.date.clone(),
        ]
    });
    let replaced: Vec<[String; 4]> = replaced.collect();
    if replaced.is_empty() {
        page.paragraph("No replaced part is entered.");
    }
    page.table("Replaced", ["part", "why", "with", "date"], &replaced);
    let checked: Vec<[String; 5]> = job.checked.iter().map(checked).collect();
    page.table(
        "Parts checked against their marks",
        ["part", "marked", "read", "verdict", "because"],
        &checked,
    );
    let soaks: Vec<[String; 5]> = job.soaks.iter().map(soak).collect();
    page.table(
        "Soak: run under load",
        ["load", "time", "ended", "seen", "date"],
        &soaks,
    );
    if soaks.is_empty() {
        page.paragraph("No soak is entered.");
    }
    cost(page, &job.work);
}

/// A share as it is printed on parts: `5 %`.
pub(super) fn percent(share: f64) -> String {
    format!("{} %", written((1e6 * share).round() / 1e4, Kind::Ratio))
}

fn checked(part: &PartCheck) -> [String; 5] {
    let kind = part.measured_in();
    let shown = |value: Option<f64>| match (value, kind) {
        (Some(value), _) if value.is_infinite() => "open".to_owned(),
        (Some(value), Some(kind)) => written(value, kind),
        (Some(value), None) => format!("{value}"),
        (None, _) => String::new(),
    };
    let tolerance = part.tolerance.map(|t| format!(" ± {}", percent(t)));
    let esr = part
        .esr_ohms
        .map(|r| format!("ESR {}", written(r, Kind::Ohm)));
    let leak = part
        .leakage_amperes
        .map(|i| format!("leakage {}", written(i, Kind::Ampere)));
    let (verdict, mut because) = judged(part);
    let where_read = match part.out_of_circuit {
        Some(true) => "a leg out of the board",
        Some(false) => "read in circuit",
        None => "",
    };
    because.extend([where_read.to_owned(), part.note.clone()]);
    [
        joined(&[&part.part, &part.kind]),
        format!("{}{}", shown(part.marked), tolerance.unwrap_or_default()),
        joined(&[
            shown(part.reading),
            esr.unwrap_or_default(),
            leak.unwrap_or_default(),
        ]),
        verdict,
        joined_lines(&because),
    ]
}

fn joined_lines(parts: &[String]) -> String {
    let there: Vec<&str> = parts
        .iter()
        .map(String::as_str)
        .filter(|t| !t.is_empty())
        .collect();
    there.join("\n")
}

/// Verdict and reasons, where mark and reading are both there and of a known kind.
fn judged(part: &PartCheck) -> (String, Vec<String>) {
    let Some(found) = part.judged() else {
        return ("not judged".to_owned(), Vec::new());
    };
    let mut because = vec![
        found.because.clone(),
        "accuracy of the meter assumed".to_owned(),
    ];
    because.extend(found.remarks);
    because.extend(found.settle.map(|text| format!("to settle it: {text}")));
    (found.verdict.title().to_owned(), because)
}

fn soak(soak: &Soak) -> [String; 5] {
    let ended = match soak.passed {
        Some(true) => "as it should",
        Some(false) => "not as it should",
        None => "no result entered",
    };
    [
        soak.load.clone(),
        format!("{} min", soak.minutes),
        ended.to_owned(),
        soak.result.clone(),
        soak.date.clone(),
    ]
}

fn cost(page: &mut Page, work: &Work) {
    let money = |amount: Option<f64>| {
        amount.map_or_else(String::new, |a| format!("{a:.2} {}", work.currency))
    };
    let hours = work.hours.map_or_else(String::new, |h| format!("{h}"));
    page.facts(
        "Hours and cost",
        &[
            ("Estimate", money(work.estimate)),
            ("Hours", hours),
            ("Cost", money(work.cost)),
        ],
    );
}

/// Before and after.
pub(super) fn compared(page: &mut Page, sheet: &Sheet<'_>) {
    page.heading(2, "Before and after");
    if sheet.compared.is_empty() {
        page.paragraph("The record has no inspected run before and one after the repair, so nothing is set against each other.");
    }
    for one in sheet.compared {
        page.heading(3, &format!("{} against {}", one.after, one.before));
        page.paragraph(&one.comparison.summary);
        comparison(page, &one.comparison);
    }
}

fn comparison(page: &mut Page, found: &Comparison) {
    let both = found.rows.iter().filter(|row| row.change.is_some());
    let rows: Vec<[String; 5]> = both.map(change).collect();
    page.table(
        "What both sides have (± holds 95 %)",
        ["quantity", "before", "after", "change", "beyond measuring?"],
        &rows,
    );
    one_sided(page, found, "Only before", Difference::Gone);
    one_sided(page, found, "Only after", Difference::New);
    page.list(&found.notes);
    page.list(&found.not_aligned);
}

/// What only one side has, by the reason; the values themselves stand above with their run.
fn one_sided(page: &mut Page, found: &Comparison, caption: &str, difference: Difference) {
    let mut groups: Vec<(&str, Vec<String>)> = Vec::new();
    for row in found.rows.iter().filter(|row| row.difference == difference) {
        let reason = row.remark.as_str();
        let place = groups.iter().position(|(known, _)| *known == reason);
        let place = place.unwrap_or_else(|| {
            groups.push((reason, Vec::new()));
            groups.len() - 1
        });
        let titles = &mut groups[place].1;
        let title = title(row);
        if !titles.contains(&title) {
            titles.push(title);
        }
    }
    for (reason, titles) in groups {
        let why = if reason.is_empty() {
            String::new()
        } else {
            format!(" ({})", reason.trim_end_matches('.'))
        };
        page.paragraph(&format!("{caption}{why}: {}.", titles.join(", ")));
    }
}

fn title(row: &Row) -> String {
    row.quantity.info().title.to_owned()
}

fn side_words(row: &Row, side: Option<&Side>) -> String {
    side.map_or_else(String::new, |side| {
        let value = plus_minus(side.value.value, side.value.u95, row.quantity.info().unit);
        let provisional = if side.provisional {
            ", provisional"
        } else {
            ""
        };
        format!("{value}, {}{provisional}", side.verdict.title())
    })
}

fn change(row: &Row) -> [String; 5] {
    let change = row.change.as_ref();
    let change = change.map_or_else(String::new, |c| {
        plus_minus(c.value, c.u95, row.quantity.info().unit)
    });
    let beyond = match row.difference {
        Difference::Changed => "yes, changed",
        _ => "no",
    };
    let remark = if row.remark.is_empty() {
        beyond.to_owned()
    } else {
        format!("{beyond}\n{}", row.remark)
    };
    [
        title(row),
        side_words(row, row.before.as_ref()),
        side_words(row, row.after.as_ref()),
        change,
        remark,
    ]
}

/// What a later visit is set against.
const MARGIN: [Quantity; 9] = [
    Quantity::StartMargin,
    Quantity::StartAttempts,
    Quantity::FirstStartDelay,
    Quantity::StartThreshold,
    Quantity::StopThreshold,
    Quantity::VccSettled,
    Quantity::VrefVoltage,
    Quantity::RunCurrent,
    Quantity::OutputVoltage,
];

/// Margin that is left after the repair.
pub(super) fn margin(page: &mut Page, sheet: &Sheet<'_>) {
    page.heading(2, "Margin left");
    let Some((_, run, found)) = sheet.after() else {
        page.paragraph("No run after the repair is in the record, so the margin is not known.");
        return;
    };
    let mut rows: Vec<[String; 3]> = Vec::new();
    let mut open: Vec<&str> = Vec::new();
    for quantity in MARGIN {
        let info = quantity.info();
        let of = found
            .measured
            .iter()
            .filter(|j| j.measured.quantity == quantity);
        let before = rows.len();
        rows.extend(of.filter_map(|judged| {
            let value = judged.measured.value()?;
            let shown = plus_minus(value.value, value.u95, info.unit);
            Some([
                info.title.to_owned(),
                shown,
                judged.verdict.title().to_owned(),
            ])
        }));
        if rows.len() == before {
            open.push(info.title);
        }
    }
    page.table(
        &format!("{}: what the next visit can be set against", run_words(run)),
        ["quantity", "value", "verdict"],
        &rows,
    );
    if !open.is_empty() {
        page.paragraph(&format!("Not measured in that run: {}.", open.join(", ")));
    }
    page.quiet("The margin holds for the mains voltage and load of that run; the lowest mains and the full load are the hard case.");
}
