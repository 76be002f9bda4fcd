//! The import sheet: questions, changes, remembering, refusals, and the keyboard.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use egui::accesskit::Role as Shape;
use egui::{Key, Modifiers};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use firstpulse::app::commands::{Command, Effect, apply};
use firstpulse::app::models::PanelModel;
use firstpulse::app::open::{self, How};
use firstpulse::app::sheet::{self, Sheet};
use firstpulse::app::shell::Shell;
use firstpulse::app::state::AppState;
use firstpulse::data::Options;
use firstpulse::inspect::ReadOptions;

use super::use_it::{until, window};

/// Every number of it can be read in two ways.
pub const COMMAS: &str = "t (s);VCC (V);VREF (V)\n1,100;1,234;5,001\n2,100;1,235;5,002\n3,100;1,239;5,003\n4,100;1,242;5,002\n5,100;1,248;5,001\n";

#[expect(clippy::unwrap_used, reason = "a test may fail where it stands")]
pub fn file(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path
}

/// Samples without time; every call gives other samples.
fn without_time(seed: usize) -> String {
    let row = |k: usize| format!("{}.5,{}.25\n", (k + seed) % 3, (k * seed) % 7);
    let rows: String = (0..40).map(row).collect();
    format!("VCC (V),VREF (V)\n{rows}")
}

pub fn empty(folder: &Path) -> AppState {
    let mut state = AppState::empty(ReadOptions::default(), Options::default());
    state.layouts = Some(folder.join("layouts"));
    state
}

/// A window into which a file was dropped, once its sheet has come or its shot is there.
fn opened(state: AppState, path: &Path) -> Harness<'static, Shell> {
    let mut harness = window(state, None);
    harness.run();
    drop_file(&mut harness, path);
    harness
}

fn drop_file(harness: &mut Harness<'static, Shell>, path: &Path) {
    let before = harness.state().state.problems.len();
    let shots = shots(&harness.state().state);
    let ctx = harness.ctx.clone();
    let effect = Effect::Load(vec![path.to_owned()]);
    harness.state_mut().follow(&ctx, effect);
    until(harness, |state| {
        state.problems.len() > before || self::shots(state) > shots
    });
    settle(harness);
}

fn shots(state: &AppState) -> usize {
    state
        .case
        .groups
        .iter()
        .map(|group| group.shots.len())
        .sum()
}

/// Until the first lines were looked at.
fn settle(harness: &mut Harness<'static, Shell>) {
    until(harness, |state| {
        state.sheet.as_ref().is_none_or(|sheet| !sheet.looking)
    });
    harness.run_steps(3);
}

fn type_into(harness: &mut Harness<'static, Shell>, name: &str, text: &str) {
    let field = harness.get_by_role_and_label(Shape::TextInput, name);
    field.focus();
    harness.step();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.step();
    let field = harness.get_by_role_and_label(Shape::TextInput, name);
    field.type_text(text);
    harness.step();
    harness.key_press(Key::Enter);
    harness.step();
    settle(harness);
}

#[test]
fn a_question_opens_the_sheet_and_a_button_answers_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "commas.csv", COMMAS);
    let mut harness = opened(empty(folder.path()), &path);
    assert!(harness.state().state.sheet.is_some());
    harness.get_by_label("commas.csv");
    assert!(
        harness
            .get_by_label("Read with these")
            .accesskit_node()
            .is_disabled()
    );
    harness.get_by_label_contains("not yet: the question above is open");
    harness.get_by_label("Decimal mark: comma").click();
    harness.step();
    settle(&mut harness);
    let sheet = harness.state().state.sheet.clone().unwrap();
    assert_eq!(
        sheet.own,
        BTreeMap::from([("decimal".to_owned(), "comma".to_owned())])
    );
    harness.get_by_label_contains("Line 2, column 2: 1,234, channel 1");
    harness.get_by_label("Column 1 · time: t, s");
    harness.get_by_label("Read with these").click();
    until(&mut harness, |state| shots(state) == 1);
    let state = &harness.state().state;
    assert!(state.sheet.is_none() && state.problems.is_empty());
    let vcc = &state.shot().unwrap().capture.channels[0];
    assert!((vcc.samples.slice(0..1)[0] - 1.234).abs() < 1e-6);
}

