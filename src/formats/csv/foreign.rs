//! Lines in the middle of a file that are no rows of the table before them.

use super::plan::Plan;
use super::rows;
use crate::data::Source;
use crate::formats::text::cell::{self, CellKind};

/// Bytes of a line that are looked at.
const LOOKED_AT: usize = 4096;

fn kinds_at(source: &dyn Source, plan: &Plan, offset: u64) -> Vec<CellKind> {
    let mut bytes = vec![0; LOOKED_AT];
    let filled = source.read_full_at(offset, &mut bytes).unwrap_or(0);
    bytes.truncate(filled);
    let end = memchr::memchr(b'\n', &bytes).unwrap_or(bytes.len());
    let text = plan.form.cells().decode(bytes.get(..end).unwrap_or(&[]));
    cell::split(text.trim_end_matches('\r'), plan.separator)
        .into_iter()
        .map(|text| cell::kind(text, plan.marks))
        .collect()
}

/// Is the line at `offset` something else than a damaged row: does it begin with a text, or hold texts
/// in another number of cells?
pub(super) fn is_foreign(source: &dyn Source, plan: &Plan, offset: u64) -> bool {
    let kinds = kinds_at(source, plan, offset);
    let is_text = |kind: &CellKind| *kind == CellKind::Text;
    let first = kinds.iter().find(|kind| **kind != CellKind::Empty);
    let starts_with_text = first.is_some_and(is_text);
    let other_width = kinds.len() != plan.columns.len() && kinds.iter().any(is_text);
    let begins_as_row = kinds.first().is_some_and(|kind| rows::is_number(*kind));
    (starts_with_text || other_width) && !(begins_as_row && kinds.len() == plan.columns.len())
}

/// Does the line at `offset` begin like a row, with fewer cells or a last one that is cut?
pub(super) fn is_start_of_row(source: &dyn Source, plan: &Plan, offset: u64) -> bool {
    let kinds = kinds_at(source, plan, offset);
    let whole = kinds.split_last().map_or(&[][..], |(_, before)| before);
    kinds.len() <= plan.columns.len() && whole.iter().all(|kind| *kind != CellKind::Text)
}
