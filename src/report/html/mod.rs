//! The page that goes back with the unit: one file, no script, nothing from outside; first half a page for
//! the owner in plain words, then the bench sheet.

mod bench;
mod columns;
mod figures;
mod found;
mod measured;
mod owner;
mod page;
mod readings;
mod style;
mod work;

use page::Page;

use super::JobReport;
use super::escape::escaped;
use crate::data::drawing::Drawing;
use crate::data::job::{Run, When};
use crate::data::{Compared, Inspection};
use crate::job::Photo;

/// All that the page shows.
#[derive(Debug, Clone, Copy)]
pub struct Sheet<'a> {
    /// The record and its inspected runs.
    pub report: &'a JobReport<'a>,
    /// Before against after.
    pub compared: &'a [Compared],
    /// Pictures of each run, by its number in the record.
    pub drawings: &'a [(usize, Vec<Drawing>)],
    /// Attached pictures, in the record's order.
    pub photos: &'a [Photo],
    /// Date of the page, as text.
    pub date: &'a str,
    /// Version of the program.
    pub version: &'a str,
}

impl<'a> Sheet<'a> {
    /// Inspected runs with what the record says of them.
    fn runs(&self) -> impl Iterator<Item = (usize, &'a Run, &'a Inspection)> + use<'a> {
        let report = self.report;
        let runs = report.runs.iter();
        runs.filter_map(|(number, found)| Some((*number, report.run(*number)?, found)))
    }

    /// The last run after the repair.
    fn after(&self) -> Option<(usize, &'a Run, &'a Inspection)> {
        self.runs()
            .filter(|(_, run, _)| run.when == Some(When::After))
            .last()
    }
}

/// The whole page. The same sheet gives the same text.
pub fn page(sheet: &Sheet<'_>) -> String {
    let mut page = Page::default();
    let unit = sheet.report.unit();
    page.heading(1, &format!("Repair report: {unit}"));
    page.quiet(&format!(
        "{}, written by firstpulse {}",
        sheet.date, sheet.version
    ));
    owner::owner(&mut page, sheet);
    bench::unit(&mut page, sheet);
    found::found(&mut page, sheet);
    figures::drawn(&mut page, sheet);
    measured::measured(&mut page, sheet);
    readings::readings(&mut page, sheet);
    work::done(&mut page, sheet);
    work::compared(&mut page, sheet);
    work::margin(&mut page, sheet);
    bench::not_tested(&mut page, sheet);
    bench::cautions(&mut page, sheet);
    figures::photos(&mut page, sheet);
    bench::about(&mut page, sheet);
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{}</title>\n\
<style>\n{}</style>\n</head>\n<body>\n<main>\n{}</main>\n</body>\n</html>\n",
        escaped(&format!("Repair report: {unit}")),
        style::STYLE,
        page.finish()
    )
}

/// The text and whether it is empty as a choice between it and another.
fn or(text: &str, other: &str) -> String {
    if text.trim().is_empty() {
        other.to_owned()
    } else {
        text.to_owned()
    }
}

/// `a, b` of those that are not empty.
fn joined<S: AsRef<str>>(parts: &[S]) -> String {
    let there: Vec<&str> = parts
        .iter()
        .map(AsRef::as_ref)
        .filter(|text| !text.trim().is_empty())
        .collect();
    there.join(", ")
}

/// Each text once, in order.
fn once(texts: impl Iterator<Item = String>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for text in texts {
        if !all.contains(&text) {
            all.push(text);
        }
    }
    all
}
