//! Text of any encoding as one byte a character, so that rows are parsed in one way.

use std::io;
use std::ops::Range;

use super::encoding::Encoding;
use crate::data::Source;

/// How the bytes of a file make text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TextForm {
    /// The encoding.
    pub encoding: Encoding,
    /// Do lines end with CR alone?
    pub cr_ends: bool,
}

impl TextForm {
    /// The encoding in which cells of a [`TextSource`] come out.
    pub fn cells(self) -> Encoding {
        match self.encoding {
            Encoding::Utf8 => Encoding::Utf8,
            _ => Encoding::Windows1252,
        }
    }
}

/// A source whose bytes are text in UTF-8 or Windows-1252, whatever the file's encoding; lines end
/// with a line feed, and zeros are blanks. Offsets are those of this text: in UTF-16 half the file's.
///
/// What Windows-1252 does not have becomes `?`: numbers, separators and the signs beside numbers are
/// kept. Names are taken from the file's own bytes by [`TextSource::decode`].
#[derive(Clone, Copy)]
pub struct TextSource<'a> {
    inner: &'a dyn Source,
    form: TextForm,
}

impl std::fmt::Debug for TextSource<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "TextSource({}, {:?})", self.inner.name(), self.form)
    }
}

impl<'a> TextSource<'a> {
    /// The text of `inner`.
    pub fn new(inner: &'a dyn Source, form: TextForm) -> Self {
        Self { inner, form }
    }

    /// The text between two offsets, without zeros; what can't be decoded becomes the replacement
    /// character.
    ///
    /// # Errors
    /// As [`Source::read_at`].
    pub fn decode(&self, range: Range<u64>) -> io::Result<String> {
        let width = if self.form.encoding.is_wide() { 2 } else { 1 };
        let count = usize::try_from((range.end.saturating_sub(range.start)) * width);
        let mut bytes = vec![0; count.unwrap_or(0)];
        let filled = self.inner.read_full_at(range.start * width, &mut bytes)?;
        bytes.truncate(filled);
        Ok(self
            .form
            .encoding
            .decode(&bytes)
            .replace(['\0', '\u{1A}'], " "))
    }

    fn read_wide(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize> {
        let mut bytes = vec![0; 2 * buffer.len()];
        let filled = self.inner.read_full_at(2 * offset, &mut bytes)?;
        let (pairs, _) = bytes.get(..filled).unwrap_or(&[]).as_chunks::<2>();
        for (to, pair) in buffer.iter_mut().zip(pairs) {
            *to = narrow(match self.form.encoding {
                Encoding::Utf16Be => u16::from_be_bytes(*pair),
                _ => u16::from_le_bytes(*pair),
            });
        }
        Ok(pairs.len())
    }
}

/// One unit of UTF-16 as a byte of Windows-1252.
fn narrow(unit: u16) -> u8 {
    match unit {
        0x00..=0x7F => unit as u8,
        0xA0..=0xFF => unit as u8,
        // Greek mu, minus sign, thin and narrow blanks between digits
        0x03BC => 0xB5,
        0x2212 => b'-',
        0x2007 | 0x2009 | 0x202F => 0xA0,
        _ => b'?',
    }
}

impl Source for TextSource<'_> {
    fn len(&self) -> u64 {
        if self.form.encoding.is_wide() {
            self.inner.len() / 2
        } else {
            self.inner.len()
        }
    }

    fn read_at(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize> {
        let filled = if self.form.encoding.is_wide() {
            self.read_wide(offset, buffer)?
        } else {
            self.inner.read_at(offset, buffer)?
        };
        let text = buffer.get_mut(..filled).unwrap_or(&mut []);
        for blank in [0, 0x1A] {
            if memchr::memchr(blank, text).is_some() {
                text.iter_mut()
                    .filter(|b| **b == blank)
                    .for_each(|b| *b = b' ');
            }
        }
        if self.form.cr_ends {
            text.iter_mut()
                .filter(|b| **b == b'\r')
                .for_each(|b| *b = b'\n');
        }
        Ok(filled)
    }

    fn name(&self) -> &str {
        self.inner.name()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::MemorySource;

    #[test]
    fn wide_text_comes_out_a_byte_a_character() {
        let text = "\u{FEFF}时 µ\n−1\u{202F}000,5\0\n";
        for encoding in [Encoding::Utf16Le, Encoding::Utf16Be] {
            let bytes: Vec<u8> = text
                .encode_utf16()
                .flat_map(|unit| match encoding {
                    Encoding::Utf16Be => unit.to_be_bytes(),
                    _ => unit.to_le_bytes(),
                })
                .collect();
            let inner = MemorySource::new("a", bytes);
            let form = TextForm {
                encoding,
                cr_ends: false,
            };
            let source = TextSource::new(&inner, form);
            let mut read = [0; 64];
            let filled = source.read_full_at(1, &mut read).expect("read");
            assert_eq!(&read[..filled], b"? \xB5\n-1\xA0000,5 \n");
            assert_eq!(source.len(), 15);
            assert_eq!(source.decode(1..4).expect("text"), "时 µ");
        }
    }

    #[test]
    fn cr_alone_ends_a_line_where_the_file_has_no_other_end() {
        let inner = MemorySource::new("a", b"1,2\r3,4\r".as_slice());
        let form = TextForm {
            encoding: Encoding::Utf8,
            cr_ends: true,
        };
        let mut read = [0; 8];
        let source = TextSource::new(&inner, form);
        assert_eq!(source.read_full_at(0, &mut read).expect("read"), 8);
        assert_eq!(&read, b"1,2\n3,4\n");
    }
}
