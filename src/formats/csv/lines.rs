//! The whole lines that begin in a stretch of a file.

use super::piece::Stop;
use crate::data::Source;

/// Bytes read beyond a stretch to find the end of its last line.
const BEYOND: usize = 256;

/// Lines that were read.
#[derive(Debug, Default)]
pub(super) struct Loaded {
    /// Where they are in the text.
    pub lines: std::ops::Range<usize>,
    /// Was a line feed put at the end of a file that has none?
    pub unfinished: bool,
}

/// Reads the lines that begin in `range` into `text`, which begins at `origin`; where they are in it.
/// A line feed is put at the end of a file that has none. Where it stops, the lines that are whole
/// come with the reason.
pub(super) fn load(
    source: &dyn Source,
    origin: u64,
    data_offset: u64,
    range: std::ops::Range<u64>,
    line_bytes: usize,
    text: &mut Vec<u8>,
) -> Result<Loaded, (std::ops::Range<usize>, Stop)> {
    // the byte before tells whether a line begins at the start
    let inside = usize::try_from(range.end - origin).unwrap_or(usize::MAX);
    let failed = |error: std::io::Error| (0..0, Stop::Io(error.kind(), error.to_string()));
    text.resize(inside + BEYOND, 0);
    let filled = source.read_full_at(origin, text).map_err(failed)?;
    let mut complete = filled < text.len();
    text.truncate(filled);
    let start = if range.start <= data_offset {
        usize::try_from(data_offset - origin).unwrap_or(0)
    } else {
        match memchr::memchr(b'\n', text) {
            Some(at) if at + 1 < inside => at + 1,
            // no line begins here
            Some(_) => return Ok(Loaded::default()),
            None if complete => return Ok(Loaded::default()),
            None if inside + BEYOND > line_bytes => return Err((0..0, Stop::LineTooLong)),
            None => return Ok(Loaded::default()),
        }
    };
    let mut searched = inside.saturating_sub(1).min(text.len());
    loop {
        let found = text.get(searched..).and_then(|t| memchr::memchr(b'\n', t));
        if let Some(at) = found {
            return Ok(Loaded {
                lines: start..searched + at + 1,
                unfinished: false,
            });
        }
        if complete {
            let unfinished = !text.ends_with(b"\n") && start < text.len();
            if unfinished {
                text.push(b'\n');
            }
            return Ok(Loaded {
                lines: start.min(text.len())..text.len(),
                unfinished,
            });
        }
        if text.len() > inside + line_bytes {
            let whole = memchr::memrchr(b'\n', text).map_or(start, |at| at + 1);
            return Err((start..whole.max(start), Stop::LineTooLong));
        }
        searched = text.len();
        let more = 4 * BEYOND;
        text.resize(searched + more, 0);
        let Some(room) = text.get_mut(searched..) else {
            return Ok(Loaded::default());
        };
        let filled = source
            .read_full_at(origin + searched as u64, room)
            .map_err(failed)?;
        complete = filled < more;
        text.truncate(searched + filled);
    }
}
