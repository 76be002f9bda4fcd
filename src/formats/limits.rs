//! Bounds that reading keeps, whatever a file says.

/// Bounds on what a file may ask for; going past one is an error of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Most lines before the first row of samples.
    pub header_lines: usize,
    /// Most columns of a table.
    pub columns: usize,
    /// Most tables that follow one another in a file.
    pub sections: usize,
    /// Most bytes in a line.
    pub line_bytes: usize,
    /// Bytes of text that one piece of work reads at a time, at least 1. Changes speed, not results.
    pub block_bytes: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            header_lines: 1000,
            columns: 256,
            sections: 10_000,
            line_bytes: 64 * 1024,
            block_bytes: 512 * 1024,
        }
    }
}
