//! `--steps` on the whole program.

use assert_cmd::Command;
use serde_json::Value;

fn outcome(args: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("firstpulse")
        .unwrap()
        .args(args)
        .env_remove("LC_ALL")
        .env("LANG", "C.UTF-8")
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let code = output.status.code().unwrap_or(-1);
    (code, text(output.stdout), text(output.stderr))
}

const TAKEN: &str = "# GV-24, bench supply, meter at the pin\nvolts state direction\n8.5 dead up 0.3mA\n8.8 V works up\n8,53;works;down;11.5mA\n8.50 dead down\n";

#[test]
fn a_file_of_steps_is_inspected_without_captures() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("steps.txt");
    let file = file.to_str().unwrap();
    std::fs::write(file, TAKEN).unwrap();
    let args = [
        "inspect",
        "--steps",
        file,
        "--controller",
        "UC3843",
        "--setup",
        "injected",
    ];
    let (code, out, err) = outcome(&args);
    assert_eq!(code, 1, "{out}{err}");
    let section = out.split("VOLTAGE STEPS").nth(1).unwrap();
    for line in [
        "going up      dead at 8.5 V (300 µA), works at 8.8 V",
        "going down    dead at 8.5 V, works at 8.53 V (11.5 mA)",
        "between 8.5 V (dead) and 8.53 V (works)",
    ] {
        assert!(section.contains(line), "{line}\n{section}");
    }
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");

    let (code, out, _) = outcome(&[&args[..], &["--json"]].concat());
    assert_eq!(code, 1);
    let object: Value = serde_json::from_str(&out).unwrap();
    let steps = &object["steps"];
    assert_eq!(steps["readings"].as_array().unwrap().len(), 4);
    assert_eq!(steps["readings"][0]["from"], "line 3");
    assert_eq!(steps["readings"][2]["current"], 0.0115);
    assert_eq!(steps["stop"]["low"], 8.5);
    assert_eq!(steps["stop"]["high"], 8.53);
    assert_eq!(steps["start"]["fit"], Value::Null);
    assert_eq!(steps["start_above"], Value::Null);

    let (code, _, err) = outcome(&[&args[..], &["--out", file, "--force"]].concat());
    assert_eq!(code, 2, "{err}");
    assert_eq!(std::fs::read_to_string(file).unwrap(), TAKEN);
}

#[test]
fn with_captures_both_are_in_one_inspection() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("steps.txt");
    let file = file.to_str().unwrap();
    std::fs::write(file, "15.9 dead up\n16.1 works up\n").unwrap();
    let sweep = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/captures/gv24/01-sweep-vcc-vref.csv"
    );
    let (_, out, err) = outcome(&["inspect", sweep, "--steps", file, "--json"]);
    let object: Value = serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {err}"));
    assert_eq!(object["captures"].as_array().unwrap().len(), 1);
    assert!(
        object["steps"]["remarks"].to_string().contains("Shot 1"),
        "{}",
        object["steps"]
    );
    let of = |m: &&Value| m["quantity"] == "start_threshold";
    let starts: Vec<_> = object["measured"]
        .as_array()
        .unwrap()
        .iter()
        .filter(of)
        .collect();
    assert_eq!(starts.len(), 2, "{starts:?}");

    let (_, out, _) = outcome(&["inspect", sweep, "--json"]);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(object["steps"], Value::Null);
}

#[test]
fn every_bad_line_is_on_stderr_and_nothing_on_stdout() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("steps.txt");
    let file = file.to_str().unwrap();
    std::fs::write(file, "8.5 dead up\n8.8 glows up\nworks\n").unwrap();
    for command in [&["inspect"][..], &[]] {
        let (code, out, err) = outcome(&[command, &["--steps", file]].concat());
        assert_eq!((code, out.as_str()), (2, ""), "{err}");
    }
    let (_, _, err) = outcome(&["inspect", "--steps", file]);
    assert!(err.contains("steps.txt, line 2: 'glows'"), "{err}");
    assert!(err.contains("steps.txt, line 3: no voltage"), "{err}");
    let (code, _, err) = outcome(&["inspect", "--steps", "not-there.txt"]);
    assert_eq!(code, 2);
    assert!(err.contains("not-there.txt"), "{err}");
}
