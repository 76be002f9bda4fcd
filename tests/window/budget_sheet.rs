//! The sheet of the start-up budget: figures by the charging law of a capacitor, computed in the test, and
//! facts of the trade (common practice).

use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use firstpulse::app::budget_sheet::{self, BudgetCommand};
use firstpulse::app::commands::{Command, apply};
use firstpulse::app::job::JobCommand;
use firstpulse::app::job::fields::{self, JobField};
use firstpulse::app::models::budget_sheet::{BudgetModel, budget};
use firstpulse::app::shell::Shell;
use firstpulse::app::state::AppState;
use firstpulse::data::Options;
use firstpulse::data::typed::InputVolts;
use firstpulse::inspect::ReadOptions;

use super::use_it::{example_state, window};

fn opened() -> Harness<'static, Shell> {
    let options = Options {
        controller: Some("UC3844 (TI)".to_owned()),
        ..Options::default()
    };
    let mut harness = window(AppState::empty(ReadOptions::default(), options), None);
    harness.step();
    harness.get_by_label("Start-up budget").click();
    for _ in 0..4 {
        harness.step();
    }
    harness
}

fn tell(harness: &mut Harness<'_, Shell>, field: &str, text: &str) {
    let node = harness.get_by_role_and_label(Role::TextInput, field);
    node.focus();
    node.type_text(text);
    harness.step();
    // leaving the field enters it
    harness.key_press(egui::Key::Tab);
    for _ in 0..3 {
        harness.step();
    }
}

fn model(harness: &Harness<'_, Shell>) -> BudgetModel {
    budget(&harness.state().state)
}

fn value(model: &BudgetModel, title: &str) -> String {
    let mut rows = model.results.iter().chain(&model.timing);
    let row = rows.find(|row| row.title == title);
    row.unwrap_or_else(|| panic!("no {title}")).value.clone()
}

/// √2·230 − 2 = 323.3 V through 220 kΩ less 0.5 mA (SLUS223G, typical): heads for 213.3 V with 10.34 s, and
/// is at 16 V after 10.34 s · ln(213.3 / 197.3) = 0.806 s.
#[test]
fn the_time_to_start_is_that_of_the_charging_law() {
    let mut harness = opened();
    tell(&mut harness, "Input", "230ac");
    tell(&mut harness, "Start resistor", "220k 5%");
    tell(&mut harness, "VCC capacitor", "47u");
    let model = model(&harness);
    assert_eq!(value(&model, "bulk voltage"), "323 V");
    assert_eq!(value(&model, "VCC would end at"), "213 V");
    assert_eq!(value(&model, "time to the start"), "806 ms");
    assert!(model.answer.contains("806 ms"), "{}", model.answer);
    // the curve ends on the start threshold, within the step between two of its points
    let curve = model.curve.clone().unwrap();
    let (_, reached) = curve.typ.last().copied().unwrap();
    assert!((reached - 16.0).abs() < 0.6, "{reached}");
    assert!(curve.band.iter().all(|(_, low, high)| low <= high));
    assert!(curve.top_v > 17.5 && curve.spoken.starts_with("Expected VCC"));
    harness.get_by_label_contains("Expected VCC over time");
    // each input says where it came from
    assert!(
        model
            .inputs
            .iter()
            .any(|i| i.contains("typed") && i.contains("220 kΩ"))
    );
    assert!(model.inputs.iter().any(|i| i.contains("SLUS223G")));
}

/// 1 MΩ passes 0.32 mA, less than the 0.5 mA that the part draws (SLUS223G): it never starts.
#[test]
fn a_resistor_that_is_too_large_never_starts_and_says_why() {
    let mut harness = opened();
    tell(&mut harness, "Input", "230ac");
    tell(&mut harness, "Start resistor", "1M");
    tell(&mut harness, "VCC capacitor", "47u");
    let model = model(&harness);
    assert!(
        model.answer.starts_with("It never starts, because"),
        "{}",
        model.answer
    );
    assert_eq!(value(&model, "time to the start"), "–");
    // a standby current read by hand takes the place of the published one
    tell(&mut harness, "Standby current", "0.1mA");
    let better = budget(&harness.state().state);
    assert!(
        better.answer.starts_with("It starts after"),
        "{}",
        better.answer
    );
}

