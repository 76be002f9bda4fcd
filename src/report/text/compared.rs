//! Sides set against each other, on a terminal.

use super::page::Page;
use crate::data::Compared;
use crate::data::text::plus_minus;
use crate::data::{Comparison, Difference, Row, Side, StageState};

/// Widths of the columns: quantity, before, after, change, what became of it.
const COLUMNS: [usize; 5] = [20, 16, 16, 13, 5];

/// Every comparison: what it comes to, the stages, the table.
pub fn compared(all: &[Compared], ascii: bool) -> String {
    let mut page = Page::new(ascii);
    for one in all {
        page.heading(&format!("BEFORE: {}   AFTER: {}", one.before, one.after));
        page.rule();
        page.paragraph(&one.comparison.summary);
        stages(&mut page, &one.comparison);
        axes(&mut page, &one.comparison);
        table(&mut page, &one.comparison);
        one_sided(&mut page, &one.comparison);
        for note in &one.comparison.notes {
            page.hanging("  -", 4, note);
        }
    }
    page.finish()
}

fn stages(page: &mut Page, found: &Comparison) {
    let tested = |state| state != StageState::NotTested;
    page.heading("STAGES");
    for change in &found.stages {
        if tested(change.before) || tested(change.after) {
            let states = format!(
                "{} before, {} after",
                change.before.title(),
                change.after.title()
            );
            page.hanging(&format!("  {}", change.stage.title()), 18, &states);
        }
    }
}

fn axes(page: &mut Page, found: &Comparison) {
    for alignment in &found.alignments {
        let text = format!(
            "Shot {} before and shot {} after lie on one time axis {}",
            alignment.before + 1,
            alignment.after + 1,
            alignment.reason
        );
        page.hanging("  -", 4, &text);
    }
    for text in &found.not_aligned {
        page.hanging("  -", 4, text);
    }
}

fn table(page: &mut Page, found: &Comparison) {
    let both: Vec<&Row> = found.rows.iter().filter(|r| r.change.is_some()).collect();
    if both.is_empty() {
        return;
    }
    page.heading("BEFORE AND AFTER (± holds 95 %; * more than measuring explains)");
    let [w0, w1, w2, w3, w4] = COLUMNS;
    page.row(
        1,
        &[
            ("", w0),
            ("before", w1),
            ("after", w2),
            ("change", w3),
            ("", w4),
        ],
    );
    for row in both {
        let unit = row.quantity.info().unit;
        let side = |side: &Option<Side>| {
            let one = side.as_ref();
            let verdict = one.map_or("", |s| s.verdict.title());
            let value = one.map_or_else(String::new, |s| {
                plus_minus(s.value.value, s.value.u95, unit)
            });
            format!("{value}, {verdict}")
        };
        let change = row.change.as_ref();
        let change = change.map_or_else(String::new, |c| plus_minus(c.value, c.u95, unit));
        let mark = match row.difference {
            Difference::Changed => "*",
            _ => "",
        };
        let (before, after) = (side(&row.before), side(&row.after));
        page.row(
            1,
            &[
                (row.quantity.info().title, w0),
                (&before, w1),
                (&after, w2),
                (&change, w3),
                (mark, w4),
            ],
        );
        if !row.remark.is_empty() {
            page.hanging("", 4, &row.remark);
        }
    }
}

/// What one side alone has, each reason once.
fn one_sided(page: &mut Page, found: &Comparison) {
    for (title, difference) in [
        ("ONLY BEFORE", Difference::Gone),
        ("ONLY AFTER", Difference::New),
    ] {
        let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
        for row in found.rows.iter().filter(|r| r.difference == difference) {
            let side = row.before.as_ref().or(row.after.as_ref());
            let Some(side) = side else { continue };
            let info = row.quantity.info();
            let shown = plus_minus(side.value.value, side.value.u95, info.unit);
            let name = format!("{} {shown}", info.title);
            match reasons.iter_mut().find(|(known, _)| *known == row.remark) {
                Some((_, names)) => names.push(name),
                None => reasons.push((&row.remark, vec![name])),
            }
        }
        if !reasons.is_empty() {
            page.heading(title);
        }
        for (reason, names) in reasons {
            page.hanging("  -", 4, &format!("{}. {reason}", names.join(", ")));
        }
    }
}
