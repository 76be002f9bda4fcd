//! Where each value and its uncertainty come from, term by term: shown on request.

use super::page::Page;
use crate::data::text::{engineering, harmless, plus_minus};
use crate::data::{BudgetLine, Inspection, Judged, Unit, Value};

/// Longest name of a run.
const NAME: usize = 64;

/// Definition, place and budget of every value of a run; `of` names it where there are several.
pub fn budgets(of: Option<&str>, run: &Inspection, ascii: bool) -> String {
    let mut page = Page::new(ascii);
    let of = of.map_or_else(String::new, |name| format!(" of {}", harmless(name, NAME)));
    page.heading(&format!(
        "BUDGETS{of} (standard uncertainties; u95 holds 95 % of all of them together)"
    ));
    for judged in &run.measured {
        if let Some(value) = judged.measured.value() {
            one(&mut page, judged, value);
        }
    }
    // stands under another text
    format!("\n{}", page.finish())
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
    for line in value.budget() {
        page.hanging("  -", 4, &line_words(&line, info.unit));
    }
    if value.terms.is_empty() {
        page.hanging("  -", 4, "a count: no uncertainty of its own");
    }
}

/// `gain (assumed): 0.18 V, 61 % of the variance, anywhere between two bounds, one error with that of
/// other values`; `noise (2 terms): …` where several of one name were joined.
pub fn line_words(line: &BudgetLine, unit: Unit) -> String {
    let shared = if line.shared {
        ", one error with that of other values"
    } else {
        ""
    };
    let part = if line.share < 0.005 {
        "below 1 %".to_owned()
    } else {
        format!("{:.0} %", 100.0 * line.share)
    };
    let (several, each) = match line.count {
        1 => (String::new(), ""),
        count => (format!(" ({count} terms)"), "each "),
    };
    let shape = line.shape.map_or_else(
        || "of several shapes".to_owned(),
        |shape| format!("{each}{}", shape.words()),
    );
    format!(
        "{}{several}: {}, {part} of the variance, {shape}{shared}",
        line.name,
        engineering(line.u, unit, 2),
    )
}
