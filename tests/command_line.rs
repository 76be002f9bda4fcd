//! The contract with scripts, on the whole program: exit codes, messages, files written or not.

#![expect(clippy::unwrap_used, reason = "a test may fail where it stands")]

use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;

#[path = "command_line/budget.rs"]
mod budget;
#[path = "command_line/controllers.rs"]
mod controllers;
#[path = "command_line/jobs.rs"]
mod jobs;
#[path = "command_line/layouts.rs"]
mod layouts;

/// The program without a display and in a UTF-8 terminal.
fn firstpulse(args: &[&str]) -> Command {
    let mut command = assert_cmd::cargo::cargo_bin_cmd!("firstpulse");
    command
        .args(args)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .env_remove("LC_ALL")
        .env("LANG", "C.UTF-8");
    command
}

/// Exit code, output and messages.
fn outcome(args: &[&str]) -> (i32, String, String) {
    let output = firstpulse(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        output.status.code().unwrap_or(-1),
        text(output.stdout),
        text(output.stderr),
    )
}

fn path(folder: &Path, name: &str) -> String {
    folder.join(name).to_string_lossy().into_owned()
}

#[test]
fn help_is_there_for_every_command_and_offers_only_what_is_there() {
    for command in [
        "inspect",
        "read",
        "simulate",
        "picture",
        "controllers",
        "budget",
    ] {
        let (code, out, _) = outcome(&[command, "--help"]);
        assert_eq!(code, 0, "{command}");
        assert!(out.contains("Example"), "{out}");
    }
    let (code, out, _) = outcome(&["--help"]);
    assert_eq!(code, 0);
    assert!(out.contains("Exit codes") && out.contains("inspect") && out.contains("--controller"));
    assert!(!out.contains("window-check"), "{out}");
}

#[test]
fn what_cannot_be_read_is_two_with_the_reason_and_no_result() {
    let folder = tempfile::tempdir().unwrap();
    let empty = path(folder.path(), "empty.csv");
    let wrong = path(folder.path(), "wrong.bin");
    let missing = path(folder.path(), "missing.csv");
    std::fs::write(&empty, b"").unwrap();
    std::fs::write(&wrong, [0_u8, 159, 146, 150, 7, 0, 3].repeat(50)).unwrap();
    for file in [&empty, &wrong, &missing] {
        let (code, out, err) = outcome(&["inspect", file, "--json"]);
        assert_eq!((code, out.as_str()), (2, ""), "{file}");
        let name = Path::new(file)
            .file_name()
            .unwrap()
            .to_string_lossy()
            .into_owned();
        assert!(
            err.starts_with("firstpulse: ") && err.contains(&name),
            "{err}"
        );
    }
    let (code, _, err) = outcome(&["inspect", &missing, &empty]);
    assert!(
        code == 2 && err.contains("missing.csv") && err.contains("empty.csv"),
        "{err}"
    );
}

#[test]
fn reading_goes_on_after_a_file_that_fails() {
    let folder = tempfile::tempdir().unwrap();
    let (a, b) = (path(folder.path(), "a.csv"), path(folder.path(), "b.csv"));
    std::fs::write(&a, b"").unwrap();
    let (code, out, err) = outcome(&["read", &a, &b, "--json"]);
    assert_eq!(code, 2);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(object["schema"], "firstpulse/1");
    assert_eq!(object["errors"].as_array().map(Vec::len), Some(2), "{out}");
    assert!(err.contains("a.csv") && err.contains("b.csv"), "{err}");
}