#[test]
fn the_keyboard_alone_answers_reads_and_comes_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "commas.csv", COMMAS);
    let mut harness = opened(empty(folder.path()), &path);
    // the first answer has the keyboard
    assert!(harness.get_by_label("Decimal mark: comma").is_focused());
    harness.key_press(Key::Enter);
    harness.step();
    settle(&mut harness);
    assert!(harness.get_by_label("Read with these").is_focused());
    harness.key_press(Key::Enter);
    harness.step();
    until(&mut harness, |state| shots(state) == 1);
    harness.run_steps(3);
    harness.get_by_label("How shot 1 was read…").focus();
    harness.step();
    harness.key_press(Key::Enter);
    harness.step();
    settle(&mut harness);
    let mut reached = Vec::new();
    for _ in 0..70 {
        harness.key_press(Key::Tab);
        harness.step();
        let focused = harness.root().children_recursive().find(|n| n.is_focused());
        reached.extend(focused.and_then(|node| node.accesskit_node().label()));
    }
    for name in [
        "Put back",
        "Close",
        "Name of this layout",
        "Between cells: semicolon",
        "Take back: Decimal mark",
        "More that can be told",
        "Column 2, full scale",
        "Column 3, volts per division",
        "First lines of commas.csv",
    ] {
        let found = reached.iter().any(|label| label.contains(name));
        assert!(found, "{name} in {reached:#?}");
    }
    harness.get_by_label_contains("First lines of").focus();
    harness.step();
    for key in [Key::ArrowDown, Key::ArrowRight, Key::ArrowDown] {
        harness.key_press(key);
        harness.step();
    }
    harness.step();
    let said = harness.get_all_by_label("Line 3, column 2: 1,235, channel 1");
    assert_eq!(said.count(), 2, "the cell, and the line below the table");
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    assert!(harness.state().state.sheet.is_none());
    assert_eq!(shots(&harness.state().state), 1);
}

#[test]
fn a_changed_decision_takes_the_place_of_the_shot() {
    let folder = tempfile::tempdir().unwrap();
    let text = COMMAS.replace(',', ".");
    let path = file(folder.path(), "points.csv", &text);
    let mut harness = opened(empty(folder.path()), &path);
    assert!(harness.state().state.sheet.is_none());
    apply(
        &mut harness.state_mut().state,
        Command::SetRole {
            shot: 0,
            channel: 0,
            role: firstpulse::data::Role::Vcc,
        },
    );
    harness.get_by_label("How shot 1 was read…").click();
    harness.step();
    settle(&mut harness);
    harness.get_by_label("Column 3 is: channel").click();
    harness.run_steps(2);
    harness.get_by_label("left out").click();
    harness.step();
    settle(&mut harness);
    type_into(&mut harness, "Column 2, name", "at the pin");
    let own = harness.state().state.sheet.as_ref().unwrap().own.clone();
    assert_eq!(own.keys().collect::<Vec<_>>(), ["column.3", "name.2"]);
    harness.get_by_label("Read with these").click();
    until(&mut harness, |state| {
        state
            .shot()
            .is_some_and(|shot| shot.capture.channels.len() == 1)
    });
    let state = &harness.state().state;
    assert_eq!(
        (shots(state), state.case.groups[0].options.roles.len()),
        (1, 1)
    );
    assert_eq!(state.shot().unwrap().capture.channels[0].name, "at the pin");
    // what was told is still on the sheet, and can be put back
    harness.run_steps(3);
    harness.get_by_label("How shot 1 was read…").click();
    harness.step();
    settle(&mut harness);
    harness.get_by_label("Put back").click();
    harness.step();
    settle(&mut harness);
    assert!(harness.state().state.sheet.as_ref().unwrap().own.is_empty());
    harness.get_by_label("Column 3 is: channel");
}

#[test]
fn the_next_file_of_a_remembered_form_is_read_without_a_question_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let one = file(folder.path(), "one.csv", &without_time(1));
    let two = file(folder.path(), "two.csv", &without_time(2));
    let mut harness = opened(empty(folder.path()), &one);
    type_into(&mut harness, "Answer: Sample interval", "2us");
    type_into(&mut harness, "Name of this layout", "old logger");
    until(&mut harness, |state| {
        state
            .sheet
            .as_ref()
            .is_some_and(|sheet| sheet.said.is_some())
    });
    settle(&mut harness);
    harness.get_by_label_contains("Remembered as “old logger”");
    let kept = folder.path().join("layouts").join("old-logger.toml");
    assert!(
        std::fs::read_to_string(&kept)
            .unwrap()
            .contains("interval = \"2us\"")
    );
    harness.get_by_label("Close").click();
    harness.run_steps(3);
    harness.get_by_label("Put away").click();
    harness.run_steps(2);
    drop_file(&mut harness, &two);
    assert_eq!(shots(&harness.state().state), 1);
    assert!(harness.state().state.sheet.is_none());
    harness.get_by_label("Read as remembered: old logger");
    harness.get_by_label("How it was read…").click();
    harness.step();
    settle(&mut harness);
    harness.get_by_label("as remembered: old logger");
    let sheet = PanelModel::of(&harness.state().state, None).sheet.unwrap();
    let interval = sheet
        .decisions
        .iter()
        .find(|row| row.key == "interval")
        .unwrap();
    assert!(interval.why.contains("old logger"), "{}", interval.why);
    harness.get_by_label("Do not use it").click();
    harness.step();
    settle(&mut harness);
    assert!(
        PanelModel::of(&harness.state().state, None)
            .sheet
            .unwrap()
            .question
            .is_some()
    );
    harness.get_by_label("Use it").click();
    harness.step();
    settle(&mut harness);
    harness.get_by_label("Forget").click();
    until(&mut harness, |state| {
        state
            .sheet
            .as_ref()
            .is_some_and(|sheet| sheet.said.is_some())
    });
    assert!(!kept.exists());
}

