//! A save is whole or has not happened: killed processes, steps that fail after any number of bytes, a
//! folder in the way, another process.
//!
//! A kill is not a power cut: what a medium loses of what it said it had written is not tested here.

#![expect(clippy::unwrap_used, reason = "a test may fail where it stands")]

use std::fs::{self, OpenOptions};
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};

use firstpulse::data::job::{Job, Replaced};
use firstpulse::job::{self, BACKUP, Disk, JobError, RECORD, RealDisk, Store};

/// A record that tells its number, long enough for more than one block.
fn numbered(number: usize) -> Job {
    let part = |i: usize| Replaced {
        part: format!("C{i}"),
        why: format!("save {number}"),
        ..Replaced::default()
    };
    Job {
        notes: number.to_string(),
        replaced: (0..200).map(part).collect(),
        ..Job::default()
    }
}

fn number_of(job: &Job) -> usize {
    let number = job.notes.parse().unwrap();
    assert_eq!(*job, numbered(number), "a mixture of two saves");
    number
}

const CHILD: &str = "FIRSTPULSE_TEST_SAVES_IN";

/// The child of the next test: saves until it is killed, and says so after each save.
#[test]
#[ignore = "run by the test below as a process of its own"]
fn child_saves_in_a_loop() {
    let Some(folder) = std::env::var_os(CHILD) else {
        return;
    };
    let opened = Store::open(Path::new(&folder), "now", false).unwrap();
    let (mut store, mut number) = (opened.store, number_of(&opened.job));
    loop {
        number += 1;
        store.save(&numbered(number)).unwrap();
        // in one piece: a kill between two writes would leave half a line
        let said = format!("saved {number}\n");
        io::stderr().write_all(said.as_bytes()).unwrap();
    }
}

#[test]
fn a_kill_at_any_moment_loses_nothing_that_was_saved() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(folder.path(), "now").unwrap();
    store.save(&numbered(0)).unwrap();
    drop(store);
    let mut cut_off = 0;
    for round in 0_usize..60 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--exact",
                "child_saves_in_a_loop",
                "--ignored",
                "--nocapture",
            ])
            .env(CHILD, folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut told = BufReader::new(child.stderr.take().unwrap());
        let mut last = None;
        for _ in 0..=round % 4 {
            last = next_told(&mut told);
        }
        // somewhere in the next save: the further the round, the later
        for _ in 0..round * 40_000 {
            std::hint::spin_loop();
        }
        child.kill().unwrap();
        child.wait().unwrap();
        while let Some(later) = next_told(&mut told) {
            last = Some(later);
        }
        let last = last.unwrap();
        let found = number_of(&job::read(folder.path()).unwrap());
        assert!(
            found >= last,
            "round {round}: {found} after {last} was saved"
        );
        let before = number_of(&job::read_backup(folder.path()).unwrap());
        assert!(
            before == found || before + 1 == found,
            "{before} before {found}"
        );
        let unfinished = parts(folder.path());
        cut_off += usize::from(unfinished > 0);
        let opened = Store::open(folder.path(), "now", false).unwrap();
        assert_eq!(opened.taken_over.unwrap().process, child.id());
        assert_eq!(parts(folder.path()), 0, "what was cut off is taken away");
    }
    assert!(cut_off > 0, "no kill fell into a save");
}

/// The number of the next save that the child said it had made; nothing at the end, and nothing for a
/// line that a kill cut off.
fn next_told(told: &mut impl BufRead) -> Option<usize> {
    let mut line = String::new();
    told.read_line(&mut line).unwrap();
    let number = line.strip_suffix('\n')?.strip_prefix("saved ").unwrap();
    Some(number.parse().unwrap())
}

fn parts(folder: &Path) -> usize {
    let names = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name());
    names
        .filter(|name| name.to_string_lossy().ends_with(".part"))
        .count()
}

/// A medium that does so many bytes and steps, and then fails.
struct Failing {
    left: AtomicU64,
    /// Whether every later step fails too, as when the stick is pulled out; else only writing does, as
    /// when it is full.
    gone: bool,
}

impl Failing {
    fn take(&self, count: u64) -> u64 {
        let left = self.left.load(Ordering::Relaxed);
        self.left
            .store(left.saturating_sub(count), Ordering::Relaxed);
        left.min(count)
    }

    fn step(&self) -> io::Result<()> {
        if self.gone && self.take(1) == 0 {
            return Err(io::Error::other("the medium is gone"));
        }
        Ok(())
    }
}

impl Disk for Failing {
    fn create(&self, path: &Path, bytes: &mut dyn Read) -> io::Result<()> {
        let mut all = Vec::new();
        bytes.read_to_end(&mut all)?;
        let fits = self.take(all.len() as u64 + 1);
        if fits == 0 {
            return Err(io::ErrorKind::StorageFull.into());
        }
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        let fits = usize::try_from(fits).unwrap() - 1;
        file.write_all(&all[..fits])?;
        if fits < all.len() {
            return Err(io::ErrorKind::StorageFull.into());
        }
        Ok(())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.step()?;
        RealDisk.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.step()?;
        RealDisk.remove(path)
    }

    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        self.step()
    }
}

