//! The sheet of one controller, against SLUS223G where a figure is named: pin functions, thresholds.

use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use firstpulse::app::models::controller_sheet::{ControllerModel, controller};
use firstpulse::app::shell::Shell;
use firstpulse::app::state::{AppState, MiddleView};
use firstpulse::data::Options;
use firstpulse::inspect::ReadOptions;

use super::use_it::{until, window};

/// An empty bench with the sheet in front.
fn opened(marking: &str) -> Harness<'static, Shell> {
    let options = Options {
        controller: Some(marking.to_owned()),
        ..Options::default()
    };
    let mut harness = window(AppState::empty(ReadOptions::default(), options), None);
    harness.step();
    harness.get_by_label("Controller").click();
    for _ in 0..4 {
        harness.step();
    }
    assert_eq!(harness.state().state.view, MiddleView::Controller);
    harness
}

fn model(harness: &Harness<'_, Shell>) -> ControllerModel {
    controller(&harness.state().state)
}

fn search(harness: &mut Harness<'_, Shell>, text: &str) {
    harness.state_mut().state.controller.search = Some(String::new());
    harness.step();
    let field = harness.get_by_role_and_label(Role::TextInput, "Marking to look up");
    field.focus();
    field.type_text(text);
    for _ in 0..3 {
        harness.step();
    }
    assert_eq!(model(harness).search, text);
}

/// SLUS223G, pin functions of the eight-pin package: 1 COMP … 4 RT/CT down the left, 5 GROUND … 8 VREF up
/// the right.
#[test]
fn the_marking_of_the_run_stands_in_front_with_its_pins() {
    let harness = opened("UC3844 (TI)");
    let model = model(&harness);
    let front = model.front.unwrap();
    let numbers: Vec<(u8, u8)> = front
        .rows
        .iter()
        .map(|(left, right)| (left.as_ref().unwrap().pin, right.as_ref().unwrap().pin))
        .collect();
    assert_eq!(numbers, [(1, 8), (2, 7), (3, 6), (4, 5)]);
    let vcc = front.rows[1].1.as_ref().unwrap();
    assert_eq!(vcc.name, "VCC");
    assert!(vcc.stopped.contains("below 16 V"), "{}", vcc.stopped);
    assert!(vcc.sources.contains("SLUS223G"), "{}", vcc.sources);
    let ramp = front.rows[3].0.as_ref().unwrap();
    assert!(ramp.connect.contains("x10 probe"), "{}", ramp.connect);
}

/// Each pin is one sentence that the keyboard reaches, with where its figures come from.
#[test]
fn a_pin_is_reached_by_focus_and_says_its_source() {
    let mut harness = opened("UC3844 (TI)");
    let pin = harness.get_by_label_contains("Pin 7 VCC: stopped below 16 V");
    pin.focus();
    harness.step();
    harness.step();
    let pin = harness.get_by_label_contains("Pin 7 VCC: stopped below 16 V");
    assert!(pin.is_focused());
    let node = pin.accesskit_node();
    let label = node.label().or(node.value()).unwrap_or_default();
    assert!(
        label.contains("bench supply +") && label.contains("SLUS223G"),
        "{label}"
    );
}

/// SLUS223G 7.5, x842 and x844: start 14.5 to 17.5 V, 16 V typical.
#[test]
fn every_value_has_its_source_on_the_same_line() {
    let harness = opened("UC3844 (TI)");
    let front = model(&harness).front.unwrap();
    let start = front.values.iter().find(|v| v.meaning == "start threshold");
    let start = start.unwrap();
    assert_eq!(start.figures, ["14.5 V", "16 V", "17.5 V"]);
    assert!(start.origin.contains("SLUS223G"), "{}", start.origin);
    assert!(!start.provisional);
    assert!(front.values.iter().all(|value| !value.origin.is_empty()));
    assert!(front.ceilings[0].starts_with("18 V at VCC: "));
    // the absolute maximum stands among the higher figures
    let known = front
        .figures
        .iter()
        .any(|f| f.starts_with("30 V") && f.contains("SLUS223G"));
    assert!(known, "{:?}", front.figures);
}

