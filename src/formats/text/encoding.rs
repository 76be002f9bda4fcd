//! Which encoding text is in, by fixed rules that can be explained.

use std::borrow::Cow;

/// An encoding that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, of which ASCII is a part.
    Utf8,
    /// Windows-1252, of which ISO 8859-1 text is a part.
    Windows1252,
    /// UTF-16, low byte first.
    Utf16Le,
    /// UTF-16, high byte first.
    Utf16Be,
}

/// What the first bytes say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// Text in an encoding that is read, after a mark of so many bytes.
    Text {
        /// The encoding.
        encoding: Encoding,
        /// Bytes of the byte-order mark.
        mark: usize,
        /// Why.
        why: &'static str,
    },
    /// No text: offset of the first byte that shows it.
    Binary(usize),
}

impl Encoding {
    /// All of them.
    pub const ALL: [Encoding; 4] = [
        Encoding::Utf8,
        Encoding::Windows1252,
        Encoding::Utf16Le,
        Encoding::Utf16Be,
    ];

    /// The word used in `--layout encoding=`.
    pub fn id(self) -> &'static str {
        match self {
            Encoding::Utf8 => "utf-8",
            Encoding::Windows1252 => "windows-1252",
            Encoding::Utf16Le => "utf-16le",
            Encoding::Utf16Be => "utf-16be",
        }
    }

    /// The encoding of this word.
    pub fn from_id(id: &str) -> Option<Encoding> {
        Encoding::ALL
            .into_iter()
            .find(|e| e.id().eq_ignore_ascii_case(id))
    }

    /// Does a character take two bytes or more?
    pub fn is_wide(self) -> bool {
        matches!(self, Encoding::Utf16Le | Encoding::Utf16Be)
    }

    /// Bytes of the byte-order mark of this encoding at the start of `head`.
    pub fn mark_in(self, head: &[u8]) -> usize {
        match (self, head) {
            (Encoding::Utf8, [0xEF, 0xBB, 0xBF, ..]) => 3,
            (Encoding::Utf16Le, [0xFF, 0xFE, ..]) | (Encoding::Utf16Be, [0xFE, 0xFF, ..]) => 2,
            _ => 0,
        }
    }

    /// `bytes` as text; what does not fit becomes the replacement character.
    pub fn decode(self, bytes: &[u8]) -> Cow<'_, str> {
        let from =
            |table: &'static encoding_rs::Encoding| table.decode_without_bom_handling(bytes).0;
        match self {
            Encoding::Utf8 => String::from_utf8_lossy(bytes),
            Encoding::Windows1252 => from(encoding_rs::WINDOWS_1252),
            Encoding::Utf16Le => from(encoding_rs::UTF_16LE),
            Encoding::Utf16Be => from(encoding_rs::UTF_16BE),
        }
    }
}

/// Share of zero bytes up to which text counts as text: padding between fields, not binary data.
const MOST_ZEROS: f64 = 0.05;
/// Share of two-byte units of text whose high byte is zero, at least; other bytes hardly ever are.
const LEAST_ZERO_HALVES: f64 = 0.4;

/// Decides by the byte-order mark, else by zeros in every second byte (UTF-16), else valid UTF-8,
/// else Windows-1252. Zeros at the end are padding; a few others are read as blanks.
pub fn find(head: &[u8]) -> Found {
    let text = |encoding: Encoding, why| Found::Text {
        encoding,
        mark: encoding.mark_in(head),
        why,
    };
    for encoding in [Encoding::Utf16Le, Encoding::Utf16Be, Encoding::Utf8] {
        let mark = encoding.mark_in(head);
        if mark > 0 {
            return match control(encoding, head.get(mark..).unwrap_or(&[])) {
                Some(at) => Found::Binary(mark + at),
                None => text(encoding, "byte-order mark"),
            };
        }
    }
    if let Some(encoding) = wide_without_mark(head) {
        return text(encoding, "every second byte is zero");
    }
    if let Some(at) = control(Encoding::Utf8, head) {
        return Found::Binary(at);
    }
    match std::str::from_utf8(head) {
        Ok(_) => text(Encoding::Utf8, "valid UTF-8"),
        // the head may end within a character
        Err(error) if error.error_len().is_none() => text(Encoding::Utf8, "valid UTF-8"),
        Err(_) => text(Encoding::Windows1252, "not valid UTF-8"),
    }
}

