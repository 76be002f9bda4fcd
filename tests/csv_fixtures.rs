//! Reads every file in `tests/fixtures/csv` and sets all of it against the truth beside it.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a test fails by panicking

#[path = "csv_truth/mod.rs"]
mod csv_truth;
#[path = "csv_fixtures/mutations.rs"]
mod mutations;

use std::path::{Path, PathBuf};

/// Bytes read at a time: small stretches, so that even short files are joined from several.
const STRETCHES: [usize; 2] = [200, 1 << 20];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/csv")
}

#[test]
fn every_file_is_read_or_refused_as_its_truth_says() {
    let paths = csv_truth::files(&folder());
    assert!(paths.len() >= 150, "{} files", paths.len());
    let mut wrong = Vec::new();
    for path in &paths {
        let name = path.file_name().expect("name").to_string_lossy();
        let truth = csv_truth::truth_of(path);
        for bytes in STRETCHES {
            let found = csv_truth::read_path(path, &csv_truth::options(&truth, bytes));
            if let Err(problem) = csv_truth::compare(&name, &found, &truth) {
                wrong.push(format!("{name}: {problem}"));
                break;
            }
        }
    }
    let (count, all) = (wrong.len(), paths.len());
    assert!(
        wrong.is_empty(),
        "{count} of {all} files:\n{}",
        wrong.join("\n")
    );
}