#[test]
fn a_refused_file_shows_its_lines_and_its_reason() {
    let folder = tempfile::tempdir().unwrap();
    let text = "t (s),VCC (V)\n0,1.5\n1,1.5\n2,1.5\n1,1.5\n3,1.5\n4,1.5\n";
    let path = file(folder.path(), "back.csv", text);
    let mut harness = opened(empty(folder.path()), &path);
    harness.get_by_label_contains("time goes from 2 to 1");
    harness.get_by_label_contains("Line 5, column 1: 1, time");
    // told what to do about it, it is read
    type_into(&mut harness, "Time column", "none");
    type_into(&mut harness, "Answer: Sample interval", "1ms");
    harness.get_by_label("Read with these").click();
    until(&mut harness, |state| shots(state) == 1);
    // what has no lines has no sheet
    let path = file(folder.path(), "nothing.csv", "");
    drop_file(&mut harness, &path);
    let state = &harness.state().state;
    assert!(state.sheet.is_none());
    assert!(state.problems.iter().all(|problem| problem.sheet.is_none()));
}

#[test]
fn a_reason_that_only_the_whole_file_shows_stays_on_the_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let mut text = "t (s),VCC (V)\n".to_owned();
    for k in 0..20_000 {
        text.push_str(&format!("{k},1.5\n"));
    }
    text.push_str("20000,1.5,7\n20001,1.5\n");
    let path = file(folder.path(), "late.csv", &text);
    let mut harness = opened(empty(folder.path()), &path);
    harness.get_by_label_contains("line 20002");
    harness.get_by_label_contains("not yet: it can't be read as it is understood now");
    type_into(&mut harness, "Column 2, name", "at the pin");
    harness.get_by_label("Read with these").click();
    until(&mut harness, |state| {
        state
            .sheet
            .as_ref()
            .is_some_and(|sheet| sheet.refused.is_some())
    });
    settle(&mut harness);
    harness.get_by_label_contains("line 20002");
    harness.get_by_label("Close").click();
    harness.run_steps(3);
    harness.get_by_label("Say how to read it…");
}

#[test]
fn cells_of_files_are_harmless_and_a_bad_layout_is_named_once() {
    let folder = tempfile::tempdir().unwrap();
    let text = "t (s),\u{200B}[2J\u{202E}VCC\n0,1.5\n1,1.5\n2,1.5\n";
    let path = file(folder.path(), "odd.csv", text);
    let layouts = folder.path().join("layouts");
    std::fs::create_dir(&layouts).unwrap();
    file(&layouts, "bad.toml", "schema = 1\ncolour = 3\n");
    let mut harness = opened(empty(folder.path()), &path);
    drop_file(&mut harness, &path);
    let said: Vec<_> = harness
        .state()
        .state
        .problems
        .iter()
        .map(|p| &p.why)
        .collect();
    assert!(
        said.len() == 1 && said[0].contains("bad.toml, line 2"),
        "{said:?}"
    );
    let state = &mut harness.state_mut().state;
    state.sheet = Some(Sheet::of(state, &path));
    let looked = open::look(&path, &How::default()).unwrap();
    sheet::take(state, &path, looked);
    let model = PanelModel::of(state, None).sheet.unwrap();
    let all = format!("{model:?}");
    assert!(
        !all.contains("\\u{200b}") && !all.contains("\\u{202e}"),
        "{all}"
    );
    assert!(all.contains("·[2J·VCC"), "{all}");
}

#[test]
fn a_small_window_still_has_question_actions_table_and_decisions() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "commas.csv", COMMAS);
    let mut harness = opened(empty(folder.path()), &path);
    for size in [egui::vec2(900.0, 600.0), egui::vec2(1366.0, 768.0)] {
        harness.set_size(size);
        harness.run_steps(4);
        let screen = egui::Rect::from_min_size(egui::Pos2::ZERO, size);
        for name in [
            "Decimal mark: comma",
            "Read with these",
            "Remember this layout",
            "Decided",
            "Line 2, column 1",
        ] {
            let rect = harness.get_by_label_contains(name).rect();
            assert!(screen.contains_rect(rect), "{name} at {rect:?}");
        }
    }
}

#[test]
fn files_with_one_channel_each_become_one_shot_by_a_button() {
    let folder = tempfile::tempdir().expect("folder");
    let rows = |base: usize| -> String {
        let row = |k: usize| format!("{k}e-6,{}.{}\n", base + k % 2, k % 5);
        format!("t (s),Volt (V)\n{}", (0..40).map(row).collect::<String>())
    };
    let [one, two] = [("a_CH1.csv", 0), ("a_CH2.csv", 1)]
        .map(|(name, base)| file(folder.path(), name, &rows(base)));
    let mut harness = opened(empty(folder.path()), &one);
    assert!(harness.query_by_label("Make one shot of 1, 2").is_none());
    drop_file(&mut harness, &two);
    harness.run();
    harness.get_by_label("Make one shot of 1, 2").click();
    harness.run();
    until(&mut harness, |state| shots(state) == 1);
    let state = &harness.state().state;
    let channels = &state.group().expect("a group").shots[0].capture.channels;
    assert_eq!(channels.len(), 2);
    assert_eq!(channels[1].name, "a_CH2");
}
