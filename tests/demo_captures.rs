//! The captures that come with the program are what the model writes, to the byte.
//!
//! `FIRSTPULSE_REWRITE=1 cargo test --test demo_captures` writes them anew.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use firstpulse::data::job::{
    ChangeOver, ColdReading, Job, MainsCheck, OutputReading, PartCheck, Replaced, Soak, When,
};
use firstpulse::data::{Progress, Quantity, Setup, Source};
use firstpulse::inspect::{self, ReadOptions};
use firstpulse::job::{self, Store};
use firstpulse::startup::shots::{demo, simulate};
use serde_json::Value;

fn captures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("captures")
}

#[test]
fn committed_captures_are_what_the_model_writes() {
    let files = demo().unwrap();
    let rewrite = std::env::var_os("FIRSTPULSE_REWRITE").is_some();
    for (name, text) in &files {
        let path = captures().join(name);
        if rewrite {
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(&path, text).unwrap();
        }
        let committed = fs::read(&path).unwrap_or_default();
        assert!(committed == text.as_bytes(), "{name} differs");
        assert!(text.len() < 350_000, "{name} has {} bytes", text.len());
    }
    let known: BTreeSet<PathBuf> = files
        .iter()
        .map(|(name, _)| captures().join(name))
        .collect();
    for path in files_below(&captures()) {
        let ours = known.contains(&path)
            || path.ends_with("gv24/case.toml")
            || path.ends_with("gv24/job.toml")
            || path.ends_with("captures/example-report.html")
            || path.starts_with(captures().join("pictures"));
        assert!(ours, "{} is written by nothing", path.display());
    }
}

#[test]
fn case_names_files_that_are_there_with_the_set_up_of_their_truth() {
    let folder = captures().join("gv24");
    let case: toml::Table = fs::read_to_string(folder.join("case.toml"))
        .unwrap()
        .parse()
        .unwrap();
    let mut shots = 0;
    for group in case["groups"].as_array().unwrap() {
        assert!(group["title"].as_str().is_some());
        for shot in group["shots"].as_array().unwrap() {
            let file = shot["file"].as_str().unwrap();
            let truth = folder.join(file.replace(".csv", ".truth.json"));
            let truth: Value = serde_json::from_str(&fs::read_to_string(truth).unwrap()).unwrap();
            assert!(folder.join(file).is_file(), "{file}");
            assert_eq!(shot["setup"].as_str(), truth["setup"].as_str(), "{file}");
            assert!(Setup::from_id(shot["setup"].as_str().unwrap()).is_some());
            shots += 1;
        }
    }
    assert_eq!(shots, 5);
}

/// `case.toml` is the first form of a record; `job.toml` is the same job in the present one.
#[test]
fn the_record_of_the_demo_is_its_case_brought_forward() {
    let folder = captures().join("gv24");
    let case = fs::read_to_string(folder.join("case.toml")).unwrap();
    let mut job = job::text::read("case.toml", &case).unwrap();
    for (run, when) in job.runs.iter_mut().zip(When::ALL) {
        run.when = Some(when);
        run.change_over = ChangeOver::ALL.into_iter().collect();
    }
    repaired(&mut job);
    // a store that is never saved, for the hashes
    let copy = tempfile::tempdir().unwrap();
    let store = Store::create(copy.path(), "now").unwrap();
    for capture in &mut job.captures {
        let layout = BTreeMap::new();
        let taken = store
            .add_capture(&folder.join(&capture.file), &layout)
            .unwrap();
        capture.sha256 = taken.sha256;
    }
    let written = job::text::write(&job).unwrap();
    let path = folder.join("job.toml");
    if std::env::var_os("FIRSTPULSE_REWRITE").is_some() {
        fs::write(&path, &written).unwrap();
    }
    assert_eq!(fs::read_to_string(&path).unwrap_or_default(), written);
}

/// What was done to the invented unit, as its repairer would have entered it.
fn repaired(job: &mut Job) {
    let check = |by: &str| {
        Some(MainsCheck {
            by: by.to_owned(),
            date: "2026-11-26".to_owned(),
        })
    };
    job.mains.current_sense = check("1.1 V into CS through 1 kohm stops OUT");
    job.mains.feedback_loop = check("output held at 24 V from 0 to 2 A on a limited supply");
    job.cold = vec![ColdReading {
        place: "auxiliary diode D7".to_owned(),
        diode_volts: Some(f64::INFINITY),
        when: Some(When::Before),
        ..ColdReading::default()
    }];
    job.checked = vec![PartCheck {
        part: "R3 + R4, start resistor".to_owned(),
        kind: "resistor".to_owned(),
        marked: Some(164e3),
        tolerance: Some(0.05),
        reading: Some(163.1e3),
        ..PartCheck::default()
    }];
    job.replaced = vec![Replaced {
        part: "D7, auxiliary diode".to_owned(),
        why: "open in the diode test".to_owned(),
        with: "same type".to_owned(),
        date: "2026-11-26".to_owned(),
    }];
    job.outputs = vec![OutputReading {
        name: "24 V".to_owned(),
        nominal_volts: Some(24.0),
        tolerance: Some(0.02),
        volts: 24.06,
        load: "2 A".to_owned(),
        when: Some(When::After),
    }];
    job.soaks = vec![Soak {
        load: "2 A".to_owned(),
        minutes: 60.0,
        passed: Some(true),
        result: "output steady, no restart".to_owned(),
        date: "2026-11-26".to_owned(),
    }];
    job.work.hours = Some(1.5);
}

