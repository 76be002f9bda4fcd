//! Tables of numbers as text: one row a sample, one column a channel.
//!
//! `head` takes the first lines apart, `dialect` finds separator and decimal mark, `columns`
//! and `time_axis` find names, units and time; each leaves its decisions. `piece` parses a stretch of rows on any
//! core, `pass` joins the stretches in order in `sink`,
//! `time_fit` watches whether time is even.

use crate::data::{Capture, Progress, Runner, Source};

use super::probe::{Reader, Sniff};
use super::{FormatError, ReadOptions};

mod columns;
mod dialect;
mod head;
mod pass;
mod piece;
mod plan;
mod quick;
mod sink;
#[cfg(test)]
mod tests;
mod time_axis;
mod time_fit;

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
        plan::sniff(head, name, options)
    }

    fn read(
        &self,
        source: &dyn Source,
        options: &ReadOptions,
        runner: &dyn Runner,
        progress: &Progress,
    ) -> Result<Vec<Capture>, FormatError> {
        let plan = plan::make(source, options)?;
        let capture = pass::read(source, &plan, options, runner, progress)?;
        Ok(vec![capture])
    }
}
