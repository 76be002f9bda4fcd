//! Tables of numbers as text: one row a sample, one column a channel.
//!
//! What is decided before the rows are read, in this order: `head` takes the first lines apart, `rows`
//! and `dialect` find separator, marks and first row, `header` names and units, `keys`, `property` and `preamble`
//! the properties of the record, `draft` what each column holds, `time_axis` (with `time_guess`, `time_unit`,
//! `clock_axis`, `twice`) where time comes from, `scales` counts and ranges, `columns` (with `extremes`) what becomes
//! of each column; each leaves its decisions.
//!
//! Then `piece` parses a stretch of rows on any core (`lines` finds it, `quick` takes plain rows many at a
//! time, `row` one with care, `odd_cell` what is no plain number), `pass` joins
//! the stretches in order in `sink`, `time_fit` watches whether time is even, `assemble` makes channels
//! of it (with `clip`). `sections` goes from table to table of a file (`foreign` and `cut` tell where one ends, `dates` whether its days agree),
//! and `join` makes captures of them.

use crate::data::{Capture, ImportPreview, Progress, Runner, Source};

use super::probe::{Reader, Sniff};
use super::{FormatError, ReadOptions};

mod assemble;
mod clip;
mod clock_axis;
mod columns;
mod cut;
mod dates;
mod dialect;
mod doubts;
mod draft;
mod extremes;
mod foreign;
mod head;
mod header;
mod join;
mod keys;
mod lines;
mod odd_cell;
mod pass;
mod piece;
mod plan;
mod preamble;
mod preview;
mod property;
mod quick;
mod row;
mod rows;
mod scales;
mod sections;
mod sink;
mod sniff;
#[cfg(test)]
mod tests;
mod time_axis;
mod time_fit;
mod time_guess;
mod time_unit;
mod twice;
mod unit_text;

/// The reader of plain tables.
#[derive(Debug, Clone, Copy, Default)]
pub struct CsvReader;

impl Reader for CsvReader {
    fn id(&self) -> &'static str {
        "csv"
    }

    fn name(&self) -> &'static str {
        "table of numbers (CSV)"
    }

    fn extensions(&self) -> &'static [&'static str] {
        &["csv", "txt", "tsv", "dat", "asc"]
    }

    fn sniff(&self, head: &[u8], name: &str, options: &ReadOptions) -> Sniff {
        sniff::sniff(head, name, options)
    }

    fn read(
        &self,
        source: &dyn Source,
        options: &ReadOptions,
        runner: &dyn Runner,
        progress: &Progress,
    ) -> Result<Vec<Capture>, FormatError> {
        sections::read(source, options, runner, progress)
    }

    fn preview(
        &self,
        source: &dyn Source,
        options: &ReadOptions,
        preview: &mut ImportPreview,
    ) -> Result<(), FormatError> {
        preview::fill(source, options, preview)
    }
}
