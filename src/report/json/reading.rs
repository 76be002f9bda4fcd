//! The object of `read`: how each file was understood.

use serde_json::{Value, json};

use super::channel::channel;
use super::{map_of, with_schema};
use crate::data::{Decision, Note};
use crate::report::{FileReading, Shown};

/// What reading some files gave. Files that failed are under `errors` only.
pub fn reading(files: &[FileReading]) -> Value {
    let read: Vec<Value> = files
        .iter()
        .filter(|file| file.failure().is_none())
        .map(one_file)
        .collect();
    let errors: Vec<Value> = files
        .iter()
        .filter_map(|file| Some(json!({"file": file.file, "error": file.failure()?})))
        .collect();
    with_schema(map_of(json!({"files": read, "errors": errors})))
}

fn one_file(file: &FileReading) -> Value {
    let captures = file.captures();
    let format = captures.first().map(|shown| shown.capture.format);
    json!({
        "file": file.file,
        "format": format,
        "decisions": gathered(captures, |shown| shown.capture.decisions.iter().map(decision).collect()),
        "notes": gathered(captures, |shown| shown.capture.notes.iter().map(note).collect()),
        "captures": captures.iter().map(capture).collect::<Vec<_>>(),
    })
}

/// Entries of all captures of a file, each once: captures of one file share most of them.
fn gathered(captures: &[Shown], of: impl Fn(&Shown) -> Vec<Value>) -> Vec<Value> {
    let mut all: Vec<Value> = Vec::new();
    for entry in captures.iter().flat_map(of) {
        if !all.contains(&entry) {
            all.push(entry);
        }
    }
    all
}

fn capture(shown: &Shown) -> Value {
    let channels: Vec<Value> = shown
        .capture
        .channels
        .iter()
        .enumerate()
        .map(|(index, c)| channel(c, shown.facts.get(index).map(AsRef::as_ref)))
        .collect();
    json!({"channels": channels})
}

pub(super) fn decision(decision: &Decision) -> Value {
    json!({"what": decision.what, "value": decision.value, "why": decision.why})
}

pub(super) fn note(note: &Note) -> Value {
    json!({"text": note.text, "line": note.line})
}
