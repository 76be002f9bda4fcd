//! Is a file a table of numbers? A look at its first bytes.

use super::{dialect, head};
use crate::data::MemorySource;
use crate::formats::probe::{HEAD_BYTES, Sniff};
use crate::formats::{FormatError, ReadOptions};

/// Judges the first bytes of a file, as the user told to understand it.
pub(super) fn sniff(bytes: &[u8], name: &str, options: &ReadOptions) -> Sniff {
    let complete = bytes.len() < HEAD_BYTES;
    let source = MemorySource::new(name, bytes.to_vec());
    let found = head::glance(&source, complete, options)
        .and_then(|head| dialect::find(&head, options).map(|dialect| (head, dialect)));
    match found {
        Ok((head, dialect)) => {
            let first = head.lines.get(dialect.table.first);
            Sniff::Score(
                50,
                format!(
                    "rows of {} numbers from line {} on",
                    dialect.table.numbers,
                    first.map_or(1, |line| line.number)
                ),
            )
        }
        Err(error @ FormatError::NoNumbers { .. }) if complete => refusal(name, &error),
        Err(error @ FormatError::Binary { .. }) => refusal(name, &error),
        Err(error) => Sniff::Score(5, format!("text, but {}", without_name(name, &error))),
    }
}

fn refusal(name: &str, error: &FormatError) -> Sniff {
    Sniff::Refusal(without_name(name, error))
}

fn without_name(name: &str, error: &FormatError) -> String {
    let text = error.to_string();
    let rest = text.strip_prefix(name).unwrap_or(&text);
    rest.trim_start_matches([':', ',', ' ']).to_owned()
}