#[test]
fn a_value_from_memory_is_called_provisional() {
    let harness = opened("SG6841");
    let front = model(&harness).front.unwrap();
    let mut remembered = front.values.iter().filter(|value| value.provisional);
    let first = remembered.next().unwrap();
    assert!(first.origin.contains("provisional"), "{}", first.origin);
    assert!(front.about.iter().any(|text| text.contains("provisional")));
}

#[test]
fn one_of_several_matches_is_put_in_front_and_judged_by() {
    let mut harness = opened("UC3844");
    let before = model(&harness);
    assert!(before.matches.len() > 1);
    assert_eq!(before.judge_by, "UC3844");
    harness.get_by_label("Show UC3844 (TI, original)").click();
    for _ in 0..3 {
        harness.step();
    }
    harness.get_by_label("Judge by this: uc3844-ti").click();
    for _ in 0..2 {
        harness.step();
    }
    let state = &harness.state().state;
    let told = state.case.groups[0].options.controller.as_deref();
    assert_eq!(told, Some("uc3844-ti"));
    assert_eq!(state.marking, "uc3844-ti");
}

#[test]
fn a_slip_of_the_pen_offers_what_is_near_and_a_makers_name_lists_its_parts() {
    let mut harness = opened("UC3844");
    search(&mut harness, "UCC3944");
    let unknown = model(&harness);
    assert!(
        unknown.note.contains("no controller is known"),
        "{}",
        unknown.note
    );
    let near = unknown.near.first().unwrap().clone();
    harness.get_by_label(&format!("Look up {near}")).click();
    for _ in 0..3 {
        harness.step();
    }
    assert!(model(&harness).front.is_some());
    search(&mut harness, "anachip");
    let listed = model(&harness);
    assert!(
        listed
            .matches
            .iter()
            .any(|(_, title)| title.contains("AP3844"))
    );
    // no marking: it is judged by the profile itself
    assert_eq!(listed.judge_by, listed.front.unwrap().id);
}

#[test]
fn a_marking_that_is_not_trusted_stands_for_its_class() {
    let mut harness = opened("UC3844 (TI)");
    assert_eq!(model(&harness).matches.len(), 1);
    harness.get_by_label("marking not trusted").click();
    for _ in 0..3 {
        harness.step();
    }
    assert!(
        harness.state().state.case.groups[0]
            .options
            .marking_not_trusted
    );
    let wide = model(&harness);
    assert!(wide.matches.len() > 3, "{:?}", wide.matches);
    assert!(wide.note.contains("widest limits"), "{}", wide.note);
}

/// The built-in unit measures the thresholds of a 16 V part that halves: the class x844.
#[test]
fn which_controller_fits_is_ranked_with_reasons() {
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let mut harness = window(state, None);
    let ctx = harness.ctx.clone();
    harness.state_mut().begin(&ctx, Vec::new());
    until(&mut harness, |state| state.inspection().is_some());
    harness.get_by_label("Controller").click();
    for _ in 0..3 {
        harness.step();
    }
    let fits = model(&harness).fits.unwrap();
    assert!(
        fits.classes[0].words.ends_with("x844"),
        "{:?}",
        fits.classes
    );
    assert!(fits.classes[0].why.contains("start threshold"));
    assert!(fits.lines[0].contains("start threshold"));
    let button = format!("Show the best of {}", fits.classes[0].words);
    // it lies below what is in sight: the keyboard reaches it
    harness.get_by_label(&button).focus();
    harness.step();
    harness.key_press(egui::Key::Enter);
    for _ in 0..3 {
        harness.step();
    }
    assert_eq!(model(&harness).front.unwrap().id, fits.classes[0].id);
}
