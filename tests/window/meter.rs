//! Setting a channel to a meter reading in the window, on the built-in unit.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use firstpulse::app::commands::{Command, Effect, apply};
use firstpulse::app::meter::{End, MeterCommand};
use firstpulse::app::models::meter;
use firstpulse::app::shell::Shell;
use firstpulse::app::state::{AppState, Below};
use firstpulse::data::Options;
use firstpulse::inspect::ReadOptions;

use super::use_it::{example_state, until, window};

fn tell(state: &mut AppState, command: MeterCommand) -> Option<Effect> {
    apply(state, Command::Meter(command))
}

/// The built-in unit, inspected, with the form unfolded.
fn opened() -> Harness<'static, Shell> {
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let mut harness = window(state, None);
    let ctx = harness.ctx.clone();
    harness.state_mut().begin(&ctx, Vec::new());
    until(&mut harness, |state| state.inspection().is_some());
    harness.state_mut().state.select_shot(0);
    harness.step();
    harness.get_by_label("Set to a meter reading").click();
    harness.step();
    harness.step();
    harness
}

fn try_it(harness: &mut Harness<'_, Shell>, reading: &str) {
    let field = harness.get_by_label("Meter read");
    field.focus();
    field.type_text(reading);
    harness.step();
    harness
        .get_by_label("Set the channel to this reading")
        .click();
    harness.step();
    until(harness, |state| state.meter.tried.is_none());
}

#[test]
fn a_reading_over_a_span_narrows_the_channel_and_removing_it_gives_back_all() {
    let mut harness = opened();
    let before = harness.state().state.case.groups[0].options.clone();
    // VREF stands at 5 V from the first start to the first stop
    let state = &mut harness.state_mut().state;
    tell(state, MeterCommand::Channel(1));
    apply(state, Command::MarkSpan(Some((9.6, 11.4))));
    harness.step();
    let accuracy = harness.get_by_label("Accuracy of this meter");
    accuracy.focus();
    accuracy.type_text("0.5%+10mV");
    harness.step();
    try_it(&mut harness, "5.01V");
    // what the meter is good for is no reading
    harness.get_by_label("What you know: 0 readings, 5 parts");
    let model = meter::meter(&harness.state().state);
    assert_eq!(model.wrong, None);
    assert_eq!(model.readings.len(), 1);
    assert!(
        model.readings[0].contains("the meter read 5.010 V, the scope showed "),
        "{:?}",
        model.readings
    );
    assert!(
        model.said[0].starts_with("Shot 1, channel 2 is set to the meter"),
        "{:?}",
        model.said
    );
    assert_eq!(model.title, "Set to the meter (1)");
    let inspection = harness.state().state.inspection().unwrap();
    let tied = inspection.captures[0].channels[1].set_to_meter.as_ref();
    let tied = tied.unwrap();
    assert!(tied.after_u95 < tied.before_u95);
    harness.get_by_label_contains("Shot 1, channel 2 is set to the meter");
    harness
        .get_by_label_contains("Remove the reading shot 1, channel 2")
        .focus();
    harness.step();
    harness.key_press(egui::Key::Enter);
    until(&mut harness, |state| {
        state.case.groups[0].options.meter_points.is_empty() && state.meter.tried.is_none()
    });
    let state = &harness.state().state;
    let meter = state.case.groups[0].options.meter;
    assert!(meter.is_some());
    assert_eq!(state.case.groups[0].options, Options { meter, ..before });
    let inspection = state.inspection().unwrap();
    let all = inspection.captures.iter().flat_map(|c| &c.channels);
    assert!(all.clone().all(|known| known.set_to_meter.is_none()));
}

