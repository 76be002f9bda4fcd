//! Where in a file something is wrong.

use std::ops::Range;

use super::ControllerError;

/// A file and its text, to say where something is wrong.
pub(crate) struct Place<'a> {
    pub file: &'a str,
    pub text: &'a str,
}

impl Place<'_> {
    /// An error at this span.
    pub fn wrong(&self, span: Range<usize>, key: &str, what: String) -> ControllerError {
        ControllerError::Malformed {
            file: self.file.to_owned(),
            line: self.line(span.start),
            key: key.to_owned(),
            what,
        }
    }

    /// What the TOML reader refused.
    pub fn syntax(&self, error: &toml::de::Error) -> ControllerError {
        let start = error.span().map_or(0, |span| span.start);
        self.wrong(
            start..start,
            &self.key_at(start),
            error.message().to_owned(),
        )
    }

    fn line(&self, offset: usize) -> usize {
        let before = self.text.as_bytes().iter().take(offset);
        1 + before.filter(|byte| **byte == b'\n').count()
    }

    /// The value key on the line at this offset, else the word left of the equals sign, else the
    /// whole line.
    fn key_at(&self, offset: usize) -> String {
        let line = self.text.lines().nth(self.line(offset) - 1).unwrap_or("");
        let quoted = line
            .split_once("key = \"")
            .and_then(|(_, rest)| rest.split_once('"'))
            .map(|(key, _)| key);
        let left = || line.split_once('=').map_or(line, |(left, _)| left);
        quoted.unwrap_or_else(left).trim().to_owned()
    }
}
