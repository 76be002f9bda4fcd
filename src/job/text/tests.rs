use super::*;
use crate::data::job::{CaptureFile, ColdReading, Run, RunShot};

const LEAST: &str =
    "schema = 1\n\n[[runs]]\ntitle = \"as found\"\n\n[[runs.shots]]\nfile = \"captures/a.csv\"\n";

fn refused(text: &str) -> (usize, String, String) {
    match read("job.toml", text).unwrap_err() {
        JobError::Wrong {
            line,
            key,
            what,
            path,
        } => {
            assert_eq!(path, "job.toml");
            (line, key, what)
        }
        other => panic!("{other}"),
    }
}

#[test]
fn what_is_wrong_is_named_by_line_and_key() {
    let with = |line: &str| LEAST.replace("file = ", &format!("{line}\nfile = "));
    let cases = [
        (with("colour = 1"), 7, "runs[1].shots[1].colour"),
        (with("setup = \"sideways\""), 7, "runs[1].shots[1].setup"),
        (with("capture = 0"), 7, "runs[1].shots[1].capture"),
        (with("capture = \"1\""), 7, "runs[1].shots[1].capture"),
        (
            LEAST.replace("captures/a.csv", "../a.csv"),
            7,
            "runs[1].shots[1].file",
        ),
        (
            LEAST.replace("captures/a.csv", "/a.csv"),
            7,
            "runs[1].shots[1].file",
        ),
        (
            LEAST.replace("title = \"as found\"\n", ""),
            3,
            "runs[1].title",
        ),
        (
            LEAST.replace("schema = 1", "schema = 1\nopened = \"26.11.2026\""),
            2,
            "opened",
        ),
        (
            LEAST.replace("schema = 1", "schema = 1\nopened = 2026-11-26"),
            2,
            "opened",
        ),
        (
            LEAST.replace("schema = 1", "schema = 1\n[parts]\nrx = 1"),
            3,
            "parts.rx",
        ),
        (
            LEAST.replace("schema = 1", "schema = 1\n[parts]\nrt = nan"),
            3,
            "parts.rt",
        ),
        (
            LEAST
                .replace("schema = 1", "schema = 1\nruns = 3")
                .split("\n[[")
                .next()
                .unwrap()
                .to_owned(),
            2,
            "runs",
        ),
        (LEAST.replace("schema = 1", "schema = \"1\""), 1, "schema"),
        (LEAST.replace("schema = 1", "schema = -1"), 1, "schema"),
        (LEAST.replace("schema = 1\n", ""), 1, "schema"),
        (String::new(), 1, "schema"),
        (
            LEAST.replace("[[runs]]", "unit = \"x\"\n[[runs]]"),
            3,
            "unit",
        ),
    ];
    for (text, line, key) in cases {
        let found = refused(&text);
        assert_eq!(
            (found.0, found.1.as_str()),
            (line, key),
            "{text}\n{}",
            found.2
        );
        assert!(found.2.contains(key), "{}", found.2);
    }
}

#[test]
fn a_record_of_a_later_schema_is_not_looked_into() {
    let error = read("job.toml", "schema = 2\nwhatever = 1\n").unwrap_err();
    let expected = JobError::Newer {
        path: "job.toml".to_owned(),
        found: 2,
    };
    assert_eq!(error, expected);
}

#[test]
fn what_has_no_form_is_not_written() {
    let good = Job::default();
    assert!(write(&good).is_ok());
    let bad: [fn(&mut Job); 6] = [
        |job| job.opened = "yesterday".to_owned(),
        |job| job.parts = [("rt".to_owned(), f64::NAN)].into(),
        |job| job.work.cost = Some(f64::INFINITY),
        |job| job.work.currency = "euro".to_owned(),
        |job| {
            job.captures = vec![CaptureFile {
                file: "../a.csv".to_owned(),
                ..CaptureFile::default()
            }];
        },
        |job| job.scope_channels = Some(0),
    ];
    for spoil in bad {
        let mut job = good.clone();
        spoil(&mut job);
        let outcome = write(&job);
        assert!(
            matches!(outcome, Err(JobError::Unwritable { .. })),
            "{outcome:?}"
        );
    }
}

#[test]
fn an_open_circuit_is_kept_as_one() {
    let job = Job {
        cold: vec![ColdReading {
            place: "fuse".to_owned(),
            ohms: Some(f64::INFINITY),
            ..ColdReading::default()
        }],
        ..Job::default()
    };
    let text = write(&job).unwrap();
    assert!(text.contains("ohms = inf"), "{text}");
    assert_eq!(read("job.toml", &text).unwrap(), job);
}

#[test]
fn the_text_is_stable_and_in_the_order_of_the_description() {
    let run = Run {
        title: "as found".to_owned(),
        shots: vec![RunShot {
            file: "captures/a.csv".to_owned(),
            ..RunShot::default()
        }],
        ..Run::default()
    };
    let job = Job {
        complaint: "ticks\nand never starts".to_owned(),
        parts: [("rt".to_owned(), 13e3), ("ct".to_owned(), 1e-9)].into(),
        runs: vec![run],
        ..Job::default()
    };
    let text = write(&job).unwrap();
    let (comments, body): (Vec<&str>, Vec<&str>) = text.lines().partition(|l| l.starts_with('#'));
    assert!(comments.len() > 2);
    assert_eq!(
        body.join("\n").trim(),
        "schema = 1\ncomplaint = \"\"\"\nticks\nand never starts\"\"\"\n\n[parts]\nct = 1e-9\nrt = 13000.0\n\n[[runs]]\ntitle = \"as found\"\n\n[[runs.shots]]\nfile = \"captures/a.csv\""
    );
}