#[test]
fn a_piece_that_moves_and_a_time_beyond_the_record_are_refused_and_change_nothing() {
    let mut harness = opened();
    let before = harness.state().state.case.groups[0].options.clone();
    for (from, to, wanted) in [("4s", "6s", "moves by"), ("99s", "", "has no samples")] {
        let state = &mut harness.state_mut().state;
        tell(state, MeterCommand::Channel(0));
        tell(state, MeterCommand::EditTime(End::From, from.to_owned()));
        tell(state, MeterCommand::EditTime(End::To, to.to_owned()));
        tell(state, MeterCommand::EditReading(String::new()));
        harness.step();
        try_it(&mut harness, "10V");
        let state = &harness.state().state;
        let wrong = state.meter.wrong.clone().unwrap();
        assert!(wrong.contains(wanted), "{wrong}");
        assert_eq!(state.case.groups[0].options, before);
        assert_eq!(state.refusals[0], None);
        assert_eq!(meter::meter(state).from, from, "what was typed stays");
        harness.get_by_label(&wrong);
    }
}

#[test]
fn what_can_not_be_meant_is_said_at_once() {
    let mut state = example_state();
    let before = state.case.groups[0].options.clone();
    let mut wrong = |from: &str, to: &str, reading: &str| {
        tell(
            &mut state,
            MeterCommand::EditTime(End::From, from.to_owned()),
        );
        tell(&mut state, MeterCommand::EditTime(End::To, to.to_owned()));
        tell(&mut state, MeterCommand::EditReading(reading.to_owned()));
        assert_eq!(tell(&mut state, MeterCommand::Set), None);
        assert_eq!(state.case.groups[0].options, before);
        state.meter.wrong.clone().unwrap()
    };
    assert!(wrong("", "", "5V").starts_with("Drag over a piece"));
    assert!(wrong("2s", "1s", "5V").contains("ends before it begins"));
    assert!(wrong("1s", "2s", " ").starts_with("Type what the meter read"));
    assert!(wrong("1s", "2s", "5x").contains("'5x' is no value"));
    assert!(wrong("soon", "", "5V").contains("'soon' is no value"));
}

#[test]
fn a_dragged_span_fills_the_times_and_a_typed_one_stays_until_the_next_drag() {
    let mut state = example_state();
    apply(&mut state, Command::Unfold(Some(Below::Meter)));
    apply(&mut state, Command::MarkSpan(Some((3.0, 2.0))));
    let times = |state: &AppState| {
        let model = meter::meter(state);
        (model.from, model.to)
    };
    let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
    assert_eq!(times(&state), pair("2.0000 s", "3.0000 s"));
    tell(&mut state, MeterCommand::EditTime(End::To, String::new()));
    assert_eq!(times(&state), pair("2.0000 s", ""));
    tell(&mut state, MeterCommand::EditReading("8V".to_owned()));
    assert_eq!(
        tell(&mut state, MeterCommand::Set),
        Some(Effect::Examine(0))
    );
    let point = &state.case.groups[0].options.meter_points[0];
    assert!((point.from_s - 2.0).abs() < 1e-9 && (point.to_s - 2.0).abs() < 1e-9);
    assert_eq!(point.channel.capture, Some(1));
    apply(&mut state, Command::MarkSpan(Some((4.0, 5.0))));
    assert_eq!(times(&state), pair("4.0000 s", "5.0000 s"));
}

#[test]
fn channels_of_one_range_are_told_together_and_apart_and_follow_their_shots() {
    let mut state = example_state();
    apply(&mut state, Command::Unfold(Some(Below::Meter)));
    let same = |shot, same| MeterCommand::SameRange {
        shot,
        channel: 0,
        same,
    };
    let told = |state: &AppState| -> Vec<(usize, usize)> {
        let all = meter::meter(state).same;
        let told = all.iter().filter(|other| other.same);
        told.map(|other| (other.shot, other.channel)).collect()
    };
    assert!(tell(&mut state, same(1, true)).is_some());
    assert!(tell(&mut state, same(3, true)).is_some());
    assert_eq!(told(&state), [(1, 0), (3, 0)]);
    assert!(tell(&mut state, same(1, true)).is_none(), "told already");
    tell(&mut state, same(1, false));
    assert_eq!(told(&state), [(3, 0)]);
    apply(&mut state, Command::RemoveShot(1));
    assert_eq!(told(&state), [(2, 0)], "the fourth shot is the third now");
    apply(&mut state, Command::RemoveShot(2));
    assert!(state.case.groups[0].options.same_range.is_empty());
}
