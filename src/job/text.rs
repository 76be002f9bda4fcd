//! A record as text and back. What is written reads back the same, or is not written.

use toml::de::{DeTable, DeValue};

use super::error::JobError;
use super::form::{Reader, Writer, wrong};
use super::{draft, one};
use crate::data::job::Job;

/// The form of the records that are written, and the latest that is read.
pub const SCHEMA: i64 = 1;
/// Largest record, in bytes.
pub const MOST_BYTES: u64 = 4 * 1024 * 1024;

const HEADING: &str = "\
# The record of a repair, kept by firstpulse. May be read, copied with its folder, and edited:
# values stand in SI base units, files are named from this folder, dates are ISO 8601.
# A key that is not known is refused when the record is opened, and nothing is changed then.
";

/// The record of a text; `file` is its name in messages. Older schemas are brought forward.
///
/// # Errors
/// [`JobError::Wrong`] with line and key, or [`JobError::Newer`].
pub fn read(file: &str, text: &str) -> Result<Job, JobError> {
    if text.len() as u64 > MOST_BYTES {
        return Err(wrong(
            file,
            "",
            0,
            "",
            "is larger than a record can be (4 MiB)",
        ));
    }
    let root = DeTable::parse(text).map_err(|error| {
        let at = error.span().map_or(0, |span| span.start);
        wrong(file, text, at, "", error.message())
    })?;
    let root = root.get_ref();
    match schema(file, text, root)? {
        0 => Reader::read(file, text, root, draft::describe).map(draft::forward),
        _ => Reader::read(file, text, root, one::job),
    }
}

fn schema(file: &str, text: &str, root: &DeTable<'_>) -> Result<i64, JobError> {
    let has = |name: &str| root.iter().find(|(key, _)| key.get_ref() == name);
    let Some((_, found)) = has("schema") else {
        // the first form had none, and always these
        if has("title").is_some() && has("groups").is_some() {
            return Ok(0);
        }
        let what = format!("is missing; a record begins with schema = {SCHEMA}");
        return Err(wrong(file, text, 0, "schema", &what));
    };
    let number = match found.get_ref() {
        DeValue::Integer(digits) => i64::from_str_radix(digits.as_str(), digits.radix()).ok(),
        _ => None,
    };
    match number {
        Some(SCHEMA) => Ok(SCHEMA),
        Some(found) if found > SCHEMA => Err(JobError::Newer {
            path: file.to_owned(),
            found,
        }),
        _ => {
            let what = format!("a whole number up to {SCHEMA} was expected");
            Err(wrong(file, text, found.span().start, "schema", &what))
        }
    }
}

/// The text of a record, which [`read`] reads back as an equal one.
///
/// # Errors
/// [`JobError::Unwritable`] where a value can't be kept: not a number, a path that leaves the folder,
/// a date that is none.
pub fn write(job: &Job) -> Result<String, JobError> {
    let mut writer = Writer::default();
    let mut copy = job.clone();
    one::job(&mut writer, &mut copy);
    let text = format!("{HEADING}\n{}", writer.finish());
    let unwritable = |what: String| JobError::Unwritable { what };
    match read("job.toml", &text) {
        Ok(back) if back == *job => Ok(text),
        Ok(_) => Err(unwritable(
            "a value in it has no form to be kept in".to_owned(),
        )),
        Err(JobError::Wrong { what, .. }) => Err(unwritable(what)),
        Err(other) => Err(other),
    }
}

#[cfg(test)]
mod tests;
