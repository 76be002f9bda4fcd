//! A job on a terminal: unit, complaint, run and condition at the head, then the first run in full, the
//! others short, and what is not entered yet.

use super::inspection::{full, stages_in_words, three_lines};
use super::page::Page;
use crate::report::JobReport;
use crate::report::job::run_words;

/// A job with its runs: the first in full, the others in a short paragraph.
pub fn job(report: &JobReport<'_>, ascii: bool) -> String {
    let mut page = Page::new(ascii);
    let mut runs = report.runs.iter();
    if let Some((number, run)) = runs.next() {
        let title = report.run(*number).map_or("", |run| run.title.as_str());
        full(&mut page, report.unit(), title, &head(report, *number), run);
    }
    for (number, run) in runs {
        let Some(recorded) = report.run(*number) else {
            continue;
        };
        page.heading(&format!("LATER: {}", run_words(recorded)));
        let condition = recorded.condition.words();
        if !condition.is_empty() {
            page.hanging("  Condition", 14, &condition);
        }
        stages_in_words(&mut page, run);
        three_lines(&mut page, run);
    }
    for (number, why) in report.failed {
        let title = report.run(*number).map(run_words).unwrap_or_default();
        page.heading(&format!("RUN {}: {title}", number.saturating_add(1)));
        page.hanging("  Failed", 14, why);
    }
    not_entered(&mut page, report);
    page.finish()
}

/// Lines of the head: what the record says of the unit and of this run.
fn head(report: &JobReport<'_>, number: usize) -> Vec<(&'static str, String)> {
    let job = report.job;
    let mut lines = Vec::new();
    let named = [("maker", &job.unit.maker), ("serial", &job.unit.serial)];
    let named = named.iter().filter(|(_, text)| !text.is_empty());
    let named: Vec<String> = named.map(|(what, text)| format!("{what} {text}")).collect();
    let name = std::iter::once(report.unit().to_owned()).chain(named);
    lines.push(("Unit", name.collect::<Vec<_>>().join(", ")));
    if !job.complaint.is_empty() {
        lines.push(("Complaint", job.complaint.clone()));
    }
    if let Some(run) = report.run(number) {
        let place = format!("{} of {}: ", number.saturating_add(1), job.runs.len());
        lines.push(("Run", place + &run_words(run)));
        let condition = run.condition.words();
        if !condition.is_empty() {
            lines.push(("Condition", condition));
        }
    }
    if job.controller.trusted == Some(false) {
        lines.push(("Marking", "not trusted, as the record says".to_owned()));
    }
    for problem in report.problems {
        let text = format!("{}: {}", problem.file, problem.text);
        // a message of the system names the file itself
        let text = if problem.text.contains(&problem.file) {
            problem.text.clone()
        } else {
            text
        };
        lines.push(("  !", text));
    }
    lines
}

fn not_entered(page: &mut Page, report: &JobReport<'_>) {
    let open = report.missing();
    if open.is_empty() {
        return;
    }
    page.heading("NOT ENTERED YET");
    for one in open {
        page.hanging("  -", 4, &format!("{} ({})", one.what, one.why));
    }
}
