//! The record of a job as text: any record reads back equal, damaged ones are refused with line and key,
//! the first form is brought forward, and no path leads out of the folder.

#![expect(clippy::unwrap_used, reason = "a test may fail where it stands")]

use firstpulse::data::Setup;
use firstpulse::data::job::{Job, Run};
use firstpulse::data::typed::{Input, InputVolts};
use firstpulse::job::{self, JobError, text};
use proptest::prelude::*;

#[path = "job_record/any.rs"]
mod any;
#[path = "job_record/files.rs"]
mod files;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_record_reads_back_equal(record in any::record()) {
        let written = text::write(&record).unwrap();
        let back = text::read("job.toml", &written).unwrap();
        prop_assert_eq!(&back, &record);
        prop_assert_eq!(text::write(&back).unwrap(), written);
    }

    #[test]
    fn what_a_run_tells_the_inspection_can_be_told_back(mut record in any::record()) {
        record.controller.marking = record.controller.marking.trim().to_owned();
        let mut again = record.clone();
        for run in 0..record.runs.len() {
            let told = record.options(run).unwrap();
            again.runs[run] = Run {
                title: again.runs[run].title.clone(),
                when: again.runs[run].when,
                date: again.runs[run].date.clone(),
                condition: again.runs[run].condition.clone(),
                change_over: again.runs[run].change_over.clone(),
                shots: again.runs[run].shots.clone(),
                ..Run::default()
            };
            again.tell(run, &told);
        }
        prop_assert_eq!(again, record);
    }

    #[test]
    fn a_damaged_record_is_refused_or_another_record_and_never_panics(
        record in any::record(),
        cuts in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0_u8..4), 1..6),
    ) {
        let mut bytes = text::write(&record).unwrap().into_bytes();
        for (place, byte, how) in cuts {
            if bytes.is_empty() {
                break;
            }
            let at = place.index(bytes.len());
            match how {
                0 => bytes[at] = byte,
                1 => { bytes.remove(at); }
                2 => bytes.insert(at, byte),
                _ => bytes.truncate(at),
            }
        }
        let damaged = String::from_utf8_lossy(&bytes).into_owned();
        match text::read("job.toml", &damaged) {
            // what is taken can be kept again
            Ok(other) => { text::write(&other).unwrap(); }
            Err(JobError::Wrong { line, .. }) => {
                prop_assert!(line >= 1 && line <= damaged.lines().count() + 1);
            }
            Err(JobError::Newer { found, .. }) => prop_assert!(found > text::SCHEMA),
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}

#[test]
fn the_first_form_is_brought_forward_and_written_in_the_new_one() {
    let old = include_str!("jobs/draft/job.toml");
    let job = text::read("job.toml", old).unwrap();
    assert_eq!(job.unit.name, "GV-24");
    assert_eq!(job.complaint, "ticks and never starts");
    assert_eq!(job.controller.marking, "UC3844");
    assert_eq!(job.parts["start-resistor"].to_bits(), 164e3_f64.to_bits());
    let titles: Vec<&str> = job.runs.iter().map(|run| run.title.as_str()).collect();
    assert_eq!(titles, ["as found", "after the repair"]);
    assert_eq!(job.captures.len(), 3);
    let setups: Vec<_> = job.runs[0].shots.iter().map(|shot| shot.setup).collect();
    assert_eq!(setups, [Some(Setup::Injected), Some(Setup::Mains)]);
    let options = job.options(1).unwrap();
    assert_eq!(options.readings["bulk"].to_bits(), 0.2_f64.to_bits());
    let new = text::write(&job).unwrap();
    assert!(new.contains("\nschema = 1\n"), "{new}");
    assert_eq!(text::read("job.toml", &new).unwrap(), job);
}

#[test]
fn the_first_form_is_refused_with_line_and_key_as_well() {
    let old = include_str!("jobs/draft/job.toml").replace("setup = \"mains\"", "setup = \"man\"");
    let error = text::read("job.toml", &old).unwrap_err();
    let JobError::Wrong { line, key, .. } = &error else {
        panic!("{error}");
    };
    assert_eq!((*line, key.as_str()), (16, "groups[1].shots[2].setup"));
}

#[test]
fn deep_nesting_and_huge_files_are_refused() {
    let deep = format!(
        "schema = 1\nnotes = {}{}",
        "[".repeat(100_000),
        "]".repeat(100_000)
    );
    assert!(text::read("job.toml", &deep).is_err());
    let huge = format!("schema = 1\nnotes = \"{}\"", "x".repeat(5 * 1024 * 1024));
    assert!(text::read("job.toml", &huge).is_err());
}

#[test]
fn a_folder_without_a_record_is_no_job() {
    let folder = tempfile::tempdir().unwrap();
    assert!(!job::is_job(folder.path()));
    assert!(matches!(job::read(folder.path()), Err(JobError::Io { .. })));
    assert_eq!(job::jobs(&folder.path().join("gone")).unwrap(), []);
    let _: Job = Job::default();
}

/// What feeds the unit: the plain forms of older records, and the forms with limits.
#[test]
fn an_input_is_read_in_every_form_that_was_ever_written() {
    let read = |line: &str| text::read("job.toml", &format!("schema = 1\n{line}\n"));
    assert_eq!(read("").unwrap().input, None);
    for (line, volts, dc) in [
        ("230ac", InputVolts::Nominal(230.0), false),
        ("48dc", InputVolts::Nominal(48.0), true),
        ("230ac±6%", InputVolts::Within(230.0, 6.0), false),
        ("85..265ac", InputVolts::Between(85.0, 265.0), false),
    ] {
        let job = read(&format!("input = \"{line}\"")).unwrap();
        assert_eq!(job.input, Some(Input { dc, volts }), "{line}");
        let again = text::write(&job).unwrap();
        assert!(again.contains(&format!("input = \"{line}\"")), "{again}");
    }
    let wrong = read("input = \"230\"").unwrap_err().to_string();
    assert!(
        wrong.contains("input") && wrong.contains("230ac"),
        "{wrong}"
    );
}
