//! A folder with a record is a job: inspected run by run, kept by `--save-job`, told where a file of it
//! is not as it was.

use std::fs;
use std::path::Path;

use serde_json::Value;

use super::{outcome, path};

const SWEEP: &str = "captures/gv24/01-sweep-vcc-vref.csv";
const START: &str = "captures/gv24/04-mains-start-before.csv";

fn kept(folder: &Path, more: &[&str]) -> String {
    let job = path(folder, "job");
    let args = ["inspect", SWEEP, START, "--save-job", &job];
    let (code, out, err) = outcome(&[&args[..], more].concat());
    assert!(code < 2 || code == 3, "{err}");
    assert!(
        out.contains("START-UP ORDER") && err.contains("is kept in"),
        "{err}"
    );
    job
}

fn object(args: &[&str]) -> (i32, Value) {
    let (code, out, err) = outcome(args);
    (
        code,
        serde_json::from_str(&out).unwrap_or_else(|_| panic!("{err}")),
    )
}

const TOLD: [&str; 12] = [
    "--controller",
    "UC3844",
    "--part",
    "rt=13k",
    "--role",
    "1:1=vcc",
    "--reading",
    "bulk=0.2V",
    "--probe",
    "2:2=1",
    "--meter",
    "0.5%+10mV",
];

#[test]
fn a_kept_job_gives_what_its_files_and_options_gave() {
    let folder = tempfile::tempdir().unwrap();
    let job = kept(folder.path(), &TOLD);
    let (code, from_job) = object(&["inspect", &job, "--json"]);
    let (expected, from_files) =
        object(&[&["inspect", SWEEP, START, "--json"][..], &TOLD].concat());
    assert_eq!(code, expected);
    for key in [
        "measured",
        "stages",
        "suspects",
        "captures",
        "cautions",
        "controller",
        "exit",
    ] {
        assert_eq!(from_job[key], from_files[key], "{key}");
    }
    assert_eq!(from_job["job"]["run"], 1);
    assert_eq!(from_job["problems"], Value::Array(Vec::new()));
    let copied = fs::read(Path::new(&job).join("captures/01-sweep-vcc-vref.csv")).unwrap();
    assert_eq!(copied, fs::read(SWEEP).unwrap());
    let (code, _, err) = outcome(&["inspect", SWEEP, "--save-job", &job]);
    assert!(code == 2 && err.contains("is not replaced"), "{err}");
    assert_eq!(
        outcome(&["inspect", "--save-job", &path(folder.path(), "x")]).0,
        2
    );
}

#[test]
fn files_that_are_one_shot_stay_one_in_the_job() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, factor: u32| {
        let rows = (0..200).map(|i| format!("{},{}\n", f64::from(i) * 1e-3, i * factor % 17));
        let text = format!("Time (s),CH1 (V)\n{}", rows.collect::<String>());
        fs::write(folder.path().join(name), text).unwrap();
        path(folder.path(), name)
    };
    let (one, two) = (file("one.csv", 1), file("two.csv", 3));
    let job = path(folder.path(), "job");
    let together = [
        "--layout",
        "shot=together",
        "--role",
        "1:2=vref",
        "--save-job",
        &job,
    ];
    let (code, _, err) = outcome(&[&["inspect", &one, &two][..], &together].concat());
    assert_ne!(code, 2, "{err}");
    let record = fs::read_to_string(Path::new(&job).join("job.toml")).unwrap();
    assert!(record.contains("with = [\"captures/two.csv\"]"), "{record}");
    let (_, object) = object(&["inspect", &job, "--json"]);
    let channels = object["captures"][0]["channels"].as_array().unwrap();
    assert_eq!(channels.len(), 2);
    assert_eq!(channels[1]["role"], "vref");
    assert_eq!(object["captures"].as_array().unwrap().len(), 1);
}

#[test]
fn the_head_tells_unit_complaint_run_and_condition() {
    let folder = tempfile::tempdir().unwrap();
    let job = kept(folder.path(), &["--controller", "UC3844"]);
    let record = Path::new(&job).join("job.toml");
    let text = fs::read_to_string(&record).unwrap();
    let text = text
        .replace(
            "schema = 1\n",
            "schema = 1\ncomplaint = \"ticks\"\nunit = { name = \"GV-24\", serial = \"0007\" }\n",
        )
        .replace(
            "title = \"as given\"\n",
            "title = \"as found\"\nwhen = \"before\"\ncondition = { heat = \"warm\", minutes = 20 }\n",
        );
    fs::write(&record, text).unwrap();
    let (_, out, err) = outcome(&["inspect", &job]);
    let head: Vec<&str> = out.lines().take(7).collect();
    assert_eq!(head[0], "GV-24: as found", "{err}");
    assert_eq!(head[2], "Unit        GV-24, serial 0007");
    assert_eq!(head[3], "Complaint   ticks");
    assert!(
        head[4].starts_with("Run         1 of 1: as found (before the repair)"),
        "{out}"
    );
    assert!(out.contains("Condition   warm, after 20 min"), "{out}");
    assert!(
        out.contains("NOT ENTERED YET") && out.contains("Not cleared for mains"),
        "{out}"
    );
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    let (_, object) = object(&["inspect", &job, "--json"]);
    assert_eq!(object["unit"], "GV-24");
    let recorded = &object["job"];
    assert_eq!(recorded["name"], "GV-24");
    assert_eq!(recorded["complaint"], "ticks");
    assert_eq!(recorded["when"], "before");
    assert_eq!(recorded["condition"]["heat"], "warm");
    assert_eq!(recorded["condition"]["minutes"], 20.0);
}

