//! Which encoding text is in, by one fixed rule that can be explained.

use std::borrow::Cow;

/// An encoding that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, of which ASCII is a part.
    Utf8,
    /// Windows-1252, of which ISO 8859-1 text is a part.
    Windows1252,
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
    /// UTF-16, by its byte-order mark.
    Utf16,
    /// No text: offset of the first byte that shows it.
    Binary(usize),
}

impl Encoding {
    /// The word used in `--layout encoding=`.
    pub fn id(self) -> &'static str {
        match self {
            Encoding::Utf8 => "utf-8",
            Encoding::Windows1252 => "windows-1252",
        }
    }

    /// The encoding of this word.
    pub fn from_id(id: &str) -> Option<Encoding> {
        [Encoding::Utf8, Encoding::Windows1252]
            .into_iter()
            .find(|e| e.id().eq_ignore_ascii_case(id))
    }

    /// `bytes` as text; what does not fit becomes the replacement character.
    pub fn decode(self, bytes: &[u8]) -> Cow<'_, str> {
        match self {
            Encoding::Utf8 => String::from_utf8_lossy(bytes),
            Encoding::Windows1252 => {
                encoding_rs::WINDOWS_1252
                    .decode_without_bom_handling(bytes)
                    .0
            }
        }
    }
}

/// Decides by the byte-order mark, else valid UTF-8, else Windows-1252.
pub fn find(head: &[u8]) -> Found {
    if let [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] = head {
        return Found::Utf16;
    }
    let (mark, text) = match head {
        [0xEF, 0xBB, 0xBF, text @ ..] => (3, text),
        text => (0, text),
    };
    let is_control = |b: &u8| *b < 0x20 && !matches!(*b, b'\t' | b'\n' | b'\r' | 0x0B | 0x0C);
    if let Some(at) = text.iter().position(is_control) {
        return Found::Binary(mark + at);
    }
    let (encoding, why) = match std::str::from_utf8(text) {
        _ if mark > 0 => (Encoding::Utf8, "byte-order mark"),
        Ok(_) => (Encoding::Utf8, "valid UTF-8"),
        // the head may end within a character
        Err(error) if error.error_len().is_none() => (Encoding::Utf8, "valid UTF-8"),
        Err(_) => (Encoding::Windows1252, "not valid UTF-8"),
    };
    Found::Text {
        encoding,
        mark,
        why,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mark_decides_then_valid_utf8_then_windows_1252() {
        let encoding = |head: &[u8]| match find(head) {
            Found::Text { encoding, mark, .. } => Some((encoding, mark)),
            _ => None,
        };
        assert_eq!(encoding(b"a"), Some((Encoding::Utf8, 0)));
        assert_eq!(encoding(b"\xEF\xBB\xBFa"), Some((Encoding::Utf8, 3)));
        assert_eq!(encoding("µ".as_bytes()), Some((Encoding::Utf8, 0)));
        assert_eq!(encoding(b"a\xC2"), Some((Encoding::Utf8, 0)));
        assert_eq!(encoding(b"t (\xB5s)"), Some((Encoding::Windows1252, 0)));
        assert_eq!(Encoding::Windows1252.decode(b"\xB5s"), "µs");
        assert_eq!(find(b"\xFF\xFEa\0"), Found::Utf16);
        assert_eq!(find(b"ab\0"), Found::Binary(2));
    }
}
