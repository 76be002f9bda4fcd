//! Where bytes come from: a length and positioned reads, never a whole-file buffer.

use std::io;

/// Bytes with a length that can be read from any position, from several threads at once.
pub trait Source: Send + Sync {
    /// Length in bytes.
    fn len(&self) -> u64;

    /// Reads up to `buffer.len()` bytes from `offset`. Returns how many were read; 0 at or past the end.
    ///
    /// # Errors
    /// Whatever the medium reports, for instance a stick pulled out while reading.
    fn read_at(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize>;

    /// The name to show for it (a file name without its folder).
    fn name(&self) -> &str;

    /// True when there is nothing to read.
    fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Fills `buffer` from `offset` as far as the source goes and returns the filled part's length.
    ///
    /// # Errors
    /// As [`Source::read_at`].
    fn read_full_at(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize> {
        let mut filled = 0;
        while filled < buffer.len() {
            match self.read_at(offset + filled as u64, &mut buffer[filled..]) {
                Ok(0) => break,
                Ok(count) => filled += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(filled)
    }
}

/// A source over bytes already in memory (built-in captures, tests, fuzzing).
#[derive(Debug, Clone)]
pub struct MemorySource {
    name: String,
    bytes: std::borrow::Cow<'static, [u8]>,
}

impl MemorySource {
    /// A source of these bytes under this name.
    pub fn new(name: impl Into<String>, bytes: impl Into<std::borrow::Cow<'static, [u8]>>) -> Self {
        Self {
            name: name.into(),
            bytes: bytes.into(),
        }
    }
}

impl Source for MemorySource {
    fn len(&self) -> u64 {
        self.bytes.len() as u64
    }

    fn read_at(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize> {
        let start = usize::try_from(offset)
            .unwrap_or(usize::MAX)
            .min(self.bytes.len());
        let count = buffer.len().min(self.bytes.len() - start);
        buffer[..count].copy_from_slice(&self.bytes[start..start + count]);
        Ok(count)
    }

    fn name(&self) -> &str {
        &self.name
    }
}
