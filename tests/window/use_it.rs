//! Using the window by name, pointer and key.

use std::path::PathBuf;
use std::sync::Arc;

use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use firstpulse::app::commands::{Command, Effect, apply};
use firstpulse::app::dialog::{Answer, Ask, PickFiles, Showing};
use firstpulse::app::group_edits::take_shots;
use firstpulse::app::models::PanelModel;
use firstpulse::app::shell::Shell;
use firstpulse::app::state::{AppState, Explained, MiddleView};
use firstpulse::app::theme;
use firstpulse::data::options::ChannelChoice;
use firstpulse::data::{Options, Role, Setup, Stage};
use firstpulse::inspect::ReadOptions;

use super::example;

struct Picks(Option<Vec<PathBuf>>);

impl PickFiles for Picks {
    fn ask(&self, _: Ask) -> Answer {
        let files = self.0.clone();
        Box::new(move || files)
    }

    fn show(&self, file: PathBuf) -> Showing {
        Box::new(move || Some(format!("asked to show {}", file.display())))
    }
}

pub fn example_state() -> AppState {
    let case = example::case();
    let inspections = example::inspections(&case);
    let mut state = AppState::empty(ReadOptions::default(), Options::default());
    state.take_case(case, true);
    state.inspections = inspections.into_iter().map(|i| Some(Arc::new(i))).collect();
    state
}

pub fn window(state: AppState, picks: Option<Vec<PathBuf>>) -> Harness<'static, Shell> {
    Harness::builder()
        .with_size(egui::vec2(1366.0, 768.0))
        .with_max_steps(30)
        .with_context_setup(theme::install)
        .build_ui_state(
            |ui, shell: &mut Shell| {
                let ctx = ui.ctx().clone();
                shell.poll(&ctx);
                shell.frame(ui);
            },
            Shell::new(state, Box::new(Picks(picks))),
        )
}

/// Steps until work off the UI thread has had its effect.
pub fn until(harness: &mut Harness<'_, Shell>, done: impl Fn(&AppState) -> bool) {
    for _ in 0..2000 {
        harness.step();
        if done(&harness.state().state) {
            harness.step();
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    panic!("nothing came of it");
}

#[test]
fn a_card_is_found_by_its_state_and_a_click_puts_it_in_focus() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.get_by_label_contains("Own supply: dead.").click();
    harness.run();
    assert_eq!(harness.state().state.focus, Stage::OwnSupply);
    harness.get_by_label_contains("hiccup period, shot 4: 420.0 ± 2.0 ms");
    harness.get_by_label_contains("Supply: working. start 16.04 ± 0.43 V.");
    harness.get_by_label_contains("Current sense: not tested.");
}

#[test]
fn arrow_keys_walk_along_the_cards_and_enter_chooses() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.get_by_label_contains("Supply: working.").focus();
    harness.run();
    harness.key_press(Key::ArrowRight);
    harness.run();
    harness.key_press(Key::ArrowRight);
    harness.run();
    assert_eq!(harness.state().state.focus, Stage::Oscillator);
    assert!(
        harness
            .get_by_label_contains("Oscillator: working.")
            .is_focused()
    );
    harness.key_press(Key::ArrowLeft);
    harness.run();
    assert_eq!(harness.state().state.focus, Stage::Reference);
    harness.get_by_label_contains("Drive: working.").focus();
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(harness.state().state.focus, Stage::Drive);
}

#[test]
fn the_three_lines_and_the_banner_are_always_there() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.get_by_label_contains("Supply, reference, oscillator and drive, fed");
    harness.get_by_label_contains("The unit does not run on its own winding");
    harness.get_by_label_contains("Unpowered and discharged");
    harness.get_by_label_contains("Do not exceed 30 V, 30 mA");
    assert!(
        harness
            .get_all_by_label("Bulk voltage not measured")
            .count()
            >= 1
    );
}

#[test]
fn another_role_becomes_an_option_and_replaces_the_one_before() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.get_by_label("Pin of channel CH1: VCC (7)").click();
    harness.run();
    harness.get_by_label("Bulk").click();
    harness.run_steps(3);
    let roles = harness.state().state.case.groups[0].options.roles.clone();
    assert_eq!(roles.len(), 1);
    assert_eq!(roles[0].role, Role::Bulk);
    let channel = ChannelChoice {
        capture: Some(1),
        channel: "1".to_owned(),
    };
    assert_eq!(roles[0].channel, channel);
    let mut state = example_state();
    for role in [Role::Bulk, Role::Aux] {
        let asked = Command::SetRole {
            shot: 0,
            channel: 0,
            role,
        };
        assert_eq!(apply(&mut state, asked), Some(Effect::Examine(0)));
    }
    assert_eq!(state.case.groups[0].options.roles.len(), 1);
}

