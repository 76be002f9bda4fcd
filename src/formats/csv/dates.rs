//! Dates in a column of their own, beside clock times: they have to pass as many days as the clock.

use super::dialect::shortened;
use super::pass::{End, Rows};
use super::sections::Understood;
use crate::data::{Answer, Source};
use crate::formats::text::cell;
use crate::formats::text::clock::{self, DateOrder};
use crate::formats::text::source::TextSource;
use crate::formats::{FormatError, ReadOptions, layout};

/// Bytes before the end of the rows in which the last row is looked for.
const TAIL: u64 = 8 * 1024;

/// Sets the first and the last date against the midnights that the clock passes.
pub(super) fn check(
    text: &TextSource<'_>,
    understood: &Understood,
    rows: &Rows,
    options: &ReadOptions,
) -> Result<(), FormatError> {
    let clock_days = rows.sinks.iter().find_map(|sink| sink.days());
    let (Some(column), Some(days)) = (understood.columns.dates, clock_days) else {
        return Ok(());
    };
    let dates = understood.dialect.column(&understood.head, column);
    let first = dates.first().copied().unwrap_or("");
    let last = last_date(text, understood, rows, column)?.unwrap_or_else(|| first.to_owned());
    let passed = if first == last {
        0
    } else {
        let order = order(first, &last, understood, options)?;
        let day = |text: &str| clock::day_number(text, order);
        match day(first).zip(day(&last)) {
            Some((first, last)) => last - first,
            None => return Ok(()),
        }
    };
    if passed == days as i64 {
        return Ok(());
    }
    Err(FormatError::DatesDisagree {
        file: understood.head.file.clone(),
        column: column + 1,
        dates: passed,
        clock: days as i64,
    })
}

fn order(
    first: &str,
    last: &str,
    understood: &Understood,
    options: &ReadOptions,
) -> Result<DateOrder, FormatError> {
    let told = layout::given(options, "date").and_then(DateOrder::from_id);
    told.or_else(|| clock::order(first))
        .or_else(|| clock::order(last))
        .ok_or_else(|| {
            FormatError::ask(
                &understood.head.file,
                format!(
                    "the date goes from `{}` to `{}`, and day and month could be either; which order is it?",
                    shortened(first),
                    shortened(last)
                ),
                vec![Answer::of("date", "dmy"), Answer::of("date", "mdy")],
            )
        })
}

/// The date in the last row.
fn last_date(
    text: &TextSource<'_>,
    understood: &Understood,
    rows: &Rows,
    column: usize,
) -> Result<Option<String>, FormatError> {
    let end = match rows.end {
        End::Foreign { offset, .. } => offset,
        _ => text.len().min(rows.plan.end_offset),
    };
    let start = end.saturating_sub(TAIL).max(rows.plan.data_offset);
    let mut bytes = vec![0; usize::try_from(end - start).unwrap_or(0)];
    let filled = text
        .read_full_at(start, &mut bytes)
        .map_err(|error| FormatError::io(&understood.head.file, &error))?;
    let tail = bytes.get(..filled).unwrap_or(&[]);
    let found = tail.rsplit(|b| *b == b'\n').find_map(|line| {
        let line = rows.plan.form.cells().decode(line).into_owned();
        let cells = cell::split(&line, rows.plan.separator);
        let date = cell::bare(cells.get(column)?);
        clock::is_date(date).then(|| date.to_owned())
    });
    Ok(found)
}