#[test]
fn a_folder_is_a_batch_and_the_worst_decides() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(path(folder.path(), "a.csv"), b"").unwrap();
    std::fs::write(path(folder.path(), "b.csv"), b"").unwrap();
    std::fs::write(path(folder.path(), "a.truth.json"), b"{}").unwrap();
    let all = folder.path().to_string_lossy().into_owned();
    let (code, out, _) = outcome(&["inspect", &all, "--json"]);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(code, 2);
    assert_eq!(object["errors"].as_array().map(Vec::len), Some(2), "{out}");
    let (code, out, _) = outcome(&["inspect", &all]);
    assert!(
        code == 2 && out.contains("a.csv") && out.contains("0 inspected, 2 failed"),
        "{out}"
    );
    let empty = tempfile::tempdir().unwrap();
    assert_eq!(outcome(&["inspect", &empty.path().to_string_lossy()]).0, 2);
    let mixed = path(folder.path(), "a.csv");
    let (code, _, err) = outcome(&["inspect", &all, &mixed]);
    assert!(code == 2 && err.contains("folder"), "{err}");
}

#[test]
fn an_unknown_value_names_option_text_and_what_is_expected() {
    for (args, wanted) in [
        (["--part", "rt=4x7"], ["--part", "4x7", "4k7"]),
        (["--role", "1=vccc"], ["--role", "vccc", "rtct"]),
        (["--setup", "bench"], ["--setup", "bench", "low-bulk"]),
        (
            ["--reading", "current=1"],
            ["--reading", "current", "standby-current"],
        ),
        (["--probe", "1=ten"], ["--probe", "ten", "10x"]),
        (["--accuracy", "1=good"], ["--accuracy", "good", "1%+20mV"]),
        (["--meter", "1"], ["--meter", "'1'", "20mV"]),
        (["--layout", "comma"], ["--layout", "comma", "separator="]),
    ] {
        let (code, out, err) = outcome(&["inspect", args[0], args[1]]);
        assert_eq!((code, out.as_str()), (2, ""), "{args:?}");
        for word in wanted {
            assert!(err.contains(word), "{word} is missing in: {err}");
        }
    }
    let (code, _, err) = outcome(&["inspect", "--part", "rt=1k", "--part", "rt=2k"]);
    assert!(code == 2 && err.contains("twice"), "{err}");
    assert_eq!(outcome(&["inspect", "--nothing"]).0, 2);
}

#[test]
fn nothing_is_overwritten_unasked_and_an_input_never() {
    let folder = tempfile::tempdir().unwrap();
    let (input, there) = (
        path(folder.path(), "in.csv"),
        path(folder.path(), "there.txt"),
    );
    std::fs::write(&input, b"keep").unwrap();
    std::fs::write(&there, b"keep").unwrap();
    let (code, _, err) = outcome(&["controllers", "--out", &there]);
    assert!(code == 2 && err.contains("--force"), "{err}");
    assert_eq!(std::fs::read(&there).unwrap(), b"keep");
    let (code, _, err) = outcome(&["read", &input, "--out", &input, "--force"]);
    assert!(code == 2 && err.contains("never overwritten"), "{err}");
    let (code, _, err) = outcome(&["picture", &input, "--out", &input, "--force"]);
    assert!(code == 2 && err.contains("never overwritten"), "{err}");
    assert_eq!(std::fs::read(&input).unwrap(), b"keep");
    assert_eq!(outcome(&["controllers", "--out", &there, "--force"]).0, 0);
    assert_ne!(std::fs::read(&there).unwrap(), b"keep");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn control_characters_in_names_never_reach_the_terminal() {
    let (code, out, err) = outcome(&["read", "no\u{1b}[31mfile\u{202e}"]);
    assert_eq!(code, 2);
    assert!(!out.contains('\u{1b}') && !err.contains('\u{1b}') && !err.contains('\u{202e}'));
}

#[test]
fn the_library_is_listed_as_an_object() {
    let (code, out, _) = outcome(&["controllers", "--json"]);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!((code, &object["schema"]), (0, &Value::from("firstpulse/1")));
    assert!(object["controllers"].is_array() && object["ranked"].is_array());
    let (code, out, err) = outcome(&["controllers", "no-such-part-9"]);
    assert!(
        code == 2 && out.is_empty() && err.contains("no-such-part-9"),
        "{err}"
    );
}

#[test]
fn an_unknown_fault_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let out = path(folder.path(), "new");
    let (code, _, err) = outcome(&["simulate", "--fault", "gremlins", "--out", &out]);
    assert!(code == 2 && err.contains("gremlins"), "{err}");
    assert!(!Path::new(&out).exists());
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin!("firstpulse"))
        .args(["controllers", "--json"])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(
        (output.status.code(), output.stderr.as_slice()),
        (Some(0), [].as_slice())
    );
}

