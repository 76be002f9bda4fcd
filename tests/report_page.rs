//! The page of a job, read by a real HTML parser (scraper, on html5ever), and its table, read back by the
//! `csv` crate: nothing from a file or a user does anything, everything measured is there.
//!
//! `FIRSTPULSE_REWRITE=1 cargo test --test report_page` writes the example page anew.

#![allow(clippy::unwrap_used, reason = "a test may")]

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use scraper::{ElementRef, Html, Selector};
use serde_json::Value;

#[path = "report_page/hostile.rs"]
mod hostile;

/// Exit code, output, messages.
fn outcome(args: &[&str]) -> (i32, String, String) {
    let out = Command::cargo_bin("firstpulse")
        .unwrap()
        .args(args)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        out.status.code().unwrap(),
        text(out.stdout),
        text(out.stderr),
    )
}

fn page(args: &[&str]) -> String {
    let (code, out, err) = outcome(&[&["report", "--date", "2026-11-26"], args].concat());
    assert_eq!(code, 0, "{err}");
    out
}

fn all<'a>(html: &'a Html, what: &str) -> Vec<ElementRef<'a>> {
    html.select(&Selector::parse(what).unwrap()).collect()
}

fn text_of(element: &ElementRef<'_>) -> String {
    element.text().collect::<String>()
}

/// What must hold on every page, whatever it shows.
fn check_page(source: &str) -> Html {
    let html = Html::parse_document(source);
    assert!(html.errors.is_empty(), "{:?}", html.errors);
    for what in [
        "script",
        "link",
        "iframe",
        "object",
        "embed",
        "form",
        "base",
        "meta[http-equiv]",
        "a[href]",
    ] {
        assert!(all(&html, what).is_empty(), "{what}");
    }
    for element in all(&html, "*") {
        for (name, value) in element.value().attrs() {
            assert!(!name.starts_with("on"), "{name}={value}");
            let inside = name == "src" && value.starts_with("data:image/");
            let outside = value.contains("//") && name != "xmlns";
            assert!(
                inside || !(outside || name == "src" || name == "href"),
                "{name}={value}"
            );
        }
    }
    let style: String = all(&html, "style").iter().map(text_of).collect();
    assert!(!style.contains("url(") && !style.contains("@import"));
    assert!(style.contains("@media print") && style.contains("break-inside: avoid"));
    assert_eq!(all(&html, "html")[0].value().attr("lang"), Some("en"));
    headings(&html);
    pictures(&html);
    tables(&html);
    html
}

/// One h1, first; no level is left out on the way down; none is empty (WCAG 2.2, technique G141).
fn headings(html: &Html) {
    let found = all(html, "h1, h2, h3, h4, h5, h6");
    let levels: Vec<u32> = found
        .iter()
        .map(|h| h.value().name()[1..].parse().unwrap())
        .collect();
    assert_eq!(levels[0], 1);
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    for pair in levels.windows(2) {
        assert!(pair[1] <= pair[0] + 1, "{levels:?}");
    }
    assert!(found.iter().all(|h| !text_of(h).trim().is_empty()));
}

fn pictures(html: &Html) {
    let mut ids = Vec::new();
    for svg in all(html, "svg") {
        let first = svg.child_elements().next().unwrap();
        assert_eq!(first.value().name(), "title");
        assert!(!text_of(&first).trim().is_empty());
        assert_eq!(svg.value().attr("role"), Some("img"));
        let named = svg.value().attr("aria-labelledby").unwrap();
        assert_eq!(named.split(' ').next(), first.value().attr("id"));
    }
    for element in all(html, "[id]") {
        ids.push(element.value().attr("id").unwrap().to_owned());
    }
    let count = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), count, "an id stands twice");
    for image in all(html, "img") {
        assert!(!image.value().attr("alt").unwrap_or_default().is_empty());
    }
}

/// Every table has a caption and heads with a scope; every row as many cells as the first.
fn tables(html: &Html) {
    let found = all(html, "table");
    assert!(found.len() > 5);
    for table in found {
        let select = |what: &str| -> Vec<ElementRef<'_>> {
            let selector = Selector::parse(what).unwrap();
            table.select(&selector).collect()
        };
        assert_eq!(select("caption").len(), 1);
        assert!(
            select("th")
                .iter()
                .all(|th| matches!(th.value().attr("scope"), Some("col" | "row")))
        );
        let rows = select("tr");
        let width = rows[0].child_elements().count();
        for row in rows {
            assert_eq!(row.child_elements().count(), width);
            assert_eq!(row.child_elements().next().unwrap().value().name(), "th");
        }
    }
}

#[test]
fn the_example_page_is_what_the_program_writes() {
    let written = page(&["captures/gv24"]);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("captures/example-report.html");
    if std::env::var_os("FIRSTPULSE_REWRITE").is_some() {
        fs::write(&path, &written).unwrap();
    }
    assert!(
        fs::read_to_string(&path).unwrap_or_default() == written,
        "the example page differs"
    );
    assert!(written.len() < 700_000, "{}", written.len());
    check_page(&written);
    let built_in = page(&[]);
    assert!(built_in == written, "the built-in job gives another page");
}

