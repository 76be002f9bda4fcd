use proptest::prelude::*;

use super::{MOST_READINGS, line, parse, written};
use crate::data::{Direction, StepPlace, VoltageStep};

fn step(volts: f64, works: bool, going: Option<Direction>, current_a: Option<f64>) -> VoltageStep {
    VoltageStep {
        volts,
        works,
        going,
        current_a,
        place: StepPlace::Typed,
    }
}

#[test]
fn readings_are_read_as_a_person_writes_them() {
    let (up, down) = (Some(Direction::Up), Some(Direction::Down));
    for (text, wanted) in [
        ("8.8 V works up", step(8.8, true, up, None)),
        ("8.5 dead going up", step(8.5, false, up, None)),
        (
            "8.53;works;down;11.5mA",
            step(8.53, true, down, Some(0.0115)),
        ),
        ("8,53 V, Works, falling", step(8.53, true, down, None)),
        ("8,5, no, 0,4 mA", step(8.5, false, None, Some(0.4e-3))),
        ("9v on rising", step(9.0, true, up, None)),
        ("stopped at 8V5", step(8.5, false, None, None)),
        ("VCC = 850 mV: off", step(0.85, false, None, None)),
    ] {
        let read = line(text, StepPlace::Typed).unwrap_or_else(|why| panic!("{text}: {why}"));
        assert_eq!(read.works, wanted.works, "{text}");
        assert_eq!(read.going, wanted.going, "{text}");
        assert!(
            (read.volts - wanted.volts).abs() < 1e-12,
            "{text}: {read:?}"
        );
        let (a, b) = (read.current_a, wanted.current_a);
        assert_eq!(a.is_some(), b.is_some(), "{text}");
        assert!(
            (a.unwrap_or(0.0) - b.unwrap_or(0.0)).abs() < 1e-15,
            "{text}"
        );
    }
}

#[test]
fn a_file_has_comments_blank_lines_and_a_heading() {
    let text = "\u{feff}# GV-24, bench supply\r\nVoltage;works;direction\r\n\r\n8.5;dead;up # the first\r\n8.8;works;up\r\n";
    let steps = parse(text, "steps.txt").unwrap_or_else(|e| panic!("{e:?}"));
    let places: Vec<_> = steps.iter().map(|s| s.place).collect();
    assert_eq!(places, [StepPlace::Line(4), StepPlace::Line(5)]);
}

#[test]
fn every_bad_line_is_named_with_what_to_do() {
    let text = "8.5 dead up\n8.8 up\nworks up\n8.8 V 9 V works\n8.8 works dead\n8,530 works\n8500 works\n8.8 glows\n8.8 works up 12 A\n";
    let errors = parse(text, "steps.txt").err().unwrap_or_default();
    let lines: Vec<_> = errors.iter().filter_map(|e| e.line).collect();
    assert_eq!(lines, [2, 3, 4, 5, 6, 7, 8, 9]);
    for error in &errors {
        let shown = error.to_string();
        assert!(shown.starts_with("steps.txt, line "), "{shown}");
        assert!(shown.contains("write"), "{shown}");
    }
    for empty in ["", "# nothing\n", "voltage state\n"] {
        let errors = parse(empty, "steps.txt").err().unwrap_or_default();
        assert_eq!(errors.len(), 1, "{empty:?}");
    }
    let many = "8.5 dead up\n".repeat(MOST_READINGS + 1);
    assert!(parse(&many, "steps.txt").is_err());
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC*", rows in "([0-9.,;VvmA# a-z\n-]{0,12}){0,20}") {
        for text in [&text, &rows] {
            if let Ok(steps) = parse(text, "any") {
                prop_assert!(steps.iter().all(|s| (0.0..=100.0).contains(&s.volts)));
            }
        }
    }

    #[test]
    fn what_is_written_out_is_read_back(
        millivolts in 0_u32..100_000,
        works: bool,
        going in prop_oneof![Just(None), Just(Some(Direction::Up)), Just(Some(Direction::Down))],
        microamperes in proptest::option::of(0_u32..10_000_000),
    ) {
        let volts = f64::from(millivolts) / 1e3;
        let current = microamperes.map(|i| f64::from(i) / 1e6);
        let step = step(volts, works, going, current);
        let back = line(&written(&step), StepPlace::Typed).map_err(TestCaseError::fail)?;
        prop_assert_eq!((back.works, back.going), (works, going));
        prop_assert!((back.volts - volts).abs() <= 1e-12 * volts);
        prop_assert_eq!(back.current_a.is_some(), current.is_some());
        let (read, was) = (back.current_a.unwrap_or(0.0), current.unwrap_or(0.0));
        prop_assert!((read - was).abs() <= 1e-12 * was);
    }
}
