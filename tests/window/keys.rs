//! The window by keyboard alone.

use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT, Queryable};
use firstpulse::app::state::MiddleView;

use super::use_it::{example_state, window};

#[test]
fn numbers_choose_the_sheets_in_their_order_also_while_a_field_takes_text() {
    let mut harness = window(example_state(), None);
    harness.step();
    let order = [
        (Key::Num2, MiddleView::Loop),
        (Key::Num3, MiddleView::Plan),
        (Key::Num5, MiddleView::Compare),
        (Key::Num8, MiddleView::Job),
        (Key::Num9, MiddleView::Before),
        (Key::Num1, MiddleView::Lanes),
    ];
    for (key, view) in order {
        harness.get_by_label("Open a capture").focus();
        harness.step();
        harness.key_press_modifiers(Modifiers::COMMAND, key);
        harness.step();
        assert_eq!(harness.state().state.view, view, "{key:?}");
        assert_eq!(harness.state().state.path, "", "the field took the key");
        harness.step();
    }
}

#[test]
fn from_a_sheet_chosen_by_key_tab_goes_on_into_it() {
    let mut harness = window(example_state(), None);
    harness.step();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::Num8);
    harness.step();
    harness.step();
    harness.key_press(Key::Tab);
    harness.step();
    harness.step();
    let first = harness.get_by_label("Folder of the job");
    assert!(first.accesskit_node().is_focused());
}

#[test]
fn the_path_is_reached_by_a_key_and_keeps_the_keyboard_after_enter() {
    let mut harness = window(example_state(), None);
    harness.step();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::O);
    harness.step();
    harness.step();
    let focused = |harness: &egui_kittest::Harness<'_, _>| {
        let field = harness.get_by_label("Open a capture");
        field.accesskit_node().is_focused()
    };
    assert!(focused(&harness));
    harness
        .get_by_label("Open a capture")
        .type_text("nowhere.csv");
    harness.step();
    harness.key_press(Key::Enter);
    harness.step();
    harness.step();
    assert_eq!(harness.state().state.path, "", "it was taken");
    assert!(focused(&harness));
}

#[test]
fn a_row_of_a_list_is_followed_by_the_next() {
    let mut state = example_state();
    state.view = MiddleView::Job;
    let mut harness = window(state, None);
    harness.step();
    harness.get_by_label("Cold readings, place").focus();
    harness.step();
    harness
        .get_by_label("Cold readings, place")
        .type_text("fuse");
    harness.step();
    harness.get_by_label("Cold readings, ohms").focus();
    harness.step();
    harness.get_by_label("Cold readings, ohms").type_text("0.2");
    harness.step();
    harness.key_press(Key::Enter);
    harness.step();
    harness.step();
    harness.step();
    assert_eq!(harness.state().state.job.job().cold.len(), 1);
    let first = harness.get_by_label("Cold readings, place");
    assert!(first.accesskit_node().is_focused());
}