/// 82 kΩ at 323 V turn up to 1.3 W to heat, and bear more than the 250 V of a quarter-watt part (common
/// practice).
#[test]
fn an_overstressed_part_is_named() {
    let mut harness = opened();
    tell(&mut harness, "Input", "230ac");
    tell(&mut harness, "Start resistor", "82k");
    let model = model(&harness);
    let (words, too_much) = model.loads.first().unwrap();
    assert!(too_much, "{words}");
    harness.get_by_label_contains("Overstressed: start-resistor");
}

/// Tolerances stay with the parts of the run, and the field shows them.
#[test]
fn tolerances_are_written_back_to_the_parts_of_the_run() {
    let mut harness = opened();
    tell(&mut harness, "RT", "13k 1%");
    tell(&mut harness, "CT", "1n 5%");
    let options = &harness.state().state.case.groups[0].options;
    assert!((options.parts["rt"] - 13e3).abs() < 1e-6);
    let rt = options.tolerance("rt").unwrap();
    assert!((rt.plus - 0.01).abs() < 1e-9 && (rt.minus - 0.01).abs() < 1e-9);
    let model = model(&harness);
    let mut fields = model.rows.iter().flat_map(|(_, fields)| fields);
    let field = fields.find(|f| f.label == "RT").unwrap();
    assert_eq!(field.text, "13 kΩ ±1 %");
    // the oscillator of a part that halves: OUT has half of it
    assert!(
        model
            .timing
            .iter()
            .any(|row| row.title == "frequency at OUT")
    );
    assert!(
        model
            .timing
            .iter()
            .any(|row| row.because.contains("off the exact relation"))
    );
    // leaving the field without a change keeps the tolerance
    let node = harness.get_by_role_and_label(Role::TextInput, "RT");
    node.focus();
    harness.step();
    harness.key_press(egui::Key::Tab);
    for _ in 0..3 {
        harness.step();
    }
    assert!(
        harness.state().state.case.groups[0]
            .options
            .tolerance("rt")
            .is_some()
    );
}

#[test]
fn what_is_missing_is_said_in_the_windows_words() {
    let harness = opened();
    let model = model(&harness);
    assert!(model.answer.contains("can't be said"), "{}", model.answer);
    let missing = model.results.iter().filter(|row| row.value == "–");
    assert!(missing.clone().count() >= 4);
    for row in missing {
        assert!(!row.because.is_empty(), "{}", row.title);
        assert!(!row.because.contains("--"), "{}", row.because);
    }
    assert!(model.curve.is_none() && !model.no_curve.is_empty());
}

#[test]
fn an_input_without_a_kind_is_refused_with_the_forms() {
    let mut harness = opened();
    tell(&mut harness, "Input", "230");
    harness.get_by_label_contains("write it like 230ac");
}

/// Computed when something changes, not in every frame.
#[test]
fn it_is_computed_once_for_what_is_told() {
    let mut harness = opened();
    tell(&mut harness, "Input", "48dc");
    let of = |harness: &Harness<'_, Shell>| {
        let made = budget_sheet::made(&harness.state().state).unwrap();
        made.result.clone().unwrap()
    };
    let once = of(&harness);
    for _ in 0..3 {
        harness.step();
    }
    assert!(std::sync::Arc::ptr_eq(&once, &of(&harness)));
    tell(&mut harness, "Start resistor", "10k");
    assert!(!std::sync::Arc::ptr_eq(&once, &of(&harness)));
}

/// The input is that of the job: an edit of its record that can be taken back, and the same on its sheet.
#[test]
fn the_input_is_kept_in_the_record_and_can_be_taken_back() {
    let mut harness = opened();
    tell(&mut harness, "Input", "85..265ac");
    let state = &harness.state().state;
    let input = state.job.job().input.unwrap();
    assert_eq!(input.volts, InputVolts::Between(85.0, 265.0));
    assert_eq!(fields::text(state, JobField::Input), "85..265ac");
    // the most is the crest of the most mains: 1.414 · 265 V, printed as 375 V in a design text (from memory)
    let bulk = model(&harness).results[0].range.clone();
    assert!(bulk.ends_with("375 V"), "{bulk}");
    let node = harness.get_by_role_and_label(Role::TextInput, "Input");
    node.focus();
    harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    tell(&mut harness, "Input", "265ac");
    let input = harness.state().state.job.job().input.unwrap();
    assert_eq!(input.volts, InputVolts::Nominal(265.0));
    let undo = |harness: &mut Harness<'_, Shell>| {
        apply(
            &mut harness.state_mut().state,
            Command::Job(JobCommand::Undo),
        );
        for _ in 0..3 {
            harness.step();
        }
    };
    undo(&mut harness);
    assert_eq!(model(&harness).input, "85..265ac");
    assert_eq!(model(&harness).results[0].range, bulk);
    undo(&mut harness);
    assert_eq!(harness.state().state.job.job().input, None);
    assert_eq!(value(&model(&harness), "bulk voltage"), "–");
}