#[test]
fn a_verdict_explains_itself_by_keyboard_and_is_copied() {
    let mut state = example_state();
    state.focus = Stage::Supply;
    let mut harness = window(state, None);
    harness.run();
    harness
        .get_by_label_contains("stop threshold, shot 2: 11.35 ±")
        .focus();
    harness.run();
    assert_eq!(
        harness.state().state.explained,
        Some(Explained::Measured(4))
    );
    harness.get_by_label_contains("VCC at which the controller stops");
    harness.get_by_label_contains("The chance that it lies within is");
    harness.get_by_label_contains("gain (assumed)");
    harness.get_by_label_contains("Set the channel to a multimeter reading.");
    harness.event(egui::Event::Copy);
    harness.step();
    let copied = harness.output().platform_output.commands.iter().any(|command| {
        matches!(command, egui::OutputCommand::CopyText(text) if text.starts_with("stop threshold\tshot 2\t11.35 ±") && text.contains("\t8.500 V … 11.50 V\tcannot say\t"))
    });
    assert!(copied, "{:?}", harness.output().platform_output.commands);
}

#[test]
fn a_suspect_and_a_start_explain_themselves() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness
        .get_by_label_contains("likely: auxiliary winding path open")
        .click();
    harness.run();
    harness.get_by_label_contains("Next check: Unpowered, diode test across");
    harness.get_by_label_contains("Shot 1: sweep").click();
    harness.run();
    harness
        .get_by_label_contains("seen on VREF, shot 1, 4")
        .click();
    harness.run();
    assert!(matches!(
        harness.state().state.explained,
        Some(Explained::Event(0))
    ));
    harness.get_by_label_contains("VREF (8) told it.");
}

#[test]
fn plus_zooms_home_shows_all_and_a_drag_marks_a_span() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.key_press(Key::Plus);
    harness.run();
    let (from, to) = harness.state().state.window_s.unwrap();
    assert!((to - from - 5.0).abs() < 0.01, "{from} {to}");
    harness.key_press(Key::Home);
    harness.run();
    assert_eq!(harness.state().state.window_s, None);
    let lanes = harness.get_by_label_contains("Lanes of shot 1").rect();
    let at = |share: f32| lanes.left_top() + egui::vec2(share * lanes.width(), 30.0);
    harness.drag_at(at(0.25));
    harness.step();
    harness.hover_at(at(0.4));
    harness.step();
    harness.drop_at(at(0.5));
    harness.run();
    let (from, to) = harness.state().state.span_s.unwrap();
    assert!(
        (from - 2.5).abs() < 0.1 && (1.4..=2.6).contains(&(to - from)),
        "{from} {to}"
    );
    harness.get_by_label("Clear the span").click();
    harness.run();
    assert_eq!(harness.state().state.span_s, None);
}

#[test]
fn loop_shots_and_groups_can_be_chosen() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.get_by_label("Threshold loop").click();
    harness.run();
    assert_eq!(harness.state().state.view, MiddleView::Loop);
    harness.get_by_label_contains("Threshold loop, VCC across; VREF (8) up, 2 sweeps");
    harness.get_by_label("Lanes").click();
    harness
        .get_by_label_contains("Shot 4: start, VCC + VREF")
        .click();
    harness.run();
    assert_eq!(harness.state().state.shot, 3);
    harness.get_by_label("after the repair").click();
    harness.run();
    assert_eq!(
        (harness.state().state.group, harness.state().state.shot),
        (1, 0)
    );
    harness
        .get_by_label_contains("Own supply: working.")
        .click();
    harness.run();
    harness.get_by_label_contains("start-up margin, shot 1, was −40 ± 20 mV: 2.90");
}

#[test]
fn an_empty_window_says_what_to_do() {
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let mut harness = window(state, None);
    harness.run();
    harness.get_by_label_contains("No captures in this group yet.");
    harness.get_by_label_contains("Record VCC and VREF");
    harness.get_by_label("nothing tested yet");
    harness.get_by_label("Nothing inspected yet.");
    harness.get_by_label_contains("Supply: not tested.");
}

#[test]
fn a_file_that_is_not_there_is_reported_until_put_away() {
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let mut harness = window(state, None);
    harness.run();
    let field = harness.get_by_role_and_label(egui::accesskit::Role::TextInput, "Open a capture");
    field.focus();
    field.type_text("/no/such/capture.csv");
    harness.run();
    harness.get_by_label("Open").click();
    until(&mut harness, |state| !state.problems.is_empty());
    harness.get_by_label_contains("Could not open /no/such/capture.csv");
    harness.get_by_label_contains("Check the path");
    harness.get_by_label("Put away").click();
    harness.run();
    assert!(harness.state().state.problems.is_empty());
}

