//! A table's file, what the reader made of it, and the truth beside it (`NAME.truth.json`).
//!
//! A truth has either `refused` (an id or a list of ids, with `line` and `says`) or `captures`, each
//! with `channels`, `notes` (parts of a note's text) and `decisions`. With `may_ask` the reader may
//! ask or refuse, but what it reads must be right. `layout` holds decisions that are told.
//!
//! A value must be within a tenth of its last printed digit (`digit`), or within the share `relative`
//! of itself where digits vary; a time within half its last printed digit (`time_digit`) where times
//! are printed with rounding, else within a millionth of the interval.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use firstpulse::data::{Capture, Channel, MemorySource, Progress, SerialRunner, Source};
use firstpulse::formats::{FileSource, FormatError, ReadOptions, read};
use serde_json::Value;

mod numbers;

/// What became of a file that did what its truth says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It was read, all of it rightly.
    Read,
    /// The reader asked for a decision.
    Asked,
    /// The reader refused it.
    Refused,
}

/// Options with the decisions that a truth tells; `block_bytes` is the stretch read at a time.
pub fn options(truth: &Value, block_bytes: usize) -> ReadOptions {
    let mut options = ReadOptions::default();
    options.limits.block_bytes = block_bytes;
    for (key, value) in truth["layout"].as_object().into_iter().flatten() {
        options = options.with(key, value.as_str().expect("a text"));
    }
    options
}

/// Every file of `folder` that has a truth beside it, by name.
pub fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).expect("folder");
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("entry").path()).collect();
    paths.retain(|path| path.extension().is_none_or(|e| e != "json"));
    paths.sort();
    paths
}

/// The truth beside `path`.
pub fn truth_of(path: &Path) -> Value {
    let beside = path.with_extension("truth.json");
    let text = std::fs::read(&beside).unwrap_or_else(|e| panic!("{}: {e}", beside.display()));
    serde_json::from_slice(&text).unwrap_or_else(|e| panic!("{}: {e}", beside.display()))
}

/// Reads a file.
pub fn read_path(path: &Path, options: &ReadOptions) -> Result<Vec<Capture>, FormatError> {
    let source: Arc<dyn Source> = Arc::new(FileSource::open(path)?);
    read(&source, options, &SerialRunner, &Progress::new())
}

/// Reads bytes as if they were a file of this name.
#[allow(dead_code)] // each test takes what it needs
pub fn read_bytes(
    name: &str,
    bytes: Vec<u8>,
    options: &ReadOptions,
) -> Result<Vec<Capture>, FormatError> {
    let source: Arc<dyn Source> = Arc::new(MemorySource::new(name, bytes));
    read(&source, options, &SerialRunner, &Progress::new())
}

/// Sets what was read, or the refusal, against the truth.
///
/// # Errors
/// The first difference, in words.
pub fn compare(
    name: &str,
    found: &Result<Vec<Capture>, FormatError>,
    truth: &Value,
) -> Result<Outcome, String> {
    match found {
        Ok(captures) => {
            if truth.get("refused").is_some() {
                return Err(format!(
                    "was read, expected {} {}",
                    truth["refused"], truth["says"]
                ));
            }
            compare_captures(captures, truth)?;
            Ok(Outcome::Read)
        }
        Err(error) => {
            let outcome = match error {
                FormatError::Ask { .. } => Outcome::Asked,
                _ => Outcome::Refused,
            };
            if truth["may_ask"] != true {
                compare_refusal(name, error, truth)?;
            }
            Ok(outcome)
        }
    }
}

fn compare_refusal(name: &str, error: &FormatError, truth: &Value) -> Result<(), String> {
    let text = error.to_string();
    let fits = match &truth["refused"] {
        Value::String(id) => id == error.id(),
        Value::Array(ids) => ids.iter().any(|id| id == error.id()),
        _ => return Err(format!("should be read: [{}] {text}", error.id())),
    };
    let wrong = |what: String| Err(format!("{what}: [{}] {text}", error.id()));
    if !fits {
        return wrong(format!("expected {}", truth["refused"]));
    }
    if !text.starts_with(name) {
        return wrong("the refusal does not name its file".to_owned());
    }
    if let Some(line) = truth["line"].as_u64()
        && !names_line(&text, line)
    {
        return wrong(format!("expected line {line}"));
    }
    match truth["says"].as_str() {
        Some(says) if !text.contains(says) => wrong(format!("expected `{says}`")),
        _ => Ok(()),
    }
}

