//! The shot list in the window, and what the next file takes from it, with captures of the built-in
//! unit (whose roles its own list of shots tells).

use std::path::PathBuf;

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use firstpulse::app::commands::Effect;
use firstpulse::app::models::plan;
use firstpulse::app::shell::Shell;
use firstpulse::app::state::{AppState, MiddleView};
use firstpulse::data::{Options, Role, Setup};
use firstpulse::inspect::ReadOptions;

use super::use_it::{until, window};

fn capture(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("captures/gv24")
        .join(name)
}

/// A cleared bench with the sheet in front, fed as injected.
fn opened() -> Harness<'static, Shell> {
    let options = Options {
        controller: Some("UC3844".to_owned()),
        ..Options::default()
    };
    let state = AppState::empty(ReadOptions::default(), options);
    let mut harness = window(state, None);
    harness.step();
    harness.get_by_label("New unit").click();
    harness.step();
    until(&mut harness, |state| state.inspection().is_some());
    assert_eq!(harness.state().state.view, MiddleView::Plan);
    assert!(plan::plan(&harness.state().state).none.is_some());
    let state = &mut harness.state_mut().state;
    let command = firstpulse::app::plan::PlanCommand::Setup(Setup::Injected);
    let effect = firstpulse::app::plan::apply(state, command);
    let ctx = harness.ctx.clone();
    if let Some(effect) = effect {
        harness.state_mut().follow(&ctx, effect);
    }
    until(&mut harness, |state| plan::left(state).is_some());
    harness
}

fn open(harness: &mut Harness<'_, Shell>, name: &str) {
    let ctx = harness.ctx.clone();
    let files = vec![capture(name)];
    harness.state_mut().follow(&ctx, Effect::Load(files));
    until(harness, |state| {
        let waits = state.plan.awaited.is_some();
        let inspected = state.inspection().map_or(0, |run| run.captures.len());
        !waits && inspected > 0 && inspected == state.case.groups[0].shots.len()
    });
    for _ in 0..200 {
        // what follows from the plan is inspected too
        harness.step();
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
}

fn roles(harness: &Harness<'_, Shell>, shot: usize) -> Vec<(Option<Role>, bool)> {
    let run = harness.state().state.inspection();
    let channels = run.map_or(&[][..], |run| &run.captures[shot].channels);
    let told = channels.iter().map(|c| (c.role.value, c.role.by_user));
    told.collect()
}

#[test]
fn a_file_takes_the_roles_of_the_shot_that_was_chosen_and_the_next_follows_by_itself() {
    let mut harness = opened();
    let before = plan::left(&harness.state().state).unwrap();
    harness
        .get_by_label("Take this next: VCC (7) + VREF (8)")
        .click();
    harness.step();
    open(&mut harness, "01-sweep-vcc-vref.csv");
    assert_eq!(
        roles(&harness, 0),
        [(Some(Role::Vcc), true), (Some(Role::Vref), true)]
    );
    let state = &harness.state().state;
    assert_eq!(
        state.plan.said.as_deref(),
        Some("Shot 1 was taken as planned: VCC (7) + VREF (8), injected.")
    );
    assert_eq!(plan::left(state), Some(before - 1));
    let model = plan::plan(state);
    let next: Vec<&str> = model
        .shots
        .iter()
        .filter(|(_, shot)| shot.next)
        .map(|(_, shot)| shot.title.as_str())
        .collect();
    assert_eq!(next, ["VCC (7) + RT/CT (4)"]);
    harness.state_mut().state.view = MiddleView::Lanes;
    harness.step();
    harness.step();
    harness.get_by_label_contains("set by you. Taken at the pin.");
    // and so a second file needs no question at all
    open(&mut harness, "02-sweep-vcc-rtct.csv");
    assert_eq!(
        roles(&harness, 1),
        [(Some(Role::Vcc), true), (Some(Role::RtCt), true)]
    );
}

#[test]
fn a_record_that_looks_like_something_else_is_asked_about_and_left_as_it_is() {
    let mut harness = opened();
    harness
        .get_by_label("Take this next: VCC (7) + VREF (8)")
        .click();
    harness.step();
    open(&mut harness, "03-running-rtct-out.csv");
    assert!(harness.state().state.plan.offer.is_some());
    assert!(roles(&harness, 0).iter().all(|(_, by_user)| !by_user));
    harness.get_by_label_contains("Planned for this file: VCC (7) + VREF (8)");
    harness.get_by_label("Leave them").click();
    harness.step();
    assert_eq!(harness.state().state.plan.offer, None);
    assert!(roles(&harness, 0).iter().all(|(_, by_user)| !by_user));
}

#[test]
fn offered_roles_are_set_when_told_so() {
    let mut harness = opened();
    harness
        .get_by_label("Take this next: VCC (7) + VREF (8)")
        .click();
    harness.step();
    open(&mut harness, "03-running-rtct-out.csv");
    harness.get_by_label("Set the planned roles").click();
    harness.step();
    until(&mut harness, |state| {
        let run = state.inspection().unwrap();
        run.captures[0].channels[0].role.by_user
    });
    assert_eq!(
        roles(&harness, 0),
        [(Some(Role::Vcc), true), (Some(Role::Vref), true)]
    );
}

#[test]
fn without_a_chosen_shot_a_file_keeps_what_it_looks_like() {
    let mut harness = opened();
    open(&mut harness, "01-sweep-vcc-vref.csv");
    assert!(roles(&harness, 0).iter().all(|(_, by_user)| !by_user));
    assert_eq!(harness.state().state.plan.said, None);
}

#[test]
fn each_shot_says_pins_settings_and_what_it_answers() {
    let harness = opened();
    let model = plan::plan(&harness.state().state);
    assert_eq!(model.setup, Some(Setup::Injected));
    assert_eq!(model.channels, 2);
    let (_, first) = &model.shots[0];
    assert_eq!(first.title, "VCC (7) + VREF (8)");
    assert!(
        first.head.starts_with("injected, sweep, "),
        "{}",
        first.head
    );
    assert_eq!(first.channels.len(), 2);
    assert!(first.channels[0].starts_with("Channel 1 on VCC (7), at the pin: "));
    assert!(!first.why.is_empty());
}
