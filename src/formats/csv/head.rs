//! The first lines of a table, decoded, with where they stand in the file.

use crate::data::{Decision, Source};
use crate::formats::text::encoding::{self, Encoding, Found};
use crate::formats::{FormatError, Limits, ReadOptions, layout};

/// Rows of samples that the decisions may look at.
pub(super) const ROWS_LOOKED_AT: usize = 64;

/// Bytes in which the first row of samples has to be.
const MOST_BYTES: usize = 4 * 1024 * 1024;

/// One line of the head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct HeadLine {
    /// Its number, from 1.
    pub number: u64,
    /// Offset of its first byte in the file.
    pub offset: u64,
    /// Its text without line end.
    pub text: String,
}

impl HeadLine {
    /// Is there nothing on it?
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// The first lines of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Head {
    /// Name of the file.
    pub file: String,
    /// The lines.
    pub lines: Vec<HeadLine>,
    /// The encoding, as a decision.
    pub encoding: Decision,
    /// Do the lines reach to the end of the file?
    pub complete: bool,
}

impl Head {
    /// The line of this number.
    pub fn line(&self, number: u64) -> Option<&HeadLine> {
        self.lines.iter().find(|line| line.number == number)
    }
}

/// Reads the head of `source`.
pub(super) fn load(source: &dyn Source, options: &ReadOptions) -> Result<Head, FormatError> {
    let file = source.name();
    let mut wanted = crate::formats::probe::HEAD_BYTES;
    loop {
        let mut bytes = vec![0; wanted];
        let filled = source
            .read_full_at(0, &mut bytes)
            .map_err(|error| FormatError::io(file, &error))?;
        bytes.truncate(filled);
        let complete = filled < wanted;
        let head = from_bytes(file, &bytes, complete, options)?;
        let enough = most_lines(options) + 1;
        if complete || head.lines.len() > enough || wanted >= MOST_BYTES {
            return Ok(head);
        }
        wanted *= 8;
    }
}

/// Farthest first row that a user can name.
const FARTHEST_FIRST_ROW: usize = 100_000;

/// Lines that are looked at: beyond the limit where the user names a first row beyond it.
fn most_lines(options: &ReadOptions) -> usize {
    let told = layout::given(options, "first-row").and_then(|line| line.parse::<usize>().ok());
    let told = told.unwrap_or(0).min(FARTHEST_FIRST_ROW);
    options.limits.header_lines.max(told) + ROWS_LOOKED_AT
}

/// Takes `bytes` from the start of a file apart; an unfinished last line is left out unless the file
/// ends there.
pub(super) fn from_bytes(
    file: &str,
    bytes: &[u8],
    complete: bool,
    options: &ReadOptions,
) -> Result<Head, FormatError> {
    let (encoding, mark, why) = decide_encoding(file, bytes, options)?;
    let decision = Decision {
        what: "encoding".to_owned(),
        value: encoding.id().to_owned(),
        why,
    };
    let most = most_lines(options) + 1;
    let mut lines = Vec::new();
    let mut offset = mark;
    while let Some(rest) = bytes.get(offset..)
        && !rest.is_empty()
        && lines.len() <= most
    {
        let number = lines.len() as u64 + 1;
        let (line, next) = match memchr::memchr(b'\n', rest) {
            Some(end) => (rest.get(..end).unwrap_or(rest), offset + end + 1),
            None if complete => (rest, bytes.len()),
            None => {
                check_unfinished(file, rest, number, &options.limits)?;
                break;
            }
        };
        check_line(file, line, number, &options.limits)?;
        let text = encoding.decode(line);
        lines.push(HeadLine {
            number,
            offset: offset as u64,
            text: text.trim_end_matches('\r').to_owned(),
        });
        offset = next;
    }
    let complete = complete && offset >= bytes.len();
    Ok(Head {
        file: file.to_owned(),
        lines,
        encoding: decision,
        complete,
    })
}

fn check_unfinished(
    file: &str,
    rest: &[u8],
    number: u64,
    limits: &Limits,
) -> Result<(), FormatError> {
    if number == 1 && rest.contains(&b'\r') && !rest.contains(&b'\n') {
        return Err(FormatError::LineEnds {
            file: file.to_owned(),
        });
    }
    too_long(file, rest, number, limits)
}

fn check_line(file: &str, line: &[u8], number: u64, limits: &Limits) -> Result<(), FormatError> {
    let end = line
        .iter()
        .rposition(|b| *b != b'\r')
        .map_or(0, |at| at + 1);
    if line.get(..end).is_some_and(|text| text.contains(&b'\r')) {
        return Err(FormatError::LineEnds {
            file: file.to_owned(),
        });
    }
    too_long(file, line, number, limits)
}

fn too_long(file: &str, line: &[u8], number: u64, limits: &Limits) -> Result<(), FormatError> {
    if line.len() > limits.line_bytes {
        return Err(FormatError::LineTooLong {
            file: file.to_owned(),
            line: number,
            limit: limits.line_bytes,
        });
    }
    Ok(())
}

fn decide_encoding(
    file: &str,
    bytes: &[u8],
    options: &ReadOptions,
) -> Result<(Encoding, usize, String), FormatError> {
    let told = layout::given(options, "encoding");
    let (found, mark, why) = match encoding::find(bytes) {
        Found::Text {
            encoding,
            mark,
            why,
        } => (encoding, mark, why),
        // whoever names the encoding vouches for stray control characters; zeros are no text
        Found::Binary(_) if told.is_some() && !bytes.contains(&0) => {
            let mark = if bytes.starts_with(b"\xEF\xBB\xBF") {
                3
            } else {
                0
            };
            (Encoding::Utf8, mark, "as told")
        }
        Found::Utf16 => {
            return Err(FormatError::Encoding {
                file: file.to_owned(),
                encoding: "UTF-16",
            });
        }
        Found::Binary(at) => {
            return Err(FormatError::Binary {
                file: file.to_owned(),
                byte: at as u64,
            });
        }
    };
    match told {
        None => Ok((found, mark, why.to_owned())),
        Some(value) => Encoding::from_id(value)
            .map(|encoding| (encoding, mark, "as told".to_owned()))
            .ok_or_else(|| layout::bad_value(file, "encoding", value)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(bytes: &[u8]) -> Result<Head, FormatError> {
        from_bytes("a.csv", bytes, true, &ReadOptions::default())
    }

    #[test]
    fn line_ends_of_every_kind_are_taken_off() {
        let found = head(b"\xEF\xBB\xBFa\r\nb\r\r\n\nc").expect("text");
        let texts: Vec<_> = found.lines.iter().map(|l| l.text.as_str()).collect();
        assert_eq!(texts, ["a", "b", "", "c"]);
        assert_eq!(found.lines.first().map(|l| l.offset), Some(3));
        assert!(found.complete);
    }

    #[test]
    fn what_is_no_plain_text_is_refused_with_the_reason() {
        assert_eq!(head(b"a\0b").unwrap_err().id(), "binary");
        assert_eq!(head(b"1,2\r3,4\r5,6").unwrap_err().id(), "line-ends");
        assert_eq!(head(b"\xFF\xFE1\0").unwrap_err().id(), "encoding");
        let long = vec![b'1'; 70_000];
        assert_eq!(head(&long).unwrap_err().id(), "line-too-long");
    }
}
