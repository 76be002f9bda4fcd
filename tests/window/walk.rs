//! The walk along the starts and stops of a run.

use egui_kittest::kittest::Queryable;
use firstpulse::app::commands::{Command, apply};
use firstpulse::app::events::Step;
use firstpulse::app::models::{PanelModel, details, events};
use firstpulse::app::state::Explained;
use firstpulse::data::{Event, EventKind, Quantity, Role};

use super::use_it::{example_state, window};

#[test]
fn the_walk_meets_every_start_and_stop_once_in_order_and_ends_at_both_ends() {
    let mut state = example_state();
    let all = state.inspection().unwrap().events.clone();
    assert!(all.len() > 4);
    for (index, event) in all.iter().enumerate() {
        apply(&mut state, Command::Step(Step::On));
        assert_eq!(state.explained, Some(Explained::Event(index)));
        assert_eq!(state.shot, event.capture);
        let (from, to) = state.shown_s().unwrap();
        assert!(from <= event.at_s && event.at_s <= to, "{index}");
    }
    let there = state.seen();
    apply(&mut state, Command::Step(Step::On));
    assert_eq!(state.seen(), there, "the last one stays in view");
    let model = events::events(&state).unwrap();
    assert!(model.back && !model.on, "{model:?}");
    for _ in 1..all.len() {
        apply(&mut state, Command::Step(Step::Back));
    }
    assert_eq!(state.explained, Some(Explained::Event(0)));
    assert!(!events::events(&state).unwrap().back);
    // from elsewhere it begins in the shot shown
    apply(&mut state, Command::SelectShot(3));
    apply(&mut state, Command::Step(Step::On));
    let first = all.iter().position(|e| e.capture == 3).unwrap();
    assert_eq!(state.explained, Some(Explained::Event(first)));
}

#[test]
fn an_event_says_its_volts_its_witness_and_its_place() {
    let event = Event {
        capture: 0,
        kind: EventKind::Start,
        at_s: 2.13,
        within_s: 0.002,
        witness: Role::Vref,
        vcc: Some((15.98, 0.06)),
        why_no_vcc: None,
    };
    let words = details::event_words(&event);
    assert_eq!(
        words,
        "start 15.980 ± 0.060 V, seen on VREF, shot 1, 2.1300 ± 0.0020 s"
    );
    let blind = Event { vcc: None, ..event };
    let words = details::event_words(&blind);
    assert!(words.starts_with("start with VCC not recorded"), "{words}");
}

#[test]
fn what_is_said_beside_a_threshold_stands_with_its_events() {
    let mut state = example_state();
    let found = state.inspections[0].as_mut().unwrap();
    let run = std::sync::Arc::make_mut(found);
    let said = "1 of 3 starts lie far from the others and are not averaged in: 15.2 V at 4.1 s.";
    for judged in &mut run.measured {
        let measured = &mut judged.measured;
        if measured.quantity == Quantity::StartThreshold && measured.capture == Some(0) {
            measured.remarks = vec![said.to_owned()];
        }
    }
    let of = |index| {
        let run = state.inspection().unwrap();
        let lines = details::details(
            Some(run),
            Some(Explained::Event(index)),
            firstpulse::data::Stage::Supply,
        )
        .lines;
        lines.iter().any(|line| line == said)
    };
    let all = &state.inspection().unwrap().events;
    for (index, event) in all.iter().enumerate() {
        let wanted = event.capture == 0 && event.kind == EventKind::Start;
        assert_eq!(of(index), wanted, "event {index}");
    }
}

#[test]
fn the_buttons_are_reached_by_key_and_say_where_the_walk_is() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.get_by_label("Next start or stop").focus();
    harness.run();
    assert!(harness.get_by_label("Next start or stop").is_focused());
    harness.key_press(egui::Key::Enter);
    harness.run();
    let explained = harness.state().state.explained;
    assert_eq!(explained, Some(Explained::Event(0)));
    harness.get_by_label("event 1 of 18");
    let title = PanelModel::of(&harness.state().state, None).details.title;
    assert!(
        title.starts_with("start 16.04 ± 0.43 V, seen on VREF, shot 1, 4"),
        "{title}"
    );
}