#[test]
fn odd_files_are_answered_in_one_line() {
    let folder = tempfile::tempdir().unwrap();
    let wide = |cells: &str| format!("{}\n", vec![cells; 2000].join(",")).repeat(3);
    let spaces = path(folder.path(), "a folder with spaces");
    std::fs::create_dir(&spaces).unwrap();
    let files: [(&str, Vec<u8>, &str); 7] = [
        ("empty.csv", Vec::new(), "the file is empty"),
        ("line.csv", b"t,a\n".to_vec(), "a single line is no record"),
        (
            "picture.png",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec(),
            "is no text",
        ),
        ("long.csv", b"1,2,".repeat(500_000), "line 1: longer than"),
        ("wide.csv", wide("1.5").into_bytes(), "2000 columns"),
        (
            "parts.csv",
            b"part,ohm,count\nR1,220,1\nR2,470,2\nR3,4700,1\n".to_vec(),
            "is no record",
        ),
        ("e\u{1b}[2J.csv", b"x".to_vec(), "a single line"),
    ];
    for (name, bytes, wanted) in &files {
        let file = path(folder.path(), name);
        std::fs::write(&file, bytes).unwrap();
        let (code, _, err) = outcome(&["read", &file]);
        assert!(code == 2 && err.contains(wanted), "{name}: {err}");
        assert!(err.lines().count() == 1 && !err.contains('\u{1b}'), "{err}");
    }
    let (code, _, err) = outcome(&["read", &spaces]);
    assert!(code == 2 && err.contains("is a folder"), "{err}");
}

#[test]
fn a_told_layout_rescues_a_file_that_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = path(folder.path(), "mixed.csv");
    std::fs::write(&file, "t (s),a\n0,1.5,\n0.5,2.5\n1,3.5,\n1.5,4.5\n").unwrap();
    assert_eq!(outcome(&["read", &file]).0, 2);
    let (code, out, err) = outcome(&["read", &file, "--layout", "first-row=2"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("first-row = 2: as told"), "{out}");
}

#[test]
fn a_folder_leaves_out_what_is_no_capture_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let all = folder.path().to_string_lossy().into_owned();
    for name in ["case.toml", "README.md", "view.png", ".hidden"] {
        std::fs::write(path(folder.path(), name), "words").unwrap();
    }
    let (code, _, err) = outcome(&["inspect", &all]);
    assert!(
        code == 2 && err.contains("only 4 files that plainly are none"),
        "{err}"
    );
    std::fs::create_dir(path(folder.path(), "inner")).unwrap();
    let (code, _, err) = outcome(&["inspect", &all]);
    assert!(code == 2 && err.contains("only 1 folder: inner"), "{err}");
    std::fs::write(path(folder.path(), "notes.txt"), "plain words\nand more\n").unwrap();
    let (code, out, _) = outcome(&["inspect", &all]);
    assert!(
        code == 2
            && out.contains("4 files left out")
            && out.contains("notes.txt")
            && out.contains("1 failed"),
        "{out}"
    );
    let (_, out, _) = outcome(&["inspect", &all, "--json"]);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(object["skipped"].as_array().map(Vec::len), Some(4), "{out}");
}