#[test]
fn the_dialog_is_asked_on_this_thread_and_its_files_are_opened() {
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let mut harness = window(state, Some(vec![PathBuf::from("/no/such/dialog.csv")]));
    harness.run();
    harness.get_by_label("Choose files…").click();
    until(&mut harness, |state| !state.problems.is_empty());
    harness.get_by_label_contains("Could not open /no/such/dialog.csv");
}

#[test]
fn long_and_hostile_names_do_no_harm() {
    let mut state = example_state();
    let name: String = "CH\u{202E}\u{1b}[31m".to_owned() + &"very long name ".repeat(40);
    let waves: Vec<(&str, example::Wave)> = vec![(&name, Box::new(|t, _| t))];
    let shot = example::shot(&("x".repeat(500) + ".csv"), 1.0, 3000, waves);
    state.case.groups[0].shots.push(shot);
    state.select_shot(4);
    let model = PanelModel::of(&state, None);
    let file = &model.shots[4].file;
    assert!(file.chars().count() <= 65, "{file}");
    let mut harness = window(state, None);
    harness.run();
    let found = harness.get_by_label_contains("Pin of channel CH··[31mvery long");
    let label = found.accesskit_node().label().unwrap();
    assert!(!label.contains('\u{202E}') && !label.contains('\u{1b}'));
}

#[test]
fn a_smaller_window_still_has_everything() {
    let mut harness = window(example_state(), None);
    harness.set_size(egui::vec2(900.0, 600.0));
    harness.run();
    let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(900.0, 600.0));
    for name in [
        "Own supply: dead.",
        "Do not exceed",
        "Measure next",
        "Lanes of shot 1",
    ] {
        let rect = harness.get_by_label_contains(name).rect();
        assert!(screen.contains_rect(rect), "{name} at {rect:?}");
        assert!(rect.height() > 8.0, "{name} at {rect:?}");
    }
}

#[test]
fn two_files_that_cannot_be_read_are_both_seen_and_named_once() {
    let folder = tempfile::tempdir().unwrap();
    let (png, empty) = (
        folder.path().join("wrong.png"),
        folder.path().join("empty.csv"),
    );
    std::fs::write(
        &png,
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x05V\0\0\x03\0\x08\x02\0\0\0",
    )
    .unwrap();
    std::fs::write(&empty, b"").unwrap();
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let mut harness = window(state, Some(vec![png, empty]));
    harness.run();
    harness.get_by_label("Choose files…").click();
    until(&mut harness, |state| state.problems.len() == 2);
    harness.run();
    for problem in &harness.state().state.problems {
        assert!(!problem.why.contains("wrong.png"), "{problem:?}");
        assert!(!problem.why.contains("empty.csv"), "{problem:?}");
    }
    let cards = harness.get_by_label_contains("Supply: not tested.").rect();
    for put_away in harness.get_all_by_label("Put away") {
        let rect = put_away.rect();
        assert!(rect.bottom() <= cards.top(), "{rect:?} under {cards:?}");
    }
}

/// With a unit of one's own the head line holds one button more.
#[test]
fn controls_of_a_smaller_window_do_not_lie_on_each_other() {
    for (width, height) in [(900.0, 600.0), (1366.0, 768.0)] {
        let mut state = example_state();
        state.demo = false;
        state.case.groups.truncate(1);
        state.inspections.truncate(1);
        state.refusals.truncate(1);
        state.case.title = "Greenhouse ventilation, third row".to_owned();
        let mut inspection = (**state.inspections[0].as_ref().unwrap()).clone();
        inspection.lines.works = "It starts where it must, and so on. ".repeat(9);
        state.inspections[0] = Some(Arc::new(inspection));
        let mut harness = window(state, None);
        harness.set_size(egui::vec2(width, height));
        harness.run();
        let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(width, height));
        let low = height < 680.0;
        let look = if low {
            "Light or dark: As desktop"
        } else {
            "As desktop"
        };
        let lanes = harness.get_by_label_contains("Lanes of shot 1").rect();
        assert!(screen.contains_rect(lanes), "{lanes:?}");
        let names = [
            look,
            "as found",
            "Begin “after the repair”",
            "Apply",
            "Copy table",
            "measured against expected",
            "More room for the reasons",
            "Copy the reasons",
        ];
        let rects = names.map(|name| harness.get_by_label(name).rect());
        for (index, rect) in rects.iter().enumerate() {
            assert!(screen.contains_rect(*rect), "{} at {rect:?}", names[index]);
            for (other, beside) in rects.iter().enumerate().skip(index + 1) {
                let both = rect.intersect(*beside);
                let apart = both.width() <= 0.0 || both.height() <= 0.0;
                assert!(apart, "{} and {} at {width}", names[index], names[other]);
            }
        }
    }
}

