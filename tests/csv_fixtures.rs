//! Reads every file in `tests/fixtures/csv` and sets it against the truth beside it.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a test fails by panicking

#[path = "csv_fixtures/mutations.rs"]
mod mutations;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use firstpulse::data::{Capture, Progress, SerialRunner, Source};
use firstpulse::formats::{FileSource, FormatError, ReadOptions, read};
use serde_json::Value;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/csv")
}

fn options(truth: &Value) -> ReadOptions {
    let mut options = ReadOptions::default();
    // small stretches, so that even short files are joined from several
    options.limits.block_bytes = 200;
    if let Some(layout) = truth.get("layout").and_then(Value::as_object) {
        for (key, value) in layout {
            options = options.with(key, value.as_str().expect("a text"));
        }
    }
    options
}

fn read_file(path: &Path, options: &ReadOptions) -> Result<Capture, FormatError> {
    let source: Arc<dyn Source> = Arc::new(FileSource::open(path)?);
    let captures = read(&source, options, &SerialRunner, &Progress::new())?;
    assert_eq!(captures.len(), 1);
    Ok(captures.into_iter().next().expect("one capture"))
}

fn check_refusal(name: &str, error: &FormatError, truth: &Value) {
    let text = error.to_string();
    assert_eq!(truth["refused"], error.id(), "{name}: {text}");
    assert!(text.starts_with(name), "{name}: {text}");
    if let Some(line) = truth.get("line").and_then(Value::as_u64) {
        assert!(text.contains(&format!("line {line}")), "{name}: {text}");
    }
    if let Some(says) = truth.get("says").and_then(Value::as_str) {
        assert!(text.contains(says), "{name}: {text}");
    }
}

/// The printed value and what was read: the same to a tenth of the seventh digit.
fn near(found: Option<f64>, truth: &Value) -> bool {
    match (found, truth.as_f64()) {
        (Some(found), Some(truth)) => (found - truth).abs() <= 1e-7 * truth.abs() + 1e-12,
        (found, None) => found.is_some_and(f64::is_nan),
        (None, _) => false,
    }
}

fn check_channels(name: &str, capture: &Capture, truth: &Value) {
    let expected = truth["channels"].as_array().expect("channels");
    assert_eq!(capture.channels.len(), expected.len(), "{name}");
    for (channel, truth) in capture.channels.iter().zip(expected) {
        let samples = channel.samples.len();
        assert_eq!(truth["name"], channel.name.as_str(), "{name}");
        assert_eq!(truth["unit"], channel.unit.symbol(), "{name}");
        assert_eq!(truth["samples"], samples, "{name}");
        assert_eq!(truth["missing"], channel.missing.count(), "{name}");
        let (first, last) = (channel.samples.at(0), channel.samples.at(samples - 1));
        assert!(near(first, &truth["first"]), "{name}: first {first:?}");
        assert!(near(last, &truth["last"]), "{name}: last {last:?}");
        assert_eq!(channel.time.len(), samples, "{name}");
    }
}

fn check_time(name: &str, capture: &Capture, truth: &Value) {
    let time = &capture.channels[0].time;
    assert_eq!(truth["uniform"], time.is_uniform(), "{name}");
    let (start, step) = (time.start_s(), time.interval_s());
    let (start_true, step_true) = (
        truth["start_s"].as_f64().expect("start_s"),
        truth["interval_s"].as_f64().expect("interval_s"),
    );
    assert!(
        (start - start_true).abs() < 0.51 * step_true,
        "{name}: {start}"
    );
    assert!(
        (step / step_true - 1.0).abs() < 1e-5,
        "{name}: {step} for {step_true}"
    );
}

fn check_story(name: &str, capture: &Capture, truth: &Value) {
    if let Some(decisions) = truth.get("decisions").and_then(Value::as_object) {
        for (what, value) in decisions {
            let found = capture.decisions.iter().find(|d| d.what == *what);
            let found = found.unwrap_or_else(|| panic!("{name}: nothing decided on {what}"));
            assert_eq!(value, found.value.as_str(), "{name}: {what}");
            assert!(!found.why.is_empty(), "{name}: {what}");
        }
    }
    if let Some(notes) = truth.get("notes").and_then(Value::as_array) {
        for note in notes.iter().filter_map(Value::as_str) {
            assert!(
                capture.notes.iter().any(|n| n.text == note),
                "{name}: {note}"
            );
        }
    }
}

#[test]
fn every_file_is_read_or_refused_as_its_truth_says() {
    let mut seen = 0;
    for entry in std::fs::read_dir(folder()).expect("folder") {
        let path = entry.expect("entry").path();
        let name = path
            .file_name()
            .expect("name")
            .to_string_lossy()
            .into_owned();
        if name.ends_with(".json") {
            continue;
        }
        let truth = std::fs::read(path.with_extension("truth.json")).expect(&name);
        let truth: Value = serde_json::from_slice(&truth).expect(&name);
        match read_file(&path, &options(&truth)) {
            Ok(capture) => {
                assert!(truth.get("refused").is_none(), "{name} was read");
                check_channels(&name, &capture, &truth);
                check_time(&name, &capture, &truth);
                check_story(&name, &capture, &truth);
            }
            Err(error) => {
                assert!(truth.get("refused").is_some(), "{name}: {error}");
                check_refusal(&name, &error, &truth);
            }
        }
        seen += 1;
    }
    assert!(seen >= 12, "{seen} files");
}
