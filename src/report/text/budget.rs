//! Where each value and its uncertainty come from, term by term: shown on request.

use super::page::Page;
use crate::data::text::{engineering, plus_minus};
use crate::data::{Inspection, Judged, Term, Unit, Value};

/// Definition, place and budget of every value of a run.
pub fn budgets(run: &Inspection, ascii: bool) -> String {
    let mut page = Page::new(ascii);
    page.heading("BUDGETS (standard uncertainties; u95 holds 95 % of all of them together)");
    for judged in &run.measured {
        if let Some(value) = judged.measured.value() {
            one(&mut page, judged, value);
        }
    }
    page.finish()
}

fn one(page: &mut Page, judged: &Judged, value: &Value) {
    let info = judged.measured.quantity.info();
    let shot = judged
        .measured
        .capture
        .map_or("by hand".to_owned(), |c| format!("shot {}", c + 1));
    page.gap();
    page.paragraph(&format!(
        "{}, {shot}: {}",
        info.title,
        plus_minus(value.value, value.u95, info.unit)
    ));
    page.hanging(
        "",
        2,
        &format!("{} Where: {}.", info.definition, info.taken),
    );
    for (term, share) in by_size(&value.terms) {
        page.hanging("  -", 4, &term_words(term, share, info.unit));
    }
    if value.terms.is_empty() {
        page.hanging("  -", 4, "a count: no uncertainty of its own");
    }
}

/// The terms with their shares of the variance, the largest first.
pub fn by_size(terms: &[Term]) -> Vec<(&Term, f64)> {
    let all: f64 = terms.iter().map(|t| t.u * t.u).sum();
    let mut shares: Vec<(&Term, f64)> = terms.iter().map(|t| (t, t.u * t.u / all)).collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    shares
}

/// `gain (assumed): 0.18 V, 61 %, anywhere between two bounds, shared with other values`.
pub fn term_words(term: &Term, share: f64, unit: Unit) -> String {
    let shared = if term.tie.is_some() {
        ", one error with that of other values"
    } else {
        ""
    };
    let part = if share < 0.005 {
        "below 1 %".to_owned()
    } else {
        format!("{:.0} %", 100.0 * share)
    };
    format!(
        "{}: {}, {part} of the variance, {}{shared}",
        term.name,
        engineering(term.u, unit, 2),
        term.shape.words()
    )
}
