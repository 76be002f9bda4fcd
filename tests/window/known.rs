//! What the user types in, where evidence is seen, and what a frame costs.

use std::sync::Arc;

use firstpulse::app::commands::{Command, Effect, apply};
use firstpulse::app::kept::Kept;
use firstpulse::app::models::cards::short;
use firstpulse::app::models::{Middle, PanelModel, known};
use firstpulse::app::state::{AppState, Explained};
use firstpulse::app::told::Field;
use firstpulse::data::{Capture, Channel, Options, Samples, SerialRunner, Stage, Store, TimeAxis};
use firstpulse::inspect::{ReadOptions, Shot, facts_of};

use super::use_it::example_state;

fn typed(state: &mut AppState, field: Field, text: &str) -> Option<Effect> {
    apply(state, Command::EditField(field, text.to_owned()));
    apply(state, Command::EnterField(field))
}

#[test]
fn what_is_typed_becomes_an_option_once_and_an_empty_field_takes_it_back() {
    let mut state = example_state();
    state.case.groups[0].options = Options::default();
    let bulk = Field::Reading("bulk");
    let options = |state: &AppState| state.case.groups[0].options.clone();
    assert_eq!(typed(&mut state, bulk, "300mV"), Some(Effect::Examine(0)));
    assert!((options(&state).readings["bulk"] - 0.3).abs() < 1e-12);
    assert_eq!(known::bulk(&state).text, "300 mV");
    assert_eq!(typed(&mut state, bulk, "0.3V"), None);
    assert!(typed(&mut state, Field::Part("rt"), "4k7").is_some());
    assert!((options(&state).parts["rt"] - 4700.0).abs() < 1e-9);
    assert!(typed(&mut state, Field::Factor(0, 1), "x10").is_some());
    assert!(typed(&mut state, Field::Factor(0, 1), "100:1").is_some());
    let probes = options(&state).probes;
    assert_eq!(probes.len(), 1);
    assert!((probes[0].1 - 100.0).abs() < 1e-9);
    assert!(typed(&mut state, Field::Accuracy(0, 0), "1%+20mV").is_some());
    assert!(typed(&mut state, bulk, "").is_some());
    assert!(options(&state).readings.is_empty());
}

#[test]
fn what_means_nothing_stays_with_its_reason_and_changes_nothing() {
    let mut state = example_state();
    let before = state.case.groups[0].options.clone();
    assert_eq!(typed(&mut state, Field::Part("ct"), "4x7"), None);
    assert_eq!(state.case.groups[0].options, before);
    let model = known::known(&state);
    let field = model.rows[1].1.iter().find(|f| f.label == "CT").unwrap();
    assert_eq!(field.text, "4x7");
    assert!(field.wrong.as_ref().unwrap().contains("'4x7' is no value"));
}

#[test]
fn cards_have_short_figures() {
    assert_eq!(
        short("start threshold 15.85 ± 0.45 V"),
        "start 15.85 ± 0.45 V"
    );
    assert_eq!(short("VREF 5.01 ± 0.16 V"), "VREF 5.01 ± 0.16 V");
}

#[test]
fn a_stage_shows_its_shot_and_an_event_its_place() {
    let mut state = example_state();
    apply(&mut state, Command::Focus(Stage::OwnSupply));
    assert_eq!(state.shot, 3);
    let event = state.inspection().unwrap().events[0].clone();
    apply(&mut state, Command::Visit(Explained::Event(0)));
    assert_eq!(state.shot, event.capture);
    assert_eq!(state.explained, Some(Explained::Event(0)));
    let (from, to) = state.span_s.unwrap();
    assert!(from <= event.at_s && event.at_s <= to);
    let shown = state.shown_s().unwrap();
    assert!(shown.0 <= from && to <= shown.1, "{shown:?}");
    assert!(shown.1 - shown.0 < 0.2 * 10.0, "{shown:?}");
}

#[test]
fn what_is_chosen_again_gives_back_what_was_shown_before() {
    let mut state = example_state();
    apply(&mut state, Command::SelectShot(3));
    let zoom = Command::Zoom {
        at_s: 0.5,
        factor: 0.5,
    };
    apply(&mut state, zoom);
    let own = state.seen();
    let visit = |index| Command::Visit(Explained::Event(index));
    let hint = |state: &AppState| {
        let lines = PanelModel::of(state, None).details.lines;
        lines.iter().any(|line| line.contains("choose it again"))
    };
    apply(&mut state, visit(0));
    let there = state.seen();
    assert!(there != own && hint(&state));
    apply(&mut state, visit(0));
    assert_eq!(state.seen(), own);
    assert_eq!(state.explained, Some(Explained::Event(0)));
    assert!(!hint(&state));
    // once more, and from there on to the next: back leads to what the user had chosen himself
    for index in [0, 1, 1] {
        apply(&mut state, visit(index));
    }
    assert_eq!(state.seen(), own);
    // who went elsewhere meanwhile is brought to the place again
    apply(&mut state, visit(0));
    apply(&mut state, Command::ShowAll);
    apply(&mut state, visit(0));
    assert_eq!(state.seen(), there);
}

/// Four channels of two million samples.
fn long_state() -> AppState {
    const COUNT: usize = 2_000_000;
    let time = Arc::new(TimeAxis::Uniform {
        start_s: 0.0,
        step_s: 1e-6,
        count: COUNT,
    });
    let channels = (0..4_usize).map(|number| {
        let codes = (0..COUNT)
            .map(|k| ((k * (number + 3)) % 251) as u8)
            .collect();
        let empty = Channel::of_volts(format!("CH{number}"), Arc::clone(&time), Vec::new());
        Channel {
            samples: Samples::new(Store::U8(codes), 0.1, 0.0),
            ..empty
        }
    });
    let capture = Capture {
        file: "long.bin".to_owned(),
        format: "bin",
        channels: channels.collect(),
        decisions: Vec::new(),
        notes: Vec::new(),
    };
    let facts = facts_of(&capture, &SerialRunner);
    let shot = Shot {
        capture: Arc::new(capture),
        facts,
    };
    let mut state = AppState::empty(ReadOptions::default(), Options::default());
    state.case.groups[0].shots.push(Arc::new(shot));
    state
}

#[test]
fn lanes_visit_few_samples_at_any_zoom_and_none_when_nothing_moved() {
    let mut state = long_state();
    let capture = Arc::clone(&state.shot().unwrap().capture);
    let visited = || -> u64 { capture.samples_visited() };
    let base = state.shot().unwrap().facts[0].pyramid.base as u64;
    let kept = Kept::default();
    for length_s in [2.0, 0.5, 0.05, 1e-3, 2e-5] {
        apply(&mut state, Command::ShowAll);
        let factor = length_s / 2.0;
        apply(&mut state, Command::Zoom { at_s: 0.7, factor });
        apply(&mut state, Command::MarkSpan(Some((0.69, 0.71))));
        let before = visited();
        let model = PanelModel::with(&state, None, &kept);
        let Middle::Lanes(lanes) = &model.middle else {
            panic!("no lanes");
        };
        assert_eq!(lanes.lanes.len(), 4);
        let cost = visited() - before;
        let columns = (state.lane_columns + 2) as u64;
        let most = 4 * (columns * (2 * base).max(8) + 20_000);
        assert!(cost <= most, "{cost} of at most {most} at {length_s} s");
        let (before, made) = (visited(), kept.made());
        let again = PanelModel::with(&state, None, &kept);
        assert!(matches!(again.middle, Middle::Lanes(_)));
        assert_eq!((visited(), kept.made()), (before, made));
    }
}