#[test]
fn own_profiles_are_used_only_when_told_and_then_said() {
    let folder = tempfile::tempdir().unwrap();
    let all = folder.path().to_string_lossy().into_owned();
    let (code, template, _) = outcome(&["controllers", "--template"]);
    assert!(code == 0 && template.contains("[[profile]]") && template.contains("# "));
    let own = path(folder.path(), "own.toml");
    assert_eq!(outcome(&["controllers", "--template", "--out", &own]).0, 0);
    assert_eq!(std::fs::read_to_string(&own).unwrap(), template);
    assert!(
        !outcome(&["controllers", "xy3844-maker"])
            .1
            .contains("XY3844 (Maker)")
    );
    let (code, out, err) = outcome(&["controllers", "xy3844-maker", "--controllers", &all]);
    assert_eq!(code, 0, "{err}");
    assert!(
        out.contains("Own profiles from")
            && out.contains("xy3844-maker (new)")
            && out.contains("XY3844 (Maker)"),
        "{out}"
    );
    std::fs::write(&own, template.replace("xy3844-maker", "uc3844-ti")).unwrap();
    let (_, out, _) = outcome(&["controllers", "--json", "--controllers", &all]);
    let object: Value = serde_json::from_str(&out).unwrap();
    assert!(
        object["notes"][0].as_str().unwrap().contains("in place of"),
        "{out}"
    );
    std::fs::write(path(folder.path(), "bad.toml"), "schema = 1\n[group\n").unwrap();
    for command in ["controllers", "inspect"] {
        let (code, out, err) = outcome(&[command, "--controllers", &all]);
        assert!(
            code != 2 && !out.is_empty() && err.contains("skipped: bad.toml, line 2"),
            "{err}"
        );
    }
    let nothing = tempfile::tempdir().unwrap();
    let nothing = nothing.path().to_string_lossy().into_owned();
    let (code, _, err) = outcome(&["controllers", "--controllers", &nothing]);
    assert!(code == 2 && err.contains("no profile"), "{err}");
}

#[test]
fn a_start_and_a_stop_rank_the_library() {
    let args = ["controllers", "--start", "15.9V", "--stop", "9,9"];
    let (code, out, err) = outcome(&[&args[..], &["--json"]].concat());
    assert_eq!(code, 0, "{err}");
    let object: Value = serde_json::from_str(&out).unwrap();
    let ranked = object["ranked"].as_array().unwrap();
    let weights: Vec<f64> = ranked
        .iter()
        .map(|r| r["weight"].as_f64().unwrap())
        .collect();
    let class = |one: &Value| -> f64 {
        let members = ranked.iter().filter(|r| r["class"] == one["class"]);
        members.map(|r| r["weight"].as_f64().unwrap()).sum()
    };
    assert!(
        weights.len() > 1 && ranked.is_sorted_by(|a, b| class(a) > class(b) - 1e-9),
        "{out}"
    );
    assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    assert!(ranked[0]["id"].as_str().is_some_and(|id| !id.is_empty()));
    assert!(
        ranked[0]["why"]
            .as_str()
            .unwrap()
            .contains("start threshold 15.9"),
        "{out}"
    );
    let (code, text, _) = outcome(&args);
    assert!(
        code == 0 && text.contains(ranked[0]["id"].as_str().unwrap()),
        "{text}"
    );
    assert!(text.contains("2 % of the reading being assumed"), "{text}");
    let (code, text, _) = outcome(&["controllers", "--start", "90V", "--stop", "80V"]);
    assert!(code == 0 && text.contains("No profile fits"), "{text}");
    for wrong in [
        &["--start", "9V", "--stop", "16V"][..],
        &["--start", "16V"],
        &["--start", "16V", "--stop", "-1V"],
        &["--start", "16V", "--stop", "9V", "UC3844"],
    ] {
        assert_eq!(
            outcome(&[&["controllers"], wrong].concat()).0,
            2,
            "{wrong:?}"
        );
    }
}

// From here on the measuring rooms are needed: taken in with them.

#[test]
fn without_a_window_the_same_is_told_in_the_terminal_with_zero() {
    let (code, out, err) = outcome(&[]);
    assert_eq!(code, 0, "{err}");
    assert!(
        err.contains("no window") && out.contains("START-UP ORDER"),
        "{err}{out}"
    );
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(path(folder.path(), "a.csv"), b"").unwrap();
    for named in [path(folder.path(), "a.csv"), path(folder.path(), "")] {
        let (code, _, err) = outcome(&[&named]);
        assert!(code == 2 && err.contains("the file is empty"), "{err}");
    }
}

