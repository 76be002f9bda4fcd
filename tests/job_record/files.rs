//! Captures and pictures of a job: copied as they came, and missed or found altered where they are.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use firstpulse::data::job::{CaptureFile, Job, Run, RunShot};
use firstpulse::data::{Progress, Source};
use firstpulse::inspect::ReadOptions;
use firstpulse::job::{self, JobError, ProblemKind, Store, problems};

const TABLE: &str = "Time (s),CH1 (V)\n0,1\n1,2\n2,3\n";

fn write(folder: &Path, name: &str, text: impl AsRef<[u8]>) -> std::path::PathBuf {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(&path, text).unwrap();
    path
}

fn with_capture(store: &mut Store, from: &Path) -> Job {
    let capture = store.add_capture(from, &BTreeMap::new()).unwrap();
    let run = Run {
        title: "as found".to_owned(),
        shots: vec![RunShot {
            file: capture.file.clone(),
            ..RunShot::default()
        }],
        ..Run::default()
    };
    let job = Job {
        captures: vec![capture],
        runs: vec![run],
        ..Job::default()
    };
    store.save(&job).unwrap();
    job
}

#[test]
fn captures_are_copied_as_they_came_and_never_over_each_other() {
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let store = Store::create(folder.path(), "now").unwrap();
    let one = write(outside.path(), "a/sweep.csv", TABLE);
    let same = write(outside.path(), "b/sweep.csv", TABLE);
    let other = write(outside.path(), "c/sweep.csv", "t,a\n0,1\n");
    let added = |path: &Path| store.add_capture(path, &BTreeMap::new()).unwrap();
    let first = added(&one);
    assert_eq!(first.file, "captures/sweep.csv");
    assert_eq!(
        fs::read(folder.path().join(&first.file)).unwrap(),
        TABLE.as_bytes()
    );
    assert_eq!(added(&same), first);
    let second = added(&other);
    assert_eq!(second.file, "captures/sweep-2.csv");
    assert_ne!(second.sha256, first.sha256);
    // one that lies in the folder already stays where it is
    let inside = write(folder.path(), "notes/own.csv", TABLE);
    assert_eq!(added(&inside).file, "notes/own.csv");
}

#[test]
fn a_moved_and_an_altered_capture_are_told() {
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(folder.path(), "now").unwrap();
    let job = with_capture(&mut store, &write(outside.path(), "sweep.csv", TABLE));
    assert_eq!(problems(folder.path(), &job), []);
    let path = folder.path().join("captures/sweep.csv");
    fs::write(&path, TABLE.replace("1,2", "1,9")).unwrap();
    let found = problems(folder.path(), &job);
    assert_eq!((found.len(), found[0].kind), (1, ProblemKind::Altered));
    assert_eq!(found[0].file, "captures/sweep.csv");
    // it is read all the same, and said
    let told = |_: &dyn Source| ReadOptions::default();
    let loaded = job::load(folder.path(), &told, &Progress::new()).unwrap();
    assert_eq!(loaded.case.groups[0].shots.len(), 1);
    assert_eq!(loaded.problems, found);
    fs::rename(&path, folder.path().join("elsewhere.csv")).unwrap();
    let loaded = job::load(folder.path(), &told, &Progress::new()).unwrap();
    assert!(loaded.case.groups.is_empty());
    assert_eq!(loaded.problems.len(), 1);
    assert_eq!(loaded.problems[0].kind, ProblemKind::Missing);
    // the record still names it
    assert_eq!(job::read(folder.path()).unwrap(), job);
}

#[test]
fn a_hash_that_was_never_taken_is_told() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "a.csv", TABLE);
    let job = Job {
        captures: vec![CaptureFile {
            file: "a.csv".to_owned(),
            ..CaptureFile::default()
        }],
        ..Job::default()
    };
    assert_eq!(problems(folder.path(), &job)[0].kind, ProblemKind::NoHash);
}

#[cfg(unix)]
#[test]
fn no_link_leads_out_of_the_folder() {
    use std::os::unix::fs::symlink;
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let secret = write(outside.path(), "secret.csv", TABLE);
    write(folder.path(), "captures/in.csv", TABLE);
    symlink(&secret, folder.path().join("captures/out.csv")).unwrap();
    symlink(outside.path(), folder.path().join("away")).unwrap();
    symlink("in.csv", folder.path().join("captures/near.csv")).unwrap();
    let named = |file: &str| CaptureFile {
        file: file.to_owned(),
        ..CaptureFile::default()
    };
    let kind = |file: &str| {
        let job = Job {
            captures: vec![named(file)],
            ..Job::default()
        };
        problems(folder.path(), &job)[0].clone()
    };
    for file in ["captures/out.csv", "away/secret.csv"] {
        let problem = kind(file);
        assert_eq!(problem.kind, ProblemKind::Missing, "{file}");
        assert!(problem.text.contains("leads out"), "{}", problem.text);
    }
    assert_eq!(kind("captures/near.csv").kind, ProblemKind::NoHash);
    assert_eq!(kind("captures").kind, ProblemKind::Missing);
}

