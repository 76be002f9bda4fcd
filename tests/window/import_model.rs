//! The import sheet as text and as a picture, without a window.

use std::path::Path;

use firstpulse::app::commands::{Command, Effect, apply};
use firstpulse::app::models::PanelModel;
use firstpulse::app::sheet::{self, Refusal, Sheet, SheetCommand};
use firstpulse::app::state::AppState;
use firstpulse::app::theme::{Palette, contrast};
use firstpulse::app::{self, PictureRequest, open};
use firstpulse::data::{Answer, Question, TakenFor};

use super::import_sheet::{COMMAS, empty, file};

#[test]
fn only_what_was_changed_is_told_and_a_bad_value_says_what_it_can_be() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "points.csv", &COMMAS.replace(',', "."));
    let mut state = empty(folder.path());
    state.sheet = Some(Sheet::of(&state, &path));
    let look = |state: &mut AppState| {
        let how = state.sheet.as_ref().unwrap().how(state);
        sheet::take(state, &path, open::look(&path, &how).unwrap());
    };
    look(&mut state);
    let asked = |state: &mut AppState, command| apply(state, Command::Sheet(command));
    let edit = |state: &mut AppState, key: &str, text: &str| {
        asked(state, SheetCommand::Edit(key.to_owned(), text.to_owned()));
        asked(state, SheetCommand::Enter(key.to_owned()))
    };
    // a field that is left as it was tells nothing
    assert_eq!(edit(&mut state, "first-row", "2"), None);
    assert_eq!(edit(&mut state, "names", "  "), None);
    assert!(state.sheet.as_ref().unwrap().own.is_empty());
    assert_eq!(edit(&mut state, "full-scale.2", "much"), Some(Effect::Look));
    look(&mut state);
    let model = PanelModel::of(&state, None).sheet.unwrap();
    assert!(model.refused.unwrap().contains("LOW..HIGH"));
    assert!(!model.lines.is_empty() && model.why_not_read.is_some());
    let back = SheetCommand::TakeBack("full-scale.2".to_owned());
    assert_eq!(asked(&mut state, back), Some(Effect::Look));
    look(&mut state);
    let model = PanelModel::of(&state, None).sheet.unwrap();
    assert!(model.why_not_read.is_none() && !model.changed);
    assert_eq!(model.columns.len(), 3);
    assert_eq!(model.heads[1].word, "2 · channel 1");
    assert_eq!(model.heads[1].name, "VCC, V");
    assert_eq!(model.lines[0].word, "names");
    assert_eq!(model.lines[1].word, "samples");
    assert!(
        model
            .why_not_remembered
            .unwrap()
            .contains("nothing was changed")
    );
    state.layouts = None;
    let model = PanelModel::of(&state, None).sheet.unwrap();
    assert!(model.why_not_remembered.unwrap().contains("no folder"));
}

#[test]
fn text_on_the_grounds_of_cells_has_contrast_4_5() {
    let kinds = [
        TakenFor::Time,
        TakenFor::Channel(1),
        TakenFor::Name,
        TakenFor::Key,
        TakenFor::Missing,
        TakenFor::LeftOut,
    ];
    for dark in [false, true] {
        let palette = Palette::of(dark);
        for kind in kinds {
            let found = contrast(palette.ink, palette.cell(kind));
            assert!(found >= 4.5, "{kind:?}, dark {dark}: {found:.2}");
        }
    }
}

const LOGGER: &str = "Instrument,bench logger 4\nFirmware,2.1\nPoints,12\nProbe,10\n# bench supply swept by hand\nn,VCC,VREF,Note\n,mV,mV,\n0,120,3,\n1,1250,4,\n2,4870,4,\n3,9920,5,\n4,13980,12,\n5,15870,OL,\n6,15910,4987,\n7,15400,,\n8,12030,4991,\n9,9870,4988,\n10,9310,6,\n11,4020,5,\n";

/// The sheet changes the picture. With `FIRSTPULSE_PICTURES` set to a folder, pictures of it are
/// written there for a person to look at.
#[test]
fn the_sheet_can_be_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let case = super::example::case();
    let inspections = super::example::inspections(&case);
    let sheet = |name: &str, text: &str, told: &[(&str, &str)]| {
        let path = file(folder.path(), name, text);
        let mut state = empty(folder.path());
        let mut sheet = Sheet::of(&state, &path);
        let told = told.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned()));
        sheet.own.extend(told);
        state.sheet = Some(sheet);
        let how = state.sheet.as_ref().unwrap().how(&state);
        let looked = open::look(&path, &how).unwrap();
        sheet::take(&mut state, &path, looked);
        state.sheet
    };
    let sheets = [
        ("question", sheet("commas.csv", COMMAS, &[])),
        ("open", sheet("logger.csv", LOGGER, &[])),
        (
            "told",
            sheet(
                "logger.csv",
                LOGGER,
                &[("interval", "20ms"), ("full-scale.2", "0..20")],
            ),
        ),
        ("plain", sheet("points.csv", &COMMAS.replace(',', "."), &[])),
    ];
    let base = PictureRequest {
        width: 900,
        height: 600,
        ..PictureRequest::default()
    };
    let without = app::picture(&case, &inspections, &base).unwrap();
    let request = PictureRequest {
        sheet: sheets[0].1.clone(),
        ..base
    };
    let with = app::picture(&case, &inspections, &request).unwrap();
    assert_ne!(without, with);
    let Some(folder) = std::env::var_os("FIRSTPULSE_PICTURES") else {
        return;
    };
    std::fs::write(Path::new(&folder).join("sheet-small.png"), with).unwrap();
    for (name, sheet) in sheets {
        for dark in [false, true] {
            let request = PictureRequest {
                sheet: sheet.clone(),
                dark,
                ..PictureRequest::default()
            };
            let picture = app::picture(&case, &inspections, &request).unwrap();
            let name = format!("sheet-{name}-{}.png", if dark { "dark" } else { "light" });
            std::fs::write(Path::new(&folder).join(name), picture).unwrap();
        }
    }
}

#[test]
fn a_question_that_only_the_whole_file_raises_is_asked_too() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "points.csv", &COMMAS.replace(',', "."));
    let mut state = empty(folder.path());
    let mut open_sheet = Sheet::of(&state, &path);
    open_sheet.refused = Some(Refusal {
        why: "points.csv: which?".to_owned(),
        question: Some(Question {
            text: "a date changes; which order has it?".to_owned(),
            answers: vec![Answer::of("date", "dmy"), Answer::of("date", "mdy")],
        }),
    });
    let how = open_sheet.how(&state);
    state.sheet = Some(open_sheet);
    sheet::take(&mut state, &path, open::look(&path, &how).unwrap());
    let model = PanelModel::of(&state, None).sheet.unwrap();
    let question = model.question.unwrap();
    assert_eq!(question.text, "A date changes; which order has it?");
    assert_eq!(
        question.answers[0].label,
        "Order of the date: day, month, year"
    );
    assert!(model.why_not_read.is_some());
    let answer = SheetCommand::Tell("date".to_owned(), "dmy".to_owned());
    assert_eq!(
        apply(&mut state, Command::Sheet(answer)),
        Some(Effect::Look)
    );
    sheet::take(&mut state, &path, open::look(&path, &how).unwrap());
    let model = PanelModel::of(&state, None).sheet.unwrap();
    assert!(model.question.is_none() && model.why_not_read.is_none());
}