#[test]
fn the_built_in_unit_ticks_and_never_starts() {
    let (code, out, err) = outcome(&["inspect", "--json"]);
    assert_eq!(code, 1, "{err}");
    let object: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(object["suspects"][0]["cause"], "aux-path-open");
    assert!(object["later"].as_array().is_some_and(|l| !l.is_empty()));
    let (code, out, _) = outcome(&["inspect"]);
    assert_eq!(code, 1);
    assert!(
        out.contains("injected in shot 1, 2, 3; mains in shot 4") && !out.contains("can't tell")
    );
    let at = |text: &str| {
        out.find(text)
            .unwrap_or_else(|| panic!("{text} is missing in {out}"))
    };
    let order = [
        "Controller",
        "START-UP ORDER",
        "  Works",
        "DO NOT EXCEED",
        "MEASURED",
        "CAUTIONS",
    ];
    assert!(order.map(at).is_sorted(), "{out}");
    assert!(
        out.lines()
            .take(45)
            .any(|line| line.contains("BULK CAPACITOR")),
        "{out}"
    );
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    let plain = firstpulse(&["inspect"]).env("LANG", "C").output().unwrap();
    assert!(plain.stdout.is_ascii());
}

#[test]
fn what_is_simulated_can_be_read_and_is_not_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_string_lossy().into_owned();
    let args = [
        "simulate",
        "--fault",
        "aux-path-open",
        "--seed",
        "7",
        "--out",
        &out,
    ];
    let (code, listed, err) = outcome(&args);
    assert_eq!(code, 0, "{err}");
    assert_eq!(outcome(&args).0, 2);
    for file in listed.lines().filter(|l| l.ends_with(".csv")) {
        let (code, out, err) = outcome(&["read", file, "--json"]);
        assert_eq!(code, 0, "{err}");
        let object: Value = serde_json::from_str(&out).unwrap();
        assert!(object["files"][0]["captures"][0]["channels"][0]["min"].is_number());
    }
}

#[test]
fn budgets_stand_for_every_run_and_every_file_of_a_folder() {
    let (_, out, err) = outcome(&["inspect", "--budget"]);
    let heads = |out: &str| -> Vec<String> {
        let lines = out.lines().filter(|line| line.starts_with("BUDGETS"));
        lines.map(str::to_owned).collect()
    };
    let found = heads(&out);
    assert_eq!(found.len(), 2, "{err}");
    assert!(found[0].contains("as found") && found[1].contains("after the repair"));
    let later = out.find(&found[1]).unwrap();
    assert!(out[later..].contains("start threshold, shot 1:"), "{out}");
    // a value of two others names each contribution once
    let hysteresis = out.find("hysteresis, shot 1:").unwrap();
    let lines = out[hysteresis..].lines().skip(1);
    let own: Vec<&str> = lines
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  - "))
        .map(|line| line.split([':', '(']).next().unwrap_or(line).trim())
        .collect();
    let mut once = own.clone();
    once.sort_unstable();
    once.dedup();
    assert!(own.len() > 1 && once.len() == own.len(), "{own:?}");
    let folder = tempfile::tempdir().unwrap();
    for name in ["a.csv", "b.csv"] {
        let from = "captures/gv24/03-running-rtct-out.csv";
        std::fs::copy(from, path(folder.path(), name)).unwrap();
    }
    let all = folder.path().to_string_lossy().into_owned();
    let (_, out, err) = outcome(&["inspect", "--budget", &all]);
    let found = heads(&out);
    assert_eq!(found.len(), 2, "{err}");
    assert!(found[0].contains("a.csv") && found[1].contains("b.csv"));
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
}

#[test]
fn a_told_bandwidth_is_shown_with_its_channel() {
    let file = "captures/gv24/03-running-rtct-out.csv";
    let (_, out, err) = outcome(&["inspect", file, "--bandwidth", "2=20MHz"]);
    assert!(out.contains("bandwidth 20 MHz, as told"), "{err}\n{out}");
    assert_eq!(out.matches("as told").count(), 1, "{out}");
}