#[test]
fn the_record_and_the_built_in_unit_say_the_same() {
    let folder = captures().join("gv24");
    let told = |_: &dyn Source| ReadOptions::default();
    let loaded = job::load(&folder, &told, &Progress::new()).unwrap();
    let built_in = inspect::demo(&Progress::new()).unwrap();
    assert_eq!(loaded.problems, []);
    let title = format!("{}: {}", loaded.job.unit.name, loaded.job.complaint);
    assert_eq!(title, built_in.title);
    assert_eq!(loaded.case.groups.len(), built_in.groups.len());
    for (ours, theirs) in loaded.case.groups.iter().zip(&built_in.groups) {
        assert_eq!(ours.title, theirs.title);
        assert_eq!(ours.options, theirs.options);
        let files = |group: &inspect::Group| -> Vec<String> {
            group.shots.iter().map(|s| s.capture.file.clone()).collect()
        };
        assert_eq!(files(ours), files(theirs));
    }
}

#[test]
fn truth_speaks_the_words_of_the_catalogue() {
    for (name, text) in demo().unwrap() {
        if !name.ends_with(".truth.json") {
            continue;
        }
        let truth: Value = serde_json::from_str(&text).unwrap();
        for (id, value) in truth["quantities"].as_object().unwrap() {
            assert!(Quantity::from_id(id).is_some(), "{name}: {id}");
            assert!(value.is_f64(), "{name}: {id} is {value}");
        }
    }
}

#[test]
fn files_give_no_role_away_and_hold_numbers_only() {
    for (name, text) in demo().unwrap() {
        if !name.ends_with(".csv") {
            continue;
        }
        let mut lines = text.lines();
        assert_eq!(lines.next(), Some("Time (s),CH1 (V),CH2 (V)"));
        let rows: Vec<Vec<f64>> = lines
            .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
            .collect();
        assert!(
            (4_000..=10_000).contains(&rows.len()),
            "{name}: {}",
            rows.len()
        );
        let step = (rows[rows.len() - 1][0] - rows[0][0]) / (rows.len() - 1) as f64;
        for pair in rows.windows(2) {
            assert!(
                (pair[1][0] - pair[0][0] - step).abs() < 1e-6 * step.max(1e-6),
                "{name}"
            );
            assert_eq!(pair[1].len(), 3, "{name}");
        }
    }
}

#[test]
fn the_demo_ticks_before_and_runs_after() {
    let files = demo().unwrap();
    let truth = |wanted: &str| -> Value {
        let (_, text) = files.iter().find(|(name, _)| name == wanted).unwrap();
        serde_json::from_str(text).unwrap()
    };
    let before = truth("gv24/04-mains-start-before.truth.json");
    let quantities = &before["quantities"];
    assert_eq!(quantities["start_attempts"], 6.0);
    // Computed for the unit with 0.8 Ω in the capacitor: 0.22441 s; the charging of VREF, which
    // takes 0.1 ms here, moves it by less.
    assert!((quantities["hiccup_period"].as_f64().unwrap() - 0.22441).abs() < 2e-4);
    assert!(quantities.get("start_margin").is_none());
    let after = truth("gv24/05-mains-start-after.truth.json");
    assert_eq!(after["quantities"]["start_attempts"], 1.0);
    assert!((after["quantities"]["vcc_settled"].as_f64().unwrap() - 14.0).abs() < 1e-6);
    assert!((after["quantities"]["start_margin"].as_f64().unwrap() - 3.13).abs() < 0.03);
}

#[test]
fn a_seed_gives_the_same_bytes_and_another_seed_others() {
    let text = |seed| -> Vec<String> {
        let shots = simulate("vcc-leakage", seed).unwrap();
        shots.iter().map(|shot| shot.to_csv()).collect()
    };
    let first = text(5);
    assert_eq!(first, text(5));
    for (one, other) in first.iter().zip(text(6)) {
        assert_ne!(*one, other);
    }
    assert!(simulate("gremlins", 1).is_err());
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(files_below(&path));
        } else {
            found.push(path);
        }
    }
    found
}
