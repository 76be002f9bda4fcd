use crate::data::{Note, Stage, StageState};
use crate::report::example::{capture, gv24};
use crate::report::{FileReading, Shown};

use super::page::wrap;
use super::{WIDTH, batch, case, reading};

fn assert_fits(text: &str) {
    for line in text.lines() {
        let columns = line.chars().count();
        assert!(columns <= WIDTH, "{columns} columns: {line}");
    }
}

#[test]
fn the_whole_page_reads_well() {
    let run = gv24();
    let text = case(
        "GV-24",
        &[("as found", &run), ("after the repair", &run)],
        false,
    );
    assert_fits(&text);
    insta::assert_snapshot!(text, @r"");
}

#[test]
fn a_terminal_without_utf8_gets_ascii_only() {
    let run = gv24();
    let text = case("GV-24 Ω µ 日本", &[("", &run)], true);
    assert!(text.is_ascii());
    assert_fits(&text);
    assert!(text.contains("15.98 +/- 0.48 V"), "{text}");
}

#[test]
fn no_name_and_no_sentence_breaks_the_page() {
    let mut run = gv24();
    let long = "x".repeat(300);
    run.lines.works = format!("{long} and {long}");
    run.notes
        .push(Note::new(format!("\u{1b}[31m{long}\n\u{202e}end")));
    run.not_tested.push(long.clone());
    let (record, _) = capture(&format!("\u{1b}]0;{long}"), &["a\u{7}b"]);
    run.captures[0].capture = record;
    for ascii in [false, true] {
        let text = case(&long, &[(&long, &run), ("later", &run)], ascii);
        assert_fits(&text);
        assert!(
            text.chars().all(|c| c == '\n' || !c.is_control()),
            "{text:?}"
        );
    }
}

#[test]
fn every_state_has_its_own_word_and_mark() {
    let states = [
        StageState::Working,
        StageState::Marginal,
        StageState::Dead,
        StageState::NotTested,
    ];
    for ascii in [false, true] {
        let mut run = gv24();
        for (finding, state) in run.stages.iter_mut().zip(states) {
            finding.state = state;
        }
        let text = case("GV-24", &[("", &run)], ascii);
        for (stage, state) in Stage::ALL.into_iter().zip(states) {
            let line = text
                .lines()
                .find(|l| l.contains(stage.title()) && l.contains(state.title()));
            assert!(
                line.is_some_and(|l| l.contains(super::mark(state, ascii).trim())),
                "{text}"
            );
        }
    }
}

#[test]
fn a_batch_lists_what_failed() {
    let results = [
        ("a.csv".to_owned(), Ok(gv24())),
        (
            "b.csv".to_owned(),
            Err("b.csv: the file is empty".to_owned()),
        ),
    ];
    let text = batch("shelf", &results, false);
    assert_fits(&text);
    assert!(
        text.contains("b.csv: the file is empty") && text.contains("1 inspected, 1 failed"),
        "{text}"
    );
}

#[test]
fn how_a_file_was_understood_reads_well() {
    let (record, facts) = capture("sweep.csv", &["VCC", "VREF"]);
    let files = [
        FileReading {
            file: "bench/sweep.csv".to_owned(),
            outcome: Ok(vec![Shown {
                capture: record,
                facts,
            }]),
        },
        FileReading {
            file: "empty.csv".to_owned(),
            outcome: Err("empty.csv: the file is empty".to_owned()),
        },
    ];
    let text = reading(&files, false);
    assert_fits(&text);
    insta::assert_snapshot!(text, @r"");
}

#[test]
fn wrapping_keeps_every_word() {
    assert_eq!(wrap("", 10), [""]);
    assert_eq!(wrap("one two three", 7), ["one two", "three"]);
    assert_eq!(wrap("abcdefghij", 4), ["abcd", "efgh", "ij"]);
}

proptest::proptest! {
    #[test]
    fn wrapping_never_exceeds_its_width(text in "\\PC{0,200}", width in 1_usize..40) {
        let lines = wrap(&text, width);
        proptest::prop_assert!(lines.iter().all(|l| l.chars().count() <= width));
        let letters = |t: &str| t.chars().filter(|c| *c != ' ').collect::<String>();
        proptest::prop_assert_eq!(letters(&lines.concat()), letters(&text));
    }
}
