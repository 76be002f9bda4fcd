//! What stands above the job's sheet: its folder, undo and redo, the report.

use egui::{Button, ComboBox, Label, RichText, TextEdit, Ui};

use super::{Commands, keys};
use crate::app::commands::Command;
use crate::app::dialog::Ask;
use crate::app::job::JobCommand;
use crate::app::job::page::PageCommand;
use crate::app::models::job_sheet::{JobModel, PageModel};
use crate::app::theme;

/// Folder and report, a line each.
pub fn folder_ui(ui: &mut Ui, model: &JobModel) -> Commands {
    let mut commands = Commands::new();
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Job sheet").font(theme::large()));
        match &model.held {
            Some(folder) => {
                let text = format!("kept in {folder} as you work");
                ui.add(Label::new(text).truncate());
            }
            None => commands.extend(choice_ui(ui, model)),
        }
        if model.may_take_over && ui.button("Take it over").clicked() {
            commands.push(Command::Job(JobCommand::TakeOver));
        }
        commands.extend(undo_ui(ui, model));
    });
    ui.horizontal_wrapped(|ui| commands.extend(page_ui(ui, &model.page)));
    commands
}

/// The desktop's dialog beside a field for a path.
pub fn choose_ui(ui: &mut Ui, what: Ask, name: &str) -> Commands {
    let button = ui.button("Choose…");
    let button = button.accessible_name(format!("Choose {name}"));
    if button.clicked() {
        vec![Command::Choose(what)]
    } else {
        Commands::new()
    }
}

/// Where to keep the job, or which one to open.
fn choice_ui(ui: &mut Ui, model: &JobModel) -> Commands {
    let mut commands = Commands::new();
    let mut folder = model.folder.clone();
    let edit = TextEdit::singleline(&mut folder)
        .id_salt("job folder")
        .desired_width(240.0)
        .hint_text("folder of the job");
    let field = ui.add(edit).accessible_name("Folder of the job");
    if field.changed() {
        commands.push(Command::Job(JobCommand::EditFolder(folder)));
    }
    commands.extend(choose_ui(ui, Ask::JobFolder, "the folder of the job"));
    let mut say = |command| commands.push(Command::Job(command));
    let hint = "Writes the record there and copies the captures; from then on every edit is saved.";
    let keep = ui.add_enabled(!model.busy, Button::new("Keep it there"));
    if keep.on_hover_text(hint).clicked() {
        say(JobCommand::Keep);
    }
    if !model.recent.is_empty() {
        let combo = ComboBox::from_id_salt("recent").selected_text("last jobs");
        let shown = combo.show_ui(ui, |ui| {
            for folder in &model.recent {
                if ui.selectable_label(false, folder).clicked() {
                    say(JobCommand::EditFolder(folder.clone()));
                    say(JobCommand::Open);
                }
            }
        });
        shown.response.accessible_name("Jobs that were open last");
    }
    let open = ui.add_enabled(!model.busy, Button::new("Open that job"));
    if open.clicked() {
        say(JobCommand::Open);
    }
    commands
}

fn undo_ui(ui: &mut Ui, model: &JobModel) -> Commands {
    let mut commands = Commands::new();
    for (word, name, command) in [
        ("Undo", &model.undo, JobCommand::Undo),
        ("Redo", &model.redo, JobCommand::Redo),
    ] {
        let text = match name {
            Some(name) => format!("{word}: {name}"),
            None => word.to_owned(),
        };
        if ui.add_enabled(name.is_some(), Button::new(text)).clicked() {
            commands.push(Command::Job(command));
        }
    }
    commands
}

/// The file of the report.
fn page_ui(ui: &mut Ui, model: &PageModel) -> Commands {
    let mut commands = Commands::new();
    ui.label(RichText::new("Report").font(theme::large()));
    let mut path = model.path.clone();
    let edit = TextEdit::singleline(&mut path)
        .id_salt("report file")
        .desired_width(240.0)
        .hint_text(&model.hint);
    let field = ui.add(edit).accessible_name("File of the report");
    let entered = keys::entered(ui, &field);
    let mut say = |command| commands.push(Command::Job(JobCommand::Page(command)));
    if field.changed() {
        say(PageCommand::EditPath(path));
    }
    commands.extend(choose_ui(ui, Ask::ReportFile, "the file of the report"));
    let mut say = |command| commands.push(Command::Job(JobCommand::Page(command)));
    let hint = "A page to print (.html) for the owner and for the bench, the measured values as a table (.csv), or all of it for scripts (.json).";
    let word = if model.replaces {
        "Replace the file"
    } else {
        "Write the report"
    };
    let write = ui.button(word).on_hover_text(hint);
    if write.clicked() || entered {
        say(PageCommand::Write);
    }
    let show = ui.add_enabled(model.done, Button::new("Show it"));
    let hint = "Opens it in the desktop's browser, which can print it.";
    if show.on_hover_text(hint).clicked() {
        say(PageCommand::Show);
    }
    commands
}
