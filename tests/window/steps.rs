//! Voltage steps typed in the window. Figures of the 8.4 V class as the trade meets them (common
//! practice): dead at 8.5 V and working at 8.8 V going up, still working at 8.53 V and dead at 8.50 V
//! going down.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use firstpulse::app::models::steps;
use firstpulse::app::shell::Shell;
use firstpulse::app::state::AppState;
use firstpulse::data::{Direction, Options, Setup};
use firstpulse::inspect::ReadOptions;

use super::use_it::{until, window};

/// An empty bench with the sheet in front.
fn opened() -> Harness<'static, Shell> {
    let options = Options {
        controller: Some("UC3843".to_owned()),
        setup: Some(Setup::Injected),
        ..Options::default()
    };
    let state = AppState::empty(ReadOptions::default(), options);
    let mut harness = window(state, None);
    harness.step();
    harness.get_by_label("Voltage steps").click();
    harness.step();
    harness.step();
    harness
}

fn tell(harness: &mut Harness<'_, Shell>, going: &str, volts: &str, word: &str) {
    harness.get_by_label(going).click();
    harness.step();
    let field = harness.get_by_label("VCC set");
    field.focus();
    field.type_text(volts);
    harness.step();
    let count = harness.state().state.case.groups[0].options.steps.len();
    harness.get_by_label(word).click();
    harness.step();
    until(harness, |state| {
        state.case.groups[0].options.steps.len() == count + 1
            && state.inspection().is_some_and(|run| {
                run.steps
                    .as_ref()
                    .is_some_and(|found| found.readings.len() == count + 1)
            })
    });
}

fn four_told() -> Harness<'static, Shell> {
    let mut harness = opened();
    tell(&mut harness, "going up", "8.5", "It is dead");
    tell(&mut harness, "going up", "8.8V", "It works");
    tell(&mut harness, "going down", "8.53", "It works");
    tell(&mut harness, "going down", "8,50V", "It is dead");
    harness
}

#[test]
fn four_readings_give_both_brackets_and_call_the_stop_outside_its_limits() {
    let harness = four_told();
    let model = steps::steps(&harness.state().state);
    assert_eq!(
        model.thresholds,
        [
            ("start", "between 8.5 V (dead) and 8.8 V (works)".to_owned()),
            ("stop", "between 8.5 V (dead) and 8.53 V (works)".to_owned()),
        ]
    );
    // SLUS223G: the stop of the 8.4 V class lies between 7.0 and 8.2 V
    let said = model.remarks.join(" ");
    assert!(said.contains("outside"), "{said}");
    assert!(said.contains("record VCC at its pin"), "{said}");
    assert_eq!(model.rows.len(), 4);
    harness.get_by_label("Voltage steps (4)");
    harness.get_by_label("4 readings on a line of volts, 2 of them works");
}

#[test]
fn the_line_holds_published_limits_and_what_the_readings_leave() {
    let harness = four_told();
    let line = steps::steps(&harness.state().state).line.unwrap();
    let band = |going, published| {
        let mut of_it = line.bands.iter();
        let found = of_it.find(|b| b.going == going && b.published == published);
        found.map(|band| (band.low_v, band.high_v)).unwrap()
    };
    // SLUS223G, x843 and x845: start 7.8 to 9.0 V, stop 7.0 to 8.2 V
    assert_eq!(band(Direction::Up, true), (Some(7.8), Some(9.0)));
    assert_eq!(band(Direction::Down, true), (Some(7.0), Some(8.2)));
    assert_eq!(band(Direction::Up, false), (Some(8.5), Some(8.8)));
    assert_eq!(band(Direction::Down, false), (Some(8.5), Some(8.53)));
    assert!(!line.undirected);
    let held = |volts: f64| line.ends_v.0 < volts && volts < line.ends_v.1;
    assert!(line.marks.iter().all(|mark| held(mark.volts)));
}

#[test]
fn a_reading_removed_takes_its_bracket_with_it() {
    let mut harness = four_told();
    harness
        .get_by_label("Remove the reading works at 8.53 V, going down")
        .click();
    harness.step();
    until(&mut harness, |state| {
        let found = state.inspection().and_then(|run| run.steps.as_ref());
        found.is_some_and(|found| found.readings.len() == 3)
    });
    let model = steps::steps(&harness.state().state);
    assert_eq!(
        model.thresholds[1],
        ("stop", "above 8.5 V (dead); no working reading".to_owned())
    );
}

#[test]
fn what_is_no_reading_stays_in_its_field_with_the_reason() {
    for (volts, current, reason) in [
        ("", "", "Type the voltage on VCC first"),
        ("8.8", "11.5", "Which unit has the current"),
        ("eight", "", "is not understood"),
        ("8.8 V 9 V", "", "two voltages"),
        ("2000", "", "no supply voltage of a controller"),
    ] {
        let mut harness = opened();
        for (name, text) in [("VCC set", volts), ("Supply current", current)] {
            let field = harness.get_by_label(name);
            field.focus();
            field.type_text(text);
            harness.step();
        }
        harness.get_by_label("It works").click();
        harness.step();
        let form = &harness.state().state.steps;
        assert!(form.wrong.join(" ").contains(reason), "{:?}", form.wrong);
        assert_eq!(form.volts, volts);
        assert!(
            harness.state().state.case.groups[0]
                .options
                .steps
                .is_empty()
        );
    }
}

#[test]
fn a_file_of_readings_is_added_and_a_bad_one_names_its_lines() {
    let folder = tempfile::tempdir().unwrap();
    let good = folder.path().join("good.txt");
    std::fs::write(&good, "8.5 dead up\n8.8 works up\n").unwrap();
    let bad = folder.path().join("bad.txt");
    std::fs::write(&bad, "8.5 dead up\n8.8 perhaps\n").unwrap();
    let mut harness = opened();
    for path in [&bad, &good] {
        let field = harness.get_by_label("File of voltage steps");
        field.focus();
        field.type_text(&path.to_string_lossy());
        harness.step();
        harness
            .get_by_label("Read the file of voltage steps")
            .click();
        harness.step();
        until(&mut harness, |state| !state.steps.reading);
        let state = &mut harness.state_mut().state;
        if path == &bad {
            assert!(
                state.steps.wrong[0].contains("line 2"),
                "{:?}",
                state.steps.wrong
            );
            state.steps.path.clear();
            harness.step();
        } else {
            assert_eq!(state.steps.wrong, Vec::<String>::new());
            assert_eq!(state.case.groups[0].options.steps.len(), 2);
        }
    }
}
