//! Where results go: the terminal or a file, written whole or not at all.

use std::ffi::OsString;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, anyhow};
use clap::Args;

use crate::job::{self, OutError};

/// Where a result goes and in what form.
#[derive(Debug, Clone, Args)]
pub(super) struct Delivery {
    /// Write one JSON object for scripts instead of text
    #[arg(long)]
    pub(super) json: bool,
    /// Write into this file instead of the terminal, for instance result.txt
    #[arg(long, value_name = "PATH", group = "replaces")]
    out: Option<PathBuf>,
    /// Replace the file if it is there already
    #[arg(long, requires = "replaces")]
    pub(super) force: bool,
}

impl Delivery {
    /// To the terminal, as text.
    pub(super) fn to_terminal() -> Self {
        Self {
            json: false,
            out: None,
            force: false,
        }
    }

    /// The ending of the file to write, in small letters; empty without one.
    pub(super) fn ending(&self) -> String {
        self.out.as_deref().map_or_else(String::new, ending)
    }

    /// Must the text be ASCII only? Files are UTF-8 always.
    pub(super) fn ascii(&self) -> bool {
        self.out.is_none() && !terminal_is_utf8()
    }

    /// Refuses early what could not be written later.
    pub(super) fn check(&self, inputs: &[PathBuf]) -> anyhow::Result<()> {
        match &self.out {
            Some(path) => check(path, self.force, inputs),
            None => Ok(()),
        }
    }

    /// Hands over a text.
    pub(super) fn text(&self, text: &str, inputs: &[PathBuf]) -> anyhow::Result<()> {
        match &self.out {
            Some(path) => write(path, text.as_bytes(), self.force, inputs),
            None => print(text),
        }
    }

    /// Hands over an object.
    pub(super) fn object(
        &self,
        object: &serde_json::Value,
        inputs: &[PathBuf],
    ) -> anyhow::Result<()> {
        self.text(&format!("{object:#}\n"), inputs)
    }
}

/// Prints to the terminal. A reader that has seen enough and closed the pipe is no error.
pub(super) fn print(text: &str) -> anyhow::Result<()> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other.context("the terminal can't be written to"),
    }
}

/// Prints a remark beside the result; where it can't go, it is dropped.
pub(super) fn remark(text: &str) {
    drop(writeln!(
        io::stderr().lock(),
        "firstpulse: {}",
        super::clean(text)
    ));
}

fn terminal_is_utf8() -> bool {
    let first = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(std::env::var_os)
        .find(|value| !value.is_empty());
    match first {
        Some(value) => is_utf8_locale(&value),
        None => cfg!(windows),
    }
}

fn is_utf8_locale(value: &OsString) -> bool {
    let name = value.to_string_lossy().to_ascii_lowercase();
    name.contains("utf-8") || name.contains("utf8")
}

/// May `path` be written?
pub(super) fn check(path: &Path, force: bool, inputs: &[PathBuf]) -> anyhow::Result<()> {
    job::may_write(path, force, inputs).map_err(told)
}

/// Writes a file whole or not at all.
pub(super) fn write(
    path: &Path,
    bytes: &[u8],
    force: bool,
    inputs: &[PathBuf],
) -> anyhow::Result<()> {
    job::write_whole(path, bytes, force, inputs).map_err(told)
}

/// The reason with the option that helps.
fn told(error: OutError) -> anyhow::Error {
    match error {
        OutError::There(_) => anyhow!("{error}; --force replaces it"),
        other => other.into(),
    }
}

/// The ending of a path, in small letters; empty without one.
pub(super) fn ending(path: &Path) -> String {
    let ending = path.extension().map(|e| e.to_string_lossy());
    ending.map_or_else(String::new, |e| e.to_ascii_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_locale_tells_whether_the_terminal_is_utf8() {
        assert!(is_utf8_locale(&"de_DE.UTF-8".into()));
        assert!(is_utf8_locale(&"C.utf8".into()));
        assert!(!is_utf8_locale(&"C".into()));
        assert!(!is_utf8_locale(&"de_DE.ISO-8859-1".into()));
    }
}
