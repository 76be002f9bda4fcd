//! The sheet of before and after, on the built-in unit: before it ticks, after it runs.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use firstpulse::app::compare;
use firstpulse::app::kept::Kept;
use firstpulse::app::models::compared;
use firstpulse::app::shell::Shell;
use firstpulse::app::state::AppState;
use firstpulse::data::{AlignBy, Options, Role};
use firstpulse::inspect::ReadOptions;

use super::use_it::{until, window};

fn opened() -> Harness<'static, Shell> {
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let mut harness = window(state, None);
    let ctx = harness.ctx.clone();
    harness.state_mut().begin(&ctx, Vec::new());
    until(&mut harness, |state| {
        state.inspections.len() == 2 && state.inspections.iter().all(Option::is_some)
    });
    harness.get_by_label("Before and after").click();
    harness.step();
    until(&mut harness, |state| compare::found(state).is_some());
    harness
}

#[test]
fn it_says_what_woke_and_lays_both_starts_over_each_other() {
    let mut harness = opened();
    harness.step();
    harness.get_by_label_contains("Own supply works, it was dead");
    let model = compared::compared(&harness.state().state, &Kept::default());
    assert_eq!(model.none, None);
    let over = model.over.unwrap();
    let roles: Vec<Role> = over.lanes.iter().map(|lane| lane.role).collect();
    assert_eq!(roles, [Role::Vcc, Role::Vref]);
    // VREF stays up after, and fell back before: the difference reaches 5 V, and till the first stop
    // there is none beyond noise
    let vref = &over.lanes[1];
    assert!((vref.difference_range.1 - 5.0).abs() < 0.2);
    let early = vref.difference.iter().filter(|(at_s, _)| *at_s < 0.5);
    assert!(early.clone().count() > 50);
    assert!(early.clone().all(|(_, v)| v.abs() < 0.2));
    let changed: Vec<_> = model.rows.iter().filter(|row| row.stands_out).collect();
    assert_eq!(changed.len(), 1);
    assert_eq!(changed[0].title, "start attempts");
}

#[test]
fn laid_over_by_hand_the_difference_moves() {
    let mut harness = opened();
    let field = harness.get_by_label("Later by, by hand");
    field.focus();
    field.type_text("0.1s");
    harness.step();
    harness.key_press(egui::Key::Enter);
    harness.step();
    until(&mut harness, |state| {
        matches!(state.compare.align, AlignBy::Hand(s) if (s - 0.1).abs() < 1e-12)
            && compare::found(state).is_some()
    });
    let model = compared::compared(&harness.state().state, &Kept::default());
    let over = model.over.unwrap();
    assert!(over.words.ends_with("as told by hand."), "{}", over.words);
    let ahead: Vec<f64> = over.lanes[0].traces.iter().map(|t| t.ahead_s).collect();
    assert!(ahead[0].abs() < 1e-12 && (ahead[1] - 0.1).abs() < 1e-12);
}

#[test]
fn dragged_sideways_the_run_after_moves_by_as_much() {
    let mut harness = opened();
    let before = compared::compared(&harness.state().state, &Kept::default());
    let over = before.over.unwrap();
    let lanes = harness
        .get_by_label_contains("Before and after: shot")
        .rect();
    let from = lanes.center_top() + egui::vec2(0.0, 40.0);
    harness.drag_at(from);
    harness.step();
    harness.hover_at(from + egui::vec2(60.0, 3.0));
    harness.step();
    harness.drop_at(from + egui::vec2(60.0, 3.0));
    harness.step();
    until(&mut harness, |state| {
        matches!(state.compare.align, AlignBy::Hand(_)) && compare::found(state).is_some()
    });
    let AlignBy::Hand(shift_s) = harness.state().state.compare.align else {
        unreachable!("waited for above");
    };
    // the lane's time axis leaves 92 and 8 points beside it
    let a_point_s = (over.shown_s.1 - over.shown_s.0) / f64::from(lanes.width() - 100.0);
    let wanted = over.shift_s - 60.0 * a_point_s;
    assert!(
        (shift_s - wanted).abs() < 0.5 * a_point_s,
        "{shift_s} is not {wanted}"
    );
    assert!(!harness.state().state.compare.shift.is_empty());
}

#[test]
fn one_run_alone_says_what_is_missing() {
    let state = AppState::empty(ReadOptions::default(), Options::default());
    let model = compared::compared(&state, &Kept::default());
    assert!(model.none.unwrap().starts_with("One run alone"));
}