#[test]
fn a_bench_fed_job_is_not_cleared_for_mains_until_both_checks_are_entered() {
    let folder = tempfile::tempdir().unwrap();
    let job = path(folder.path(), "job");
    let args = [
        "inspect",
        SWEEP,
        "--setup",
        "injected",
        "--reading",
        "bulk=0.3V",
        "--save-job",
        &job,
    ];
    assert_ne!(outcome(&args).0, 2);
    let asked = || {
        let (_, found) = object(&["inspect", &job, "--json"]);
        let titles: Vec<Value> = found["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .map(|caution| caution["title"].clone())
            .collect();
        let open = found["missing"].as_array().unwrap().len();
        (titles.contains(&Value::from("Not cleared for mains")), open)
    };
    assert_eq!(asked(), (true, 2));
    let record = Path::new(&job).join("job.toml");
    let text = fs::read_to_string(&record).unwrap();
    let one =
        format!("{text}\n[mains.current-sense]\nby = \"1.1 V into CS through 1 kΩ stops OUT\"\n");
    fs::write(&record, &one).unwrap();
    assert_eq!(asked(), (true, 1));
    let both = format!("{one}\n[mains.feedback-loop]\nby = \"2.5 V into FB\"\n");
    fs::write(&record, both).unwrap();
    assert_eq!(asked(), (false, 0));
}

#[test]
fn missing_and_altered_captures_and_damaged_records_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let job = kept(folder.path(), &["--controller", "UC3844"]);
    let sweep = Path::new(&job).join("captures/01-sweep-vcc-vref.csv");
    let text = fs::read_to_string(&sweep).unwrap();
    fs::write(&sweep, format!("{text}\n")).unwrap();
    let (code, out, err) = outcome(&["inspect", &job]);
    assert_ne!(code, 0);
    assert!(out.contains("is not the file that was recorded"), "{out}");
    assert!(
        err.contains("captures/01-sweep-vcc-vref.csv: is not the file"),
        "{err}"
    );
    fs::remove_file(&sweep).unwrap();
    let (code, found) = object(&["inspect", &job, "--json"]);
    assert_eq!((code, &found["exit"]), (2, &Value::from(2)));
    assert_eq!(found["problems"][0]["what"], "missing");
    assert_eq!(found["captures"].as_array().unwrap().len(), 1);
    let record = Path::new(&job).join("job.toml");
    let text = fs::read_to_string(&record).unwrap();
    let cases = [
        (
            text.replace("schema = 1\n", "schema = 1\ncolour = 3\n"),
            "job.toml, line 6: colour",
        ),
        (
            text.replace("schema = 1\n", "schema = 9\n"),
            "later version",
        ),
        (text.replace("captures/04", "../04"), "captures[2].file"),
        (format!("{text}\n[unit\n"), "job.toml, line"),
    ];
    for (text, expected) in cases {
        fs::write(&record, &text).unwrap();
        let (code, out, err) = outcome(&["inspect", &job]);
        assert_eq!((code, out.as_str()), (2, ""), "{err}");
        assert!(err.contains(expected), "{expected}: {err}");
        assert_eq!(fs::read_to_string(&record).unwrap(), text);
    }
}

#[test]
fn the_job_that_comes_with_the_program_is_inspected_run_by_run() {
    let (code, out, err) = outcome(&["inspect", "captures/gv24"]);
    assert_eq!(code, 1, "{err}");
    assert!(
        out.contains("LATER: after the repair (after the repair)"),
        "{out}"
    );
    let (_, found) = object(&["inspect", "captures/gv24", "--json"]);
    let (_, built_in) = object(&["inspect", "--json"]);
    for key in ["measured", "stages", "suspects", "captures", "unit"] {
        assert!(found[key] == built_in[key] || key == "unit", "{key}");
    }
    assert_eq!(found["later"][0]["stages"], built_in["later"][0]["stages"]);
    assert_eq!(found["later"][0]["job"]["when"], "after");
    assert_eq!(found["job"]["when"], "before");
}
