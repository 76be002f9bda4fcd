//! Random tables in random layouts, each with its truth, from `tests/oracle/tables.py`; and one plain
//! record written in every combination of encoding, separator, decimal mark, header and time unit.
//!
//! Reads `tests/tables`, or the folder named in the environment variable `FIRSTPULSE_TABLES`.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a test fails by panicking
#![allow(clippy::print_stderr)] // the counts are worth seeing

#[path = "csv_truth/mod.rs"]
mod csv_truth;
#[path = "csv_tables/written.rs"]
mod written;

use std::path::{Path, PathBuf};

use csv_truth::Outcome;

/// Share of all tables that must be read, asked about or not.
const READ_SHARE: f64 = 0.6;
/// Bytes read at a time: small, so that even short tables are joined from several stretches.
const STRETCH: usize = 1_000;

fn folder() -> PathBuf {
    match std::env::var_os("FIRSTPULSE_TABLES") {
        Some(folder) => folder.into(),
        None => Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/tables"),
    }
}

#[test]
fn random_tables_are_read_rightly_or_asked_about() {
    let paths = csv_truth::files(&folder());
    assert!(paths.len() >= 60, "{} tables", paths.len());
    let (mut read, mut asked, mut refused) = (0_usize, 0_usize, 0_usize);
    let mut wrong = Vec::new();
    for path in &paths {
        let name = path.file_name().expect("name").to_string_lossy();
        let truth = csv_truth::truth_of(path);
        let found = csv_truth::read_path(path, &csv_truth::options(&truth, STRETCH));
        match csv_truth::compare(&name, &found, &truth) {
            Ok(Outcome::Read) => read += 1,
            Ok(Outcome::Asked) => asked += 1,
            Ok(Outcome::Refused) => refused += 1,
            Err(problem) => wrong.push(format!("{name} ({}): {problem}", truth["made"])),
        }
    }
    let count = wrong.len();
    let counts = format!("{read} read, {asked} asked about, {refused} refused, {count} wrong");
    eprintln!("{counts}");
    assert!(wrong.is_empty(), "{counts}:\n{}", wrong.join("\n"));
    assert!(read as f64 >= READ_SHARE * paths.len() as f64, "{counts}");
}