#[cfg(unix)]
#[test]
fn nothing_is_written_through_a_link_that_leads_out() {
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let from = write(outside.path(), "sweep.csv", TABLE);
    let away = outside.path().join("away");
    fs::create_dir(&away).unwrap();
    std::os::unix::fs::symlink(&away, folder.path().join("captures")).unwrap();
    let store = Store::create(folder.path(), "now").unwrap();
    let outcome = store.add_capture(&from, &BTreeMap::new());
    assert!(
        matches!(outcome, Err(JobError::Refused { .. })),
        "{outcome:?}"
    );
    assert_eq!(fs::read_dir(&away).unwrap().count(), 0);
}

#[test]
fn pictures_are_known_by_their_first_bytes() {
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let store = Store::create(folder.path(), "now").unwrap();
    let png = write(outside.path(), "board.jpeg", b"\x89PNG\r\n\x1a\nrest");
    let jpg = write(outside.path(), "screen", b"\xff\xd8\xff\xe0rest");
    assert_eq!(
        store.add_picture(&png, "board").unwrap().file,
        "pictures/board.png"
    );
    assert_eq!(
        store.add_picture(&jpg, "").unwrap().file,
        "pictures/screen.jpg"
    );
    for (name, bytes) in [
        ("a.png", &b"GIF89a"[..]),
        ("b.jpg", b""),
        ("c.png", b"\x89PNG"),
    ] {
        let path = write(outside.path(), name, bytes);
        assert!(store.add_picture(&path, "").is_err(), "{name}");
    }
    assert!(store.add_picture(folder.path(), "").is_err());
}

#[test]
fn a_job_is_saved_elsewhere_with_its_files_and_nothing_is_replaced() {
    let outside = tempfile::tempdir().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(folder.path(), "now").unwrap();
    let mut job = with_capture(&mut store, &write(outside.path(), "sweep.csv", TABLE));
    job.captures.push(CaptureFile {
        file: "captures/gone.csv".to_owned(),
        ..CaptureFile::default()
    });
    let to = outside.path().join("copy");
    let (copy, missing) = store.save_as(&job, &to, "now").unwrap();
    assert_eq!(missing.len(), 1);
    assert!(missing[0].contains("gone.csv"), "{missing:?}");
    assert_eq!(job::read(&to).unwrap(), job);
    assert_eq!(
        fs::read(to.join("captures/sweep.csv")).unwrap(),
        TABLE.as_bytes()
    );
    drop(copy);
    let again = store.save_as(&job, &to, "now").map(|_| ());
    assert!(matches!(again, Err(JobError::Exists { .. })), "{again:?}");
    let taken = outside.path().join("taken");
    write(&taken, "captures/sweep.csv", "another");
    let refused = store.save_as(&job, &taken, "now").map(|_| ());
    assert!(
        matches!(refused, Err(JobError::Refused { .. })),
        "{refused:?}"
    );
    assert!(!job::is_job(&taken));
    assert_eq!(
        fs::read_to_string(taken.join("captures/sweep.csv")).unwrap(),
        "another"
    );
}

#[test]
fn jobs_of_a_folder_come_by_their_dates_and_damaged_ones_last() {
    let folder = tempfile::tempdir().unwrap();
    for (name, changed) in [("a", "2026-11-01"), ("b", "2026-11-20"), ("c", "")] {
        let mut store = Store::create(&folder.path().join(name), "now").unwrap();
        let job = Job {
            opened: "2026-11-10".to_owned(),
            changed: changed.to_owned(),
            ..Job::default()
        };
        store.save(&job).unwrap();
    }
    write(folder.path(), "d/job.toml", "schema = 1\ncolour = 2\n");
    write(folder.path(), "e/other.toml", "");
    let listed = job::jobs(folder.path()).unwrap();
    let names: Vec<_> = listed
        .iter()
        .map(|l| l.folder.file_name().unwrap())
        .collect();
    assert_eq!(names, ["b", "c", "a", "d"]);
    let why = listed[3].job.as_ref().unwrap_err().to_string();
    assert!(why.contains("job.toml, line 2: colour"), "{why}");
}
