//! The rooms of the house depend on each other in one direction only, and each keeps to its own
//! libraries. Every `crate::` path counts, not only `use` lines.

#![allow(clippy::unwrap_used, reason = "a test may")]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Who may use whom.
const ALLOWED: [(&str, &[&str]); 12] = [
    ("data", &[]),
    ("formats", &["data"]),
    ("signal", &["data"]),
    ("controllers", &["data"]),
    ("startup", &["data", "controllers"]),
    ("bench", &["data", "signal", "controllers"]),
    ("verdict", &["data", "controllers", "startup"]),
    (
        "inspect",
        &[
            "data",
            "formats",
            "signal",
            "controllers",
            "startup",
            "bench",
            "verdict",
        ],
    ),
    ("job", &["data", "inspect"]),
    ("report", &["data", "job", "verdict"]),
    ("cli", &["data", "inspect", "job", "report"]),
    ("app", &["data", "inspect", "job", "report"]),
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// Code without line comments; paths in doc links do not bind rooms.
fn code(path: &Path) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    text.lines()
        .map(|line| line.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join("\n")
}

/// First names after each `crate::`, those inside braces included.
fn rooms_used(code: &str) -> BTreeSet<String> {
    let mut used = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        if code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_') {
            continue;
        }
        let rest = &code[at + "crate::".len()..];
        if let Some(group) = rest.strip_prefix('{') {
            let mut depth = 0;
            let mut name = String::new();
            for c in group.chars() {
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => {
                        used.insert(first_name(name.trim()));
                        name.clear();
                        continue;
                    }
                    _ => {}
                }
                name.push(c);
            }
            used.insert(first_name(name.trim()));
        } else {
            used.insert(first_name(rest));
        }
    }
    used.remove("");
    used
}

fn first_name(path: &str) -> String {
    path.chars()
        .take_while(|c| c.is_alphanumeric() || *c == '_')
        .collect()
}

fn room_of(path: &Path, src: &Path) -> Option<String> {
    let inside = path.strip_prefix(src).unwrap();
    let first = inside.components().next()?.as_os_str().to_str()?.to_owned();
    (!first.ends_with(".rs")).then_some(first)
}

#[test]
fn no_room_uses_one_that_it_may_not() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    let mut wrong = Vec::new();
    let mut edges = 0;
    for file in &files {
        let Some(room) = room_of(file, &src) else {
            continue;
        };
        let (_, allowed) = ALLOWED
            .iter()
            .find(|(name, _)| *name == room)
            .unwrap_or_else(|| panic!("a room '{room}' that nobody planned"));
        for used in rooms_used(&code(file)) {
            edges += 1;
            if used != room && !allowed.contains(&used.as_str()) {
                wrong.push(format!("{} uses crate::{used}", file.display()));
            }
        }
    }
    assert!(edges > 50, "the scan sees nothing: {edges}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_scan_sees_paths_of_every_shape() {
    let code = "use crate::{data::{a, b}, bench::c, verdict};\nfn f() { crate::app::run(); let mycrate::x = 0; }";
    let used: Vec<String> = rooms_used(code).into_iter().collect();
    assert_eq!(used, ["app", "bench", "data", "verdict"]);
}

#[test]
fn libraries_keep_to_their_rooms() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    let rules: [(&[&str], &[&str]); 4] = [
        (
            &["egui::", "eframe::", "egui_plot::", "rfd::", "open::that"],
            &["app"],
        ),
        (&["clap::"], &["cli"]),
        (
            &["std::fs", "File::open", "File::create"],
            &["formats", "controllers", "job", "cli", "app"],
        ),
        (&["std::thread"], &["inspect", "cli", "app"]),
    ];
    let mut wrong = Vec::new();
    for file in &files {
        let Some(room) = room_of(file, &src) else {
            continue;
        };
        let code = code(file);
        for (names, rooms) in rules {
            for name in names.iter().filter(|name| code.contains(**name)) {
                if !rooms.contains(&room.as_str()) {
                    wrong.push(format!("{} uses {name}", file.display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