fn small(complaint: &str) -> Job {
    Job {
        complaint: complaint.to_owned(),
        ..Job::default()
    }
}

#[test]
fn a_medium_that_fails_at_any_byte_or_step_leaves_the_old_record_or_the_new_one() {
    for gone in [false, true] {
        let folder = tempfile::tempdir().unwrap();
        let (old, new) = (small("old"), small("new"));
        let mut store = Store::create(folder.path(), "now").unwrap();
        store.save(&old).unwrap();
        drop(store);
        let (mut failed, mut saved) = (0, false);
        for left in 0..5000 {
            let opened = Store::open(folder.path(), "now", false).unwrap();
            let left = AtomicU64::new(left);
            let mut store = opened.store.on(Box::new(Failing { left, gone }));
            let outcome = store.save(&new);
            let found = job::read(folder.path()).unwrap();
            match outcome {
                Ok(()) => {
                    assert_eq!(found, new);
                    assert_eq!(job::read_backup(folder.path()).unwrap(), old);
                    saved = true;
                }
                // only where the very last step failed is it the new one already
                Err(_) if found == new => assert_eq!(job::read_backup(folder.path()).unwrap(), old),
                Err(error) => {
                    assert_eq!(found, old, "{error}");
                    failed += 1;
                }
            }
            if found == new {
                // back to the old one for the next step
                drop(store);
                let mut store = Store::open(folder.path(), "now", false).unwrap().store;
                store.save(&old).unwrap();
            }
            if saved {
                break;
            }
        }
        assert!(saved, "never enough");
        let length = fs::read(folder.path().join(RECORD)).unwrap().len();
        assert!(
            failed > 2 * length,
            "{failed} failures in two files of {length} bytes"
        );
    }
}

#[test]
fn after_a_full_disk_the_same_store_saves_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(folder.path(), "now").unwrap();
    store.save(&small("old")).unwrap();
    let full = Failing {
        left: AtomicU64::new(100),
        gone: false,
    };
    let mut store = store.on(Box::new(full));
    let error = store.save(&small("new")).unwrap_err();
    assert!(matches!(&error, JobError::Io { .. }), "{error}");
    assert!(error.to_string().contains(RECORD), "{error}");
    assert_eq!(parts(folder.path()), 0);
    let mut store = store.on(Box::new(RealDisk));
    store.save(&small("new")).unwrap();
    assert_eq!(job::read(folder.path()).unwrap(), small("new"));
}

#[test]
fn a_folder_in_the_way_of_the_new_file_leaves_the_old_record() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(folder.path(), "now").unwrap();
    store.save(&small("old")).unwrap();
    let before = fs::read(folder.path().join(RECORD)).unwrap();
    let name = format!(".job-new.{}.part", std::process::id());
    fs::create_dir(folder.path().join(&name)).unwrap();
    assert!(store.save(&small("new")).is_err());
    assert_eq!(fs::read(folder.path().join(RECORD)).unwrap(), before);
    fs::remove_dir(folder.path().join(&name)).unwrap();
    fs::create_dir(folder.path().join(BACKUP)).unwrap();
    assert!(store.save(&small("new")).is_err());
    assert_eq!(fs::read(folder.path().join(RECORD)).unwrap(), before);
}

#[test]
fn what_somebody_else_wrote_is_not_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(folder.path(), "now").unwrap();
    store.save(&small("ours")).unwrap();
    let path = folder.path().join(RECORD);
    let theirs = fs::read_to_string(&path).unwrap().replace("ours", "theirs");
    fs::write(&path, &theirs).unwrap();
    let outcome = store.save(&small("ours again"));
    assert!(
        matches!(outcome, Err(JobError::ChangedOutside { .. })),
        "{outcome:?}"
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), theirs);
}

#[test]
fn a_later_schema_and_a_damaged_record_stay_as_they_are() {
    for text in [
        "schema = 7\nnew = \"yes\"\n",
        "schema = 1\nunit = 3\n",
        "\u{0}\u{1}",
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(RECORD);
        fs::write(&path, text).unwrap();
        assert!(Store::open(folder.path(), "now", true).is_err());
        assert!(matches!(
            Store::create(folder.path(), "now"),
            Err(JobError::Exists { .. })
        ));
        assert_eq!(fs::read_to_string(&path).unwrap(), text);
        assert_eq!(
            fs::read_dir(folder.path()).unwrap().count(),
            1,
            "no lock is left"
        );
    }
}

#[test]
fn two_processes_on_one_job_are_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::create(folder.path(), "now").unwrap();
    store.save(&numbered(0)).unwrap();
    let output = Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "child_saves_in_a_loop",
            "--ignored",
            "--nocapture",
        ])
        .env(CHILD, folder.path())
        .output()
        .unwrap();
    assert!(!output.status.success());
    let told = String::from_utf8_lossy(&output.stderr) + String::from_utf8_lossy(&output.stdout);
    assert!(told.contains("InUse"), "{told}");
    assert!(
        told.contains(&format!("process {}", std::process::id())),
        "{told}"
    );
    store.save(&numbered(1)).unwrap();
}
