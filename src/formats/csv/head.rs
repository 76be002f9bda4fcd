//! Lines of a table before they are understood: decoded, with where they stand in the file.

use crate::data::{Decision, Source};
use crate::formats::text::encoding::{self, Encoding, Found};
use crate::formats::text::source::{TextForm, TextSource};
use crate::formats::{FormatError, ReadOptions, layout};

/// Rows of samples that the decisions may look at.
pub(super) const ROWS_LOOKED_AT: usize = 64;

/// Bytes in which the first row of samples has to be.
const MOST_BYTES: usize = 4 * 1024 * 1024;

/// Bytes in which the first row of a later table has to be.
const MOST_LATER_BYTES: usize = 64 * 1024;

/// One line of the head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct HeadLine {
    /// Its number, from 1.
    pub number: u64,
    /// Offset of its first byte in the text of the file.
    pub offset: u64,
    /// Its text without line end.
    pub text: String,
}

impl HeadLine {
    /// Is there nothing on it?
    pub fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }

    /// Does a mark at its start say that it is a comment?
    pub fn is_comment(&self) -> bool {
        is_comment(self.text.as_bytes())
    }
}

/// Does a line begin like a comment?
pub(super) fn is_comment(line: &[u8]) -> bool {
    matches!(
        line.trim_ascii_start(),
        [b'#' | b'%' | b'!', ..] | [b'/', b'/', ..]
    )
}

/// A place in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    /// Offset in its text.
    pub offset: u64,
    /// Number of the line that begins there, from 1.
    pub line: u64,
}

/// Some lines of a file from one place on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Head {
    /// Name of the file.
    pub file: String,
    /// How its bytes make text.
    pub form: TextForm,
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
        let first = self.lines.first()?.number;
        self.lines
            .get(usize::try_from(number.checked_sub(first)?).ok()?)
    }
}

/// Reads the head of `source` from its start.
pub(super) fn load(source: &dyn Source, options: &ReadOptions) -> Result<Head, FormatError> {
    let (form, mark, encoding) = form_of(source, options)?;
    let text = TextSource::new(source, form);
    let place = Place {
        offset: mark,
        line: 1,
    };
    let mut wanted = crate::formats::probe::HEAD_BYTES;
    loop {
        let head = lines_from(&text, form, &encoding, place, wanted, options)?;
        let enough = most_lines(options) + 1;
        if head.complete || head.lines.len() > enough || wanted >= MOST_BYTES {
            return Ok(head);
        }
        wanted *= 8;
    }
}

/// Reads the first bytes only; where there may be more of the file, an unfinished last line is left
/// out.
pub(super) fn glance(
    source: &dyn Source,
    whole: bool,
    options: &ReadOptions,
) -> Result<Head, FormatError> {
    let (form, mark, encoding) = form_of(source, options)?;
    let text = TextSource::new(source, form);
    let place = Place {
        offset: mark,
        line: 1,
    };
    let wanted = usize::try_from(source.len()).unwrap_or(usize::MAX);
    let wanted = if whole { wanted + 1 } else { wanted / 2 };
    lines_from(&text, form, &encoding, place, wanted, options)
}