/// Offset of the first byte that text does not have.
fn control(encoding: Encoding, bytes: &[u8]) -> Option<usize> {
    let is_control = |unit: u16| {
        unit < 0x20 && !matches!(unit, 0 | 0x09 | 0x0A | 0x0B | 0x0C | 0x0D | 0x1A)
            || unit == 0xFFFF
    };
    if encoding.is_wide() {
        let unit = |pair: &[u8; 2]| match encoding {
            Encoding::Utf16Be => u16::from_be_bytes(*pair),
            _ => u16::from_le_bytes(*pair),
        };
        let (pairs, _) = bytes.as_chunks::<2>();
        return pairs
            .iter()
            .position(|p| is_control(unit(p)))
            .map(|at| 2 * at);
    }
    if let Some(at) = bytes.iter().position(|b| is_control(u16::from(*b))) {
        return Some(at);
    }
    let end = bytes.iter().rposition(|b| *b != 0).map_or(0, |at| at + 1);
    let body = bytes.get(..end).unwrap_or(&[]);
    let zeros = memchr::memchr_iter(0, body).count();
    (zeros as f64 > MOST_ZEROS * body.len() as f64)
        .then(|| memchr::memchr(0, body))
        .flatten()
        .or_else(|| (body.is_empty() && !bytes.is_empty()).then_some(0))
}

/// UTF-16 without a mark: digits and separators have a zero high byte.
fn wide_without_mark(head: &[u8]) -> Option<Encoding> {
    let (pairs, _) = head.as_chunks::<2>();
    let pairs = pairs.get(..pairs.len().min(4096)).unwrap_or(pairs);
    if pairs.len() < 4 {
        return None;
    }
    let share = |zero: fn(&[u8; 2]) -> bool| {
        pairs.iter().filter(|p| zero(p)).count() as f64 / pairs.len() as f64
    };
    let (first, second) = (share(|p| p[0] == 0), share(|p| p[1] == 0));
    let encoding = match (first, second) {
        (low, high) if high >= LEAST_ZERO_HALVES && low < 0.1 => Encoding::Utf16Le,
        (high, low) if high >= LEAST_ZERO_HALVES && low < 0.1 => Encoding::Utf16Be,
        _ => return None,
    };
    control(encoding, head).is_none().then_some(encoding)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn encoding(head: &[u8]) -> Option<(Encoding, usize)> {
        match find(head) {
            Found::Text { encoding, mark, .. } => Some((encoding, mark)),
            Found::Binary(_) => None,
        }
    }

    #[test]
    fn the_mark_decides_then_valid_utf8_then_windows_1252() {
        assert_eq!(encoding(b"a"), Some((Encoding::Utf8, 0)));
        assert_eq!(encoding(b"\xEF\xBB\xBFa"), Some((Encoding::Utf8, 3)));
        assert_eq!(encoding("µ".as_bytes()), Some((Encoding::Utf8, 0)));
        assert_eq!(encoding(b"a\xC2"), Some((Encoding::Utf8, 0)));
        assert_eq!(encoding(b"t (\xB5s)"), Some((Encoding::Windows1252, 0)));
        assert_eq!(Encoding::Windows1252.decode(b"\xB5s"), "µs");
    }

    #[test]
    fn utf16_is_known_by_its_mark_or_by_its_zeros() {
        let wide =
            |text: &str| -> Vec<u8> { text.encode_utf16().flat_map(u16::to_le_bytes).collect() };
        let marked = wide("\u{FEFF}时间,CH1\n0.1,2\n");
        assert_eq!(encoding(&marked), Some((Encoding::Utf16Le, 2)));
        let bare = wide("t,CH1\n0.1,2\n");
        assert_eq!(encoding(&bare), Some((Encoding::Utf16Le, 0)));
        let swapped: Vec<u8> = bare.chunks(2).flat_map(|p| [p[1], p[0]]).collect();
        assert_eq!(encoding(&swapped), Some((Encoding::Utf16Be, 0)));
        assert_eq!(Encoding::Utf16Le.decode(&bare), "t,CH1\n0.1,2\n");
    }

    #[test]
    fn some_zeros_are_padding_and_many_are_binary() {
        let mut padded = b"t,CH1\n0.1,2\n0.2,3\n0.3,4\n0.4,5\n0.5,6\0\n0.6,7\n".to_vec();
        padded.extend([0; 500]);
        assert_eq!(encoding(&padded), Some((Encoding::Utf8, 0)));
        assert_eq!(find(b"a\0b\0\0c\0d"), Found::Binary(1));
        assert_eq!(find(b"\0\0\0"), Found::Binary(0));
        assert_eq!(find(b"ab\x01"), Found::Binary(2));
    }
}
