//! Remembered layouts on the command line, and the questions that they answer.

use std::path::Path;

use super::{outcome, path};

/// A text without its line ends and margins.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A file that leaves open how long a sample lasts, and one like it.
fn files_without_interval(folder: &Path) -> [String; 2] {
    ["one.csv", "two.csv"].map(|name| {
        let file = path(folder, name);
        let rows: String = (0..12)
            .map(|k| format!("{}.5,{}\n", k % 3, name.len()))
            .collect();
        std::fs::write(&file, format!("VCC,VREF\n{rows}")).unwrap();
        file
    })
}

#[test]
fn a_remembered_layout_is_used_only_when_told_and_then_said() {
    let folder = tempfile::tempdir().unwrap();
    let [one, two] = files_without_interval(folder.path());
    let layouts = path(folder.path(), "layouts");
    let (code, _, err) = outcome(&["read", &one, "--layouts", &layouts]);
    assert!(
        code == 2 && err.contains("there is no such folder"),
        "{err}"
    );
    let told = ["--layout", "time=none", "--layout", "interval=2us"];
    let remember = ["--layouts", &layouts, "--remember", "old logger"];
    let with = |first: &[&str], more: &[&str]| outcome(&[first, more].concat());
    let (code, out, err) = with(&["read", &one], &[&told[..], &remember].concat());
    assert_eq!(code, 0, "{err}");
    assert!(
        err.contains("old-logger.toml") && out.contains("interval = "),
        "{out}{err}"
    );
    assert_eq!(outcome(&["read", &two]).0, 2);
    let (code, out, err) = outcome(&["read", &two, "--layouts", &layouts]);
    assert_eq!(code, 0, "{err}");
    assert!(
        flat(&out).contains("as remembered for this layout (old logger)"),
        "{out}"
    );
    let (_, out, _) = outcome(&["read", &two, "--layouts", &layouts, "--json"]);
    assert!(
        flat(&out).contains("as remembered for this layout (old logger)"),
        "{out}"
    );
    let (_, out, _) = outcome(&[
        "read",
        &two,
        "--layouts",
        &layouts,
        "--layout",
        "interval=3us",
    ]);
    let interval = flat(&out);
    let interval = interval.split("interval = ").nth(1).unwrap();
    assert!(
        interval
            .split(" Decided ")
            .next()
            .unwrap()
            .contains("as told"),
        "{out}"
    );
    let (code, _, err) = outcome(&["inspect", &two, "--layouts", &layouts]);
    assert_ne!(code, 2, "{err}");
}

#[test]
fn a_layout_is_remembered_once_and_only_with_something_to_remember() {
    let folder = tempfile::tempdir().unwrap();
    let [one, two] = files_without_interval(folder.path());
    let layouts = path(folder.path(), "layouts");
    let remember = ["--layouts", &layouts, "--remember", "logger"];
    let run =
        |files: &[&str], more: &[&str]| outcome(&[&["read"], files, &remember[..], more].concat());
    let (code, _, err) = run(&[&one], &[]);
    assert!(code == 2 && err.contains("no --layout was given"), "{err}");
    let (code, _, err) = run(&[&one, &two], &["--layout", "time=none"]);
    assert!(code == 2 && err.contains("one FILE"), "{err}");
    let (code, _, err) = outcome(&["read", &one, "--remember", "logger"]);
    assert!(code == 2 && err.contains("--layouts"), "{err}");
    // a layout by which the file can't be read is not kept
    assert_eq!(run(&[&one], &["--layout", "time=none"]).0, 2);
    assert!(!Path::new(&layouts).exists());
    let told = ["--layout", "time=none", "--layout", "interval=1ms"];
    assert_eq!(run(&[&one], &told).0, 0);
    let file = path(Path::new(&layouts), "logger.toml");
    let kept = std::fs::read_to_string(&file).unwrap();
    let other = ["--layout", "time=none", "--layout", "interval=5ms"];
    let (code, _, err) = run(&[&two], &other);
    assert!(
        code == 2 && err.contains("as 'logger'; --force replaces it"),
        "{err}"
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), kept);
    assert_eq!(run(&[&two], &[&other[..], &["--force"]].concat()).0, 0);
    assert!(std::fs::read_to_string(&file).unwrap().contains("5ms"));
    // a file that is no layout is named, and the others are used
    std::fs::write(
        path(Path::new(&layouts), "bad.toml"),
        "schema = 1\ncolour = 2\n",
    )
    .unwrap();
    let (code, _, err) = outcome(&["read", &two, "--layouts", &layouts]);
    assert_eq!(code, 0, "{err}");
    assert!(err.contains("bad.toml, line 2"), "{err}");
}

#[test]
fn a_question_ends_with_the_options_that_answer_it_and_help_lists_them_all() {
    let folder = tempfile::tempdir().unwrap();
    let [one, _] = files_without_interval(folder.path());
    let (code, out, err) = outcome(&["read", &one]);
    assert_eq!(code, 2, "{out}");
    assert!(
        err.contains("Say so with --layout ") && err.lines().count() == 1,
        "{err}"
    );
    let (_, out, _) = outcome(&["read", "--help"]);
    for known in firstpulse::inspect::LAYOUT_KEYS {
        let row = out
            .lines()
            .find(|line| line.trim_start().starts_with(&format!("{} ", known.key)));
        assert!(
            row.is_some_and(|row| row.contains(known.takes)),
            "{}: {out}",
            known.key
        );
    }
}

#[test]
fn files_with_one_channel_each_are_offered_as_one_shot() {
    let folder = tempfile::tempdir().unwrap();
    let [one, two] = [("a_CH1.csv", 0), ("a_CH2.csv", 1)].map(|(name, base)| {
        let file = path(folder.path(), name);
        let rows: String = (0..40)
            .map(|k| format!("{}e-6,{}.{}\n", k, base + k % 2, k % 5))
            .collect();
        std::fs::write(&file, format!("Time (s),Volt (V)\n{rows}")).unwrap();
        file
    });
    let (_, out, err) = outcome(&["inspect", &one, &two, "--json"]);
    assert!(flat(&err).contains("--layout shot=together"), "{err}");
    let captures = |out: &str| -> Vec<usize> {
        let object: serde_json::Value = serde_json::from_str(out).unwrap();
        let captures = object["captures"].as_array().unwrap();
        let count = |capture: &serde_json::Value| capture["channels"].as_array().unwrap().len();
        captures.iter().map(count).collect()
    };
    assert_eq!(captures(&out), [1, 1]);
    let (_, out, err) = outcome(&["inspect", &one, &two, "--json", "--layout", "shot=together"]);
    assert!(!err.contains("shot="), "{err}");
    assert_eq!(captures(&out), [2]);
    let (_, out, err) = outcome(&["inspect", &one, &two, "--json", "--layout", "shot=apart"]);
    assert!(!err.contains("shot="), "{err}");
    assert_eq!(captures(&out), [1, 1]);
}