/// Is `line 5` in the text, and not only `line 52`?
fn names_line(text: &str, line: u64) -> bool {
    let wanted = format!("line {line}");
    text.match_indices(&wanted).any(|(at, _)| {
        let after = text.as_bytes().get(at + wanted.len());
        !after.is_some_and(u8::is_ascii_digit)
    })
}

fn compare_captures(found: &[Capture], truth: &Value) -> Result<(), String> {
    let one = [truth.clone()]; // a truth without a list is about one capture
    let expected = truth["captures"].as_array().map_or(&one[..], Vec::as_slice);
    same("captures", found.len(), expected.len())?;
    for (number, (capture, truth)) in found.iter().zip(expected).enumerate() {
        let place = |problem| match expected.len() {
            1 => problem,
            _ => format!("capture {}: {problem}", number + 1),
        };
        compare_capture(capture, truth).map_err(place)?;
    }
    Ok(())
}

fn compare_capture(capture: &Capture, truth: &Value) -> Result<(), String> {
    let expected = truth["channels"].as_array().ok_or("no channels in truth")?;
    let names: Vec<_> = capture.channels.iter().map(|c| c.name.as_str()).collect();
    let wanted: Vec<_> = expected.iter().filter_map(|c| c["name"].as_str()).collect();
    if names != wanted {
        return Err(format!("channels {names:?}, expected {wanted:?}"));
    }
    for (channel, truth) in capture.channels.iter().zip(expected) {
        compare_channel(channel, truth).map_err(|e| format!("{}: {e}", channel.name))?;
    }
    compare_story(capture, truth)
}

fn compare_channel(channel: &Channel, truth: &Value) -> Result<(), String> {
    let kind = truth["kind"].as_str().unwrap_or("instant");
    same("unit", channel.unit.symbol(), text(&truth["unit"]))?;
    same("kind", channel.kind.id(), kind)?;
    same(
        "samples",
        channel.samples.len() as u64,
        count(&truth["samples"]),
    )?;
    same("times", channel.time.len(), channel.samples.len())?;
    numbers::compare_values(channel, truth)?;
    same("missing", channel.missing.count(), count(&truth["missing"]))?;
    if let Some(clipped) = truth["clipped"].as_u64() {
        same("clipped", channel.clipped.count(), clipped)?;
    }
    numbers::compare_times(&channel.time, truth)
}

fn compare_story(capture: &Capture, truth: &Value) -> Result<(), String> {
    for (what, value) in truth["decisions"].as_object().into_iter().flatten() {
        let found = capture.decisions.iter().find(|d| d.what == *what);
        let found = found.ok_or_else(|| format!("nothing decided on {what}"))?;
        same(what, found.value.as_str(), text(value))?;
        if found.why.is_empty() {
            return Err(format!("no reason for {what}"));
        }
    }
    for note in truth["notes"].as_array().into_iter().flatten() {
        let note = text(note);
        if !capture.notes.iter().any(|n| n.text.contains(note)) {
            let notes: Vec<_> = capture.notes.iter().map(|n| n.text.as_str()).collect();
            return Err(format!("no note with `{note}` in {notes:?}"));
        }
    }
    Ok(())
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or("")
}

fn count(value: &Value) -> u64 {
    value.as_u64().expect("a count in the truth")
}

/// An error when two things that should be equal are not.
fn same<T: PartialEq + std::fmt::Display>(what: &str, found: T, wanted: T) -> Result<(), String> {
    if found == wanted {
        return Ok(());
    }
    Err(format!("{what}: {found}, expected {wanted}"))
}
