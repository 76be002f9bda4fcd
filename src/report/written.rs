//! A job as a file: the page, the table, or the object for scripts.

use serde_json::Value;

use super::html::{Sheet, page};
use super::{JobReport, csv, json};
use crate::data::CompareOptions;
use crate::job::{Inspected, Photo};

/// Pixel columns of a lane on the page.
const COLUMNS: usize = 640;

/// What is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// A page to print, with pictures, in one file.
    Page,
    /// The measured values of all runs, a row each.
    Table,
    /// The object of `inspect JOB --json`.
    Object,
}

impl Format {
    /// What the ending of a file's name asks for, in any case: `csv`, `json`, and the page for `html`
    /// and `htm`; nothing for others.
    pub fn by_ending(ending: &str) -> Option<Self> {
        match ending.to_ascii_lowercase().as_str() {
            "csv" => Some(Format::Table),
            "json" => Some(Format::Object),
            "html" | "htm" => Some(Format::Page),
            _ => None,
        }
    }
}

/// The whole file. `name` stands for a unit without one, `date` on the page.
pub fn written(
    found: &Inspected,
    name: &str,
    photos: &[Photo],
    date: &str,
    format: Format,
) -> String {
    let report = JobReport::of(found, name);
    let object = |value: Value| format!("{value:#}\n");
    match format {
        Format::Object => object(json::job(&report)),
        Format::Table => csv::measured(&report),
        Format::Page => page(&Sheet {
            report: &report,
            compared: &found.before_and_after(&CompareOptions::default()),
            drawings: &found.drawings(COLUMNS),
            photos,
            date,
            version: env!("CARGO_PKG_VERSION"),
        }),
    }
}
