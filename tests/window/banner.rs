//! The banner asks for the bulk voltage, and keeps what was entered in sight.

use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use firstpulse::app::shell::Shell;

use super::job::opened;
use super::use_it::until;

const FIELD: &str = "Measured bulk voltage";

fn enter(harness: &mut Harness<'_, Shell>, text: &str) {
    let node = harness.get_by_role_and_label(Role::TextInput, FIELD);
    node.focus();
    node.type_text(text);
    harness.step();
    harness.key_press(egui::Key::Enter);
    harness.step();
}

fn says(harness: &Harness<'_, Shell>, text: &str) -> bool {
    harness.query_all_by_label_contains(text).count() > 0
}

#[test]
fn the_bulk_voltage_stays_in_sight_once_entered() {
    let mut harness = opened();
    harness.step();
    let asks = "The bulk voltage is not entered";
    assert!(says(&harness, asks));
    let place = |harness: &Harness<'_, Shell>| {
        let field = harness.get_by_role_and_label(Role::TextInput, FIELD);
        field.rect()
    };
    let before = place(&harness);
    enter(&mut harness, "5");
    until(&mut harness, |state| {
        let cautions = state.inspection().map_or(&[][..], |run| &run.cautions);
        !cautions.is_empty() && !cautions.iter().any(|c| c.text.contains(asks))
    });
    harness.step();
    assert!(!says(&harness, asks));
    assert!(says(&harness, "holds for the moment it was taken"));
    // nothing below jumps
    assert_eq!(place(&harness), before);
}