/// Reads lines from a place in the middle of a file.
pub(super) fn load_at(
    text: &TextSource<'_>,
    before: &Head,
    place: Place,
    options: &ReadOptions,
) -> Result<Head, FormatError> {
    // little at first: many short tables may follow one another
    let mut wanted = 2 * 1024;
    loop {
        let head = lines_from(text, before.form, &before.encoding, place, wanted, options)?;
        if head.complete || head.lines.len() > ROWS_LOOKED_AT + 16 || wanted >= MOST_LATER_BYTES {
            return Ok(head);
        }
        wanted = (8 * wanted).min(MOST_LATER_BYTES);
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

/// Takes `wanted` bytes from `place` on apart; an unfinished last line is left out unless the file
/// ends there.
fn lines_from(
    text: &TextSource<'_>,
    form: TextForm,
    encoding: &Decision,
    place: Place,
    wanted: usize,
    options: &ReadOptions,
) -> Result<Head, FormatError> {
    let file = text.name();
    let failed = |error: std::io::Error| FormatError::io(file, &error);
    let mut bytes = vec![0; wanted];
    let filled = text
        .read_full_at(place.offset, &mut bytes)
        .map_err(failed)?;
    bytes.truncate(filled);
    let ends = filled < wanted;
    let (mut lines, mut at) = (Vec::new(), 0);
    while let Some(rest) = bytes.get(at..)
        && !rest.is_empty()
        && lines.len() <= most_lines(options)
    {
        let number = place.line + lines.len() as u64;
        let (line, next) = match memchr::memchr(b'\n', rest) {
            Some(end) => (rest.get(..end).unwrap_or(rest), at + end + 1),
            None if ends => (rest, bytes.len()),
            None => {
                too_long(file, rest, number, options)?;
                break;
            }
        };
        too_long(file, line, number, options)?;
        let offset = place.offset + at as u64;
        let decoded = if form.encoding.is_wide() {
            let end = offset + line.len() as u64;
            text.decode(offset..end).map_err(failed)?
        } else {
            form.encoding.decode(line).into_owned()
        };
        lines.push(HeadLine {
            number,
            offset,
            text: decoded.trim_end_matches('\r').to_owned(),
        });
        at = next;
    }
    Ok(Head {
        file: file.to_owned(),
        form,
        lines,
        encoding: encoding.clone(),
        complete: ends && at >= bytes.len(),
    })
}

fn too_long(
    file: &str,
    line: &[u8],
    number: u64,
    options: &ReadOptions,
) -> Result<(), FormatError> {
    if line.len() > options.limits.line_bytes {
        return Err(FormatError::LineTooLong {
            file: file.to_owned(),
            line: number,
            limit: options.limits.line_bytes,
        });
    }
    Ok(())
}

/// How the bytes make text, the length of the mark in it, and the encoding as a decision.
fn form_of(
    source: &dyn Source,
    options: &ReadOptions,
) -> Result<(TextForm, u64, Decision), FormatError> {
    let file = source.name();
    let mut bytes = vec![0; crate::formats::probe::HEAD_BYTES];
    let filled = source
        .read_full_at(0, &mut bytes)
        .map_err(|error| FormatError::io(file, &error))?;
    bytes.truncate(filled);
    let (encoding, why) = match (layout::given(options, "encoding"), encoding::find(&bytes)) {
        // whoever names the encoding vouches for stray control characters
        (Some(value), _) => (
            Encoding::from_id(value).ok_or_else(|| layout::bad_value(file, "encoding", value))?,
            layout::why_given(options, "encoding"),
        ),
        (None, Found::Text { encoding, why, .. }) => (encoding, why.to_owned()),
        (None, Found::Binary(at)) => {
            return Err(FormatError::Binary {
                file: file.to_owned(),
                byte: at as u64,
            });
        }
    };
    let decision = Decision {
        what: "encoding".to_owned(),
        value: encoding.id().to_owned(),
        why,
    };
    let mark = encoding.mark_in(&bytes) / if encoding.is_wide() { 2 } else { 1 };
    // zero bytes beside them do not matter: neither CR nor LF is half of another character here
    let cr_ends = memchr::memchr(b'\r', &bytes).is_some() && !bytes.contains(&b'\n');
    let form = TextForm { encoding, cr_ends };
    Ok((form, mark as u64, decision))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::MemorySource;

    fn head(bytes: &[u8]) -> Result<Head, FormatError> {
        let source = MemorySource::new("a.csv", bytes.to_vec());
        load(&source, &ReadOptions::default())
    }

    fn texts(bytes: &[u8]) -> Vec<String> {
        let found = head(bytes).expect("text");
        assert!(found.complete);
        found.lines.into_iter().map(|line| line.text).collect()
    }

    #[test]
    fn line_ends_of_every_kind_are_taken_off() {
        assert_eq!(texts(b"\xEF\xBB\xBFa\r\nb\r\r\n\nc"), ["a", "b", "", "c"]);
        assert_eq!(texts(b"1,2\r3,4\r5,6"), ["1,2", "3,4", "5,6"]);
        assert_eq!(texts(b"\xFF\xFEa\0\n\0b\0"), ["a", "b"]);
        assert_eq!(
            texts(b"a,b,c,d,e,f,g,h,i,j,k\0\n1"),
            ["a,b,c,d,e,f,g,h,i,j,k ", "1"]
        );
    }

    #[test]
    fn what_is_no_text_is_refused_with_the_reason() {
        assert_eq!(head(b"a\0b").unwrap_err().id(), "binary");
        let long = vec![b'1'; 70_000];
        assert_eq!(head(&long).unwrap_err().id(), "line-too-long");
    }

    #[test]
    fn lines_are_found_by_their_number_from_any_place() {
        let source = MemorySource::new("a.csv", b"a\nb\nc\n".as_slice());
        let options = ReadOptions::default();
        let start = load(&source, &options).expect("text");
        let text = TextSource::new(&source, start.form);
        let place = Place { offset: 2, line: 2 };
        let later = load_at(&text, &start, place, &options).expect("text");
        assert_eq!(later.line(3).map(|line| line.text.as_str()), Some("c"));
        assert_eq!(later.line(1), None);
    }
}