#[test]
fn every_measured_value_is_on_the_page_and_in_the_table() {
    let html = check_page(&page(&["captures/gv24"]));
    let (_, object, _) = outcome(&["report", "captures/gv24", "--format", "json"]);
    let object: Value = serde_json::from_str(&object).unwrap();
    let runs: Vec<&Value> = std::iter::once(&object)
        .chain(object["later"].as_array().unwrap())
        .collect();
    let measured: Vec<&Value> = runs
        .iter()
        .flat_map(|run| run["measured"].as_array().unwrap())
        .collect();
    assert!(measured.len() > 40);
    let rows: Vec<Vec<String>> = all(&html, "tr")
        .iter()
        .map(|row| row.child_elements().map(|cell| text_of(&cell)).collect())
        .collect();
    let (code, table, _) = outcome(&["report", "captures/gv24", "--format", "csv"]);
    assert_eq!(code, 0);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let head = reader.headers().unwrap().clone();
    let column = |name: &str| head.iter().position(|h| h == name).unwrap();
    let records: Vec<csv::StringRecord> = reader.records().map(|r| r.unwrap()).collect();
    assert_eq!(records.len(), measured.len());
    for (entry, record) in measured.iter().zip(&records) {
        assert_eq!(entry["quantity"], record[column("quantity")]);
        assert_eq!(entry["verdict"], record[column("verdict")]);
        for name in ["value", "u", "u95"] {
            let cell = record[column(name)].parse::<f64>().ok();
            // serde_json may read the last digit of a number one off
            let near = match (entry[name].as_f64(), cell) {
                (Some(a), Some(b)) => (a - b).abs() <= 1e-14 * a.abs(),
                (a, b) => a.is_none() && b.is_none(),
            };
            assert!(near, "{name}: {cell:?}");
        }
        let title = entry["title"].as_str().unwrap();
        let shot = entry["capture"]
            .as_u64()
            .map_or("hand".to_owned(), |n| n.to_string());
        let there = rows
            .iter()
            .any(|row| row.len() > 2 && row[0] == title && row[1] == shot);
        assert!(there, "{title}, shot {shot}");
    }
}

/// The page says what the terminal's report says, in its words.
#[test]
fn the_page_says_what_was_wrong_what_was_done_and_what_was_not_tested() {
    let html = check_page(&page(&["captures/gv24"]));
    let text: String = all(&html, "main").iter().map(text_of).collect();
    for words in [
        "ticks and never starts",
        "D7, auxiliary diode",
        "consistent with",
        "The runner-up",
        "Own supply works, it was dead",
        "What was not tested",
        "The bulk voltage is not entered",
        "Local rules",
        "Assumed, not measured",
        "within 155.8 kΩ to 172.2 kΩ",
    ] {
        assert!(
            text.to_lowercase().contains(&words.to_lowercase()),
            "{words}"
        );
    }
    assert!(!text.to_lowercase().contains("safe"));
    // seven pictures: five shots and a loop of each run
    assert_eq!(all(&html, "figure svg").len(), 7);
}

#[test]
fn nothing_is_overwritten_and_the_ending_tells_the_form() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (table, object) = (path("a.csv"), path("a.json"));
    assert_eq!(outcome(&["report", "--out", &table]).0, 0);
    assert!(fs::read_to_string(&table).unwrap().starts_with("run,when,"));
    assert_eq!(outcome(&["report", "--out", &object]).0, 0);
    let read: Value = serde_json::from_str(&fs::read_to_string(&object).unwrap()).unwrap();
    assert_eq!(read["schema"], "firstpulse/1");
    let (code, _, err) = outcome(&["report", "--out", &table]);
    assert!(code == 2 && err.contains("--force"), "{err}");
    assert_eq!(outcome(&["report", "--out", &table, "--force"]).0, 0);
    let (code, _, err) = outcome(&["report", folder.path().to_str().unwrap()]);
    assert!(code == 2 && err.contains("job.toml"), "{err}");
}

#[test]
fn lanes_and_loop_are_written_as_svg_and_other_views_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for (name, view) in [("lanes.svg", "lanes"), ("loop.svg", "loop")] {
        let out = path(name);
        let (code, _, err) = outcome(&["picture", "--view", view, "--out", &out]);
        assert_eq!(code, 0, "{err}");
        let text = fs::read_to_string(&out).unwrap();
        let html = Html::parse_fragment(&text);
        assert_eq!(all(&html, "svg > title").len(), 1);
        assert!(all(&html, "path").len() > 1);
    }
    let (code, _, err) = outcome(&["picture", "--view", "steps", "--out", &path("steps.svg")]);
    assert!(code == 2 && err.contains(".png"), "{err}");
}

#[test]
fn a_job_is_compared_with_itself_and_with_another() {
    let object = |args: &[&str]| -> Value {
        let (code, out, err) = outcome(args);
        assert_eq!(code, 0, "{err}");
        serde_json::from_str(&out).unwrap()
    };
    let within = object(&["compare", "captures/gv24", "--json"]);
    let built_in = object(&["compare", "--json"]);
    assert_eq!(within["rows"], built_in["rows"]);
    let same = object(&["compare", "captures/gv24", "captures/gv24", "--json"]);
    let rows = same["rows"].as_array().unwrap();
    assert!(rows.iter().all(|row| row["difference"] == "unchanged"));
    assert!(rows.len() > 30);
}