/// On the built-in unit the record is nobody's: taking an edit back leaves its captures alone.
#[test]
fn an_input_taken_back_leaves_the_built_in_unit_as_it_is() {
    let mut state = example_state();
    let runs = state.case.clone();
    let enter = |text: &str| BudgetCommand::EditInput(text.to_owned());
    apply(&mut state, Command::Budget(enter("230ac")));
    apply(&mut state, Command::Budget(BudgetCommand::EnterInput));
    assert!(state.job.job().input.is_some());
    assert_eq!(state.case.title, runs.title);
    apply(&mut state, Command::Job(JobCommand::Undo));
    assert_eq!(state.job.job().input, None);
    assert_eq!(state.case.groups.len(), runs.groups.len());
    assert_eq!(state.case.groups[0].shots.len(), runs.groups[0].shots.len());
}

/// 220 kΩ ±5 % may have 209 to 231 kΩ (IEC 60062): 217.8 kΩ is such a part, 240 kΩ is not.
#[test]
fn a_part_that_was_read_is_set_against_its_mark_and_counts_instead() {
    let mut harness = opened();
    tell(&mut harness, "Start resistor", "220k 5%");
    tell(&mut harness, "Start resistor, read", "217k8");
    let good = model(&harness);
    assert_eq!(good.checked.len(), 1);
    let word = "start-resistor: in limits";
    assert!(good.checked[0].starts_with(word), "{}", good.checked[0]);
    let used = |model: &BudgetModel| {
        let read = |i: &&String| i.contains("start resistor") && i.contains("read by hand");
        model.inputs.iter().find(read).cloned()
    };
    assert!(used(&good).unwrap().contains("218 kΩ"));
    let options = &harness.state().state.case.groups[0].options;
    assert!((options.readings["start-resistor"] - 217.8e3).abs() < 1e-6);
    assert!((options.parts["start-resistor"] - 220e3).abs() < 1e-6);
    let node = harness.get_by_role_and_label(Role::TextInput, "Start resistor, read");
    node.focus();
    harness.key_press_modifiers(egui::Modifiers::COMMAND, egui::Key::A);
    tell(&mut harness, "Start resistor, read", "240k");
    let bad = model(&harness);
    let word = "start-resistor: outside";
    assert!(bad.checked[0].starts_with(word), "{}", bad.checked[0]);
}

/// A gate of 35 nC at the 67.5 kHz of OUT (13 kΩ and 1 nF, halved) takes 2.4 mA more: charge times
/// frequency.
#[test]
fn the_gate_charge_counts_where_it_is_told() {
    let mut harness = opened();
    tell(&mut harness, "RT", "13k");
    tell(&mut harness, "CT", "1n");
    let milliamps = |harness: &Harness<'_, Shell>| -> f64 {
        let text = value(&model(harness), "running current");
        text.strip_suffix(" mA").unwrap().parse().unwrap()
    };
    let before = milliamps(&harness);
    tell(&mut harness, "Gate charge", "35nC");
    let more = milliamps(&harness) - before;
    assert!((more - 2.36).abs() < 0.15, "{more}");
}

/// 13 kΩ and 1 nF rise for 7.194 µs and fall for 0.211 µs between 1.0 and 2.7 V with 8.3 mA (by the charging
/// law); both times are needed.
#[test]
fn a_ramp_that_was_read_says_whether_a_part_moved() {
    let mut harness = opened();
    tell(&mut harness, "RT", "13k 1%");
    tell(&mut harness, "CT", "1n 5%");
    tell(&mut harness, "Ramp rises for", "7.194us");
    assert!(model(&harness).ramp.is_empty());
    tell(&mut harness, "Ramp falls for", "0.211us");
    for (field, text) in [("Ramp peak", "2V7"), ("Ramp valley", "1V")] {
        tell(&mut harness, field, text);
    }
    let ramp = model(&harness).ramp;
    assert!(ramp[0].starts_with("RT × CT 13 µs"), "{ramp:?}");
    harness.get_by_label_contains("From the ramp");
}
