//! Where results go: the terminal or a file, written whole or not at all.

use std::ffi::OsString;
use std::fs::OpenOptions;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use clap::Args;

use super::shown;

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
    let Ok(meta) = std::fs::metadata(path) else {
        return Ok(());
    };
    if meta.is_dir() {
        bail!("{}: is a folder, a file name was expected", shown(path));
    }
    if inputs.iter().any(|input| same_file(path, input)) {
        bail!(
            "{}: is one of the files to read, which are never overwritten",
            shown(path)
        );
    }
    if meta.is_file() && !force {
        bail!("{}: is there already; --force replaces it", shown(path));
    }
    Ok(())
}

/// The ending of a path, in small letters; empty without one.
pub(super) fn ending(path: &Path) -> String {
    let ending = path.extension().map(|e| e.to_string_lossy());
    ending.map_or_else(String::new, |e| e.to_ascii_lowercase())
}

fn same_file(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        if let (Ok(a), Ok(b)) = (std::fs::metadata(a), std::fs::metadata(b)) {
            return a.dev() == b.dev() && a.ino() == b.ino();
        }
    }
    matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}

/// Writes a file whole or not at all: into a new file beside it, which then takes its name.
pub(super) fn write(
    path: &Path,
    bytes: &[u8],
    force: bool,
    inputs: &[PathBuf],
) -> anyhow::Result<()> {
    check(path, force, inputs)?;
    let problem = || format!("{}: can't be written", shown(path));
    if std::fs::metadata(path).is_ok_and(|meta| !meta.is_file()) {
        // a pipe or a device has nothing to keep and can't be replaced by a name
        return OpenOptions::new()
            .write(true)
            .open(path)
            .and_then(|mut f| f.write_all(bytes))
            .with_context(problem);
    }
    let beside = beside(path);
    let written = fill(&beside, bytes).and_then(|()| std::fs::rename(&beside, path));
    if written.is_err() {
        drop(std::fs::remove_file(&beside));
    }
    written.with_context(problem)
}

fn fill(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn beside(path: &Path) -> PathBuf {
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    path.with_file_name(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_never_replaced_unasked_and_an_input_never() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write(&path, b"one", false, &[]).unwrap();
        assert!(write(&path, b"two", false, &[]).is_err());
        assert_eq!(std::fs::read(&path).unwrap(), b"one");
        let input = folder.path().join("./a.txt");
        assert!(write(&path, b"two", true, &[input]).is_err());
        assert_eq!(std::fs::read(&path).unwrap(), b"one");
        write(&path, b"two", true, &[]).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"two");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_locale_tells_whether_the_terminal_is_utf8() {
        assert!(is_utf8_locale(&"de_DE.UTF-8".into()));
        assert!(is_utf8_locale(&"C.utf8".into()));
        assert!(!is_utf8_locale(&"C".into()));
        assert!(!is_utf8_locale(&"de_DE.ISO-8859-1".into()));
    }
}
