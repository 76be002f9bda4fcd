//! The report written from the window.

use std::fs;
use std::path::Path;

use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use firstpulse::app::job::JobCommand;
use firstpulse::app::job::fields::JobField;
use firstpulse::app::job::page::PageCommand;
use firstpulse::app::shell::Shell;
use firstpulse::app::state::MiddleView;
use firstpulse::data::Progress;
use firstpulse::inspect::{Library, ReadOptions};
use firstpulse::job::{self, Inspected};
use firstpulse::report::{Format, written};

use super::job::{enter, keep, on_job, opened, saved};
use super::use_it::until;

/// A kept job with its sheet in front.
fn kept(folder: &Path) -> Harness<'static, Shell> {
    let mut harness = opened();
    enter(&mut harness, JobField::UnitName, "GV-24");
    keep(&mut harness, folder);
    saved(&mut harness);
    harness.state_mut().state.view = MiddleView::Job;
    harness.step();
    harness
}

fn press(harness: &mut Harness<'_, Shell>, button: &str) {
    harness.get_by_label(button).click();
    harness.step();
    // the worker's answer takes the place of what is said meanwhile
    until(harness, |state| {
        state.job.page.said.as_deref() != Some("Writing the report…")
    });
    harness.step();
}

fn said(harness: &Harness<'_, Shell>) -> String {
    let page = &harness.state().state.job.page;
    page.said.clone().unwrap_or_default()
}

fn type_path(harness: &mut Harness<'_, Shell>, path: &Path) {
    let text = path.display().to_string();
    on_job(harness, JobCommand::Page(PageCommand::EditPath(text)));
    harness.step();
}

#[test]
fn the_page_from_the_window_is_the_one_from_the_folder_and_is_not_replaced_unasked() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("gv24-0117");
    let mut harness = kept(&folder);
    press(&mut harness, "Write the report");
    let file = harness.state().state.job.page.done.clone();
    let file = file.unwrap_or_else(|| panic!("{}", said(&harness)));
    assert_eq!(file.parent(), Some(folder.as_path()));
    let stem = file.file_stem().unwrap().to_string_lossy().into_owned();
    let date = stem.strip_prefix("report-").unwrap();
    // what the terminal writes, from the folder alone
    let loaded = job::load(&folder, &|_| ReadOptions::default(), &Progress::new()).unwrap();
    let found = Inspected::of(loaded, &Clone::clone, &Library::built_in().unwrap());
    let wanted = written(&found, "gv24-0117", &[], date, Format::Page);
    let page = fs::read_to_string(&file).unwrap();
    assert!(page == wanted, "the window wrote another page");

    fs::write(&file, "mine").unwrap();
    press(&mut harness, "Write the report");
    assert!(
        said(&harness).contains("is there already"),
        "{}",
        said(&harness)
    );
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    press(&mut harness, "Replace the file");
    assert!(fs::read_to_string(&file).unwrap() == wanted);
}

#[test]
fn the_table_comes_by_its_ending_and_a_capture_is_never_replaced() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("job");
    let mut harness = kept(&folder);
    let capture = harness.state().state.job.job().captures[0].file.clone();
    let capture = folder.join(capture);
    let before = fs::read(&capture).unwrap();
    type_path(&mut harness, &capture);
    press(&mut harness, "Write the report");
    assert!(
        said(&harness).contains("never overwritten"),
        "{}",
        said(&harness)
    );
    assert_eq!(fs::read(&capture).unwrap(), before);

    type_path(&mut harness, &parent.path().join("page.odt"));
    press(&mut harness, "Write the report");
    assert!(
        said(&harness).contains(".html, .csv or .json"),
        "{}",
        said(&harness)
    );

    let table = parent.path().join("values.csv");
    type_path(&mut harness, &table);
    harness.get_by_label("File of the report").focus();
    harness.step();
    harness.key_press(Key::Enter);
    harness.step();
    until(&mut harness, |state| state.job.page.done.is_some());
    let mut rows = csv::Reader::from_path(&table).unwrap();
    assert!(rows.records().all(|row| row.is_ok()));
    assert!(
        fs::read_to_string(&table)
            .unwrap()
            .contains("start threshold")
    );

    harness.step();
    press(&mut harness, "Show it");
    until(&mut harness, |state| {
        let said = state.job.page.said.as_deref();
        said.is_some_and(|said| said.starts_with("asked to show"))
    });
    assert!(said(&harness).ends_with("values.csv"));
}

#[test]
fn the_built_in_unit_has_its_page_too() {
    let parent = tempfile::tempdir().unwrap();
    let mut harness = super::use_it::window(super::use_it::example_state(), None);
    harness.state_mut().state.view = MiddleView::Job;
    harness.step();
    press(&mut harness, "Write the report");
    assert!(said(&harness).contains("Name a file"), "{}", said(&harness));
    let page = parent.path().join("page.html");
    type_path(&mut harness, &page);
    press(&mut harness, "Write the report");
    assert_eq!(said(&harness), format!("Written to {}.", page.display()));
    let text = fs::read_to_string(&page).unwrap();
    assert!(
        text.contains("ticks"),
        "the built-in record's complaint is missing"
    );
}