#[test]
fn the_reasons_get_more_room_on_request() {
    let mut harness = window(example_state(), None);
    harness.set_size(egui::vec2(900.0, 600.0));
    harness.run();
    let top = |harness: &Harness<'_, Shell>| harness.get_by_label("Copy the reasons").rect().top();
    let before = top(&harness);
    harness.get_by_label("More room for the reasons").click();
    harness.run();
    assert!(top(&harness) < before - 100.0);
    harness.get_by_label("Less room for the reasons").click();
    harness.run();
    assert!((top(&harness) - before).abs() < 1.0);
}

#[test]
fn tab_reaches_cards_values_and_fields() {
    let mut harness = window(example_state(), None);
    harness.run();
    let mut reached = Vec::new();
    for _ in 0..90 {
        harness.key_press_modifiers(Modifiers::NONE, Key::Tab);
        harness.step();
        let focused = harness
            .root()
            .children_recursive()
            .find(|node| node.is_focused());
        if let Some(label) = focused.and_then(|node| node.accesskit_node().label()) {
            reached.push(label);
        }
    }
    for name in [
        "Own supply: dead",
        "Span from",
        "Lanes of shot",
        "start threshold, shot 1",
        "likely:",
        "Remove shot 1",
    ] {
        assert!(
            reached.iter().any(|label| label.contains(name)),
            "{name} in {reached:?}"
        );
    }
}

#[test]
fn removing_a_shot_moves_what_was_said_about_the_others() {
    let mut state = example_state();
    for shot in [1, 2, 3] {
        apply(&mut state, Command::SetSetup(shot, Setup::Mains));
        let role = Command::SetRole {
            shot,
            channel: 1,
            role: Role::Gate,
        };
        apply(&mut state, role);
    }
    assert_eq!(
        apply(&mut state, Command::RemoveShot(2)),
        Some(Effect::Examine(0))
    );
    let options = &state.case.groups[0].options;
    assert_eq!(
        options.capture_setups.keys().copied().collect::<Vec<_>>(),
        [1, 2]
    );
    let shots: Vec<_> = options
        .roles
        .iter()
        .map(|role| role.channel.capture)
        .collect();
    assert_eq!(shots, [Some(2), Some(3)]);
    assert!(state.inspection().is_none());
    assert_eq!(apply(&mut state, Command::RemoveShot(9)), None);
}

#[test]
fn files_replace_the_demo_and_join_what_is_there() {
    let mut state = example_state();
    let shot = || {
        example::shot(
            "own.csv",
            1.0,
            100,
            vec![("A", Box::new(|t: f64, _: &mut example::Noise| t))],
        )
    };
    assert_eq!(
        take_shots(&mut state, vec![shot()]),
        Some(Effect::Examine(0))
    );
    assert!(!state.demo && state.case.groups.len() == 1);
    take_shots(&mut state, vec![shot()]);
    assert_eq!(state.case.groups[0].shots.len(), 2);
    apply(&mut state, Command::BeginAfter);
    assert_eq!((state.group, state.case.groups.len()), (1, 2));
    take_shots(&mut state, vec![shot()]);
    assert_eq!(state.case.groups[1].shots.len(), 1);
    assert_eq!(take_shots(&mut state, Vec::new()), None);
}

#[test]
fn the_tree_names_stages_states_pins_and_the_title_the_unit() {
    let mut harness = window(example_state(), None);
    harness.run();
    harness.state_mut().state.case.title = "GV-24 again".to_owned();
    harness.step();
    let titled = harness.output().viewport_output.values().any(|viewport| {
        let named = |command: &egui::ViewportCommand| {
            matches!(command, egui::ViewportCommand::Title(title) if title == "firstpulse – GV-24 again")
        };
        viewport.commands.iter().any(named)
    });
    assert!(titled);
    harness.run();
    let nodes = harness.root().children_recursive();
    let labels: Vec<String> = nodes
        .filter_map(|node| node.accesskit_node().label())
        .collect();
    let stages = Stage::ALL.map(Stage::title);
    for word in stages.into_iter().chain(["VCC", "VREF", "working", "dead"]) {
        assert!(labels.iter().any(|label| label.contains(word)), "{word}");
    }
}
