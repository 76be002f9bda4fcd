//! The shot list, opening files, and what to know before connecting.

use egui::{Button, ComboBox, Label, RichText, ScrollArea, TextEdit, Ui};

use super::{Commands, keys};
use crate::app::commands::Command;
use crate::app::dialog::Ask;
use crate::app::models::shots::ShotModel;
use crate::app::models::{PanelModel, Work};
use crate::app::theme::{self, Palette};
use crate::data::Setup;

/// The left side.
pub fn shots_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    egui::Panel::bottom("files")
        .resizable(false)
        .frame(egui::Frame::new().inner_margin(egui::Margin::symmetric(0, 6)))
        .show(ui, |ui| commands.extend(files_ui(ui, model)));
    egui::CentralPanel::no_frame().show(ui, |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.label(RichText::new("Shots").font(theme::large()));
            if model.shots.is_empty() {
                ui.label("None yet.");
            }
            for (shots, text) in &model.together {
                let offer = ui.button(text).on_hover_text(
                    "These files have one channel each and the same times: they may have been saved of one shot.",
                );
                if offer.clicked() {
                    commands.push(Command::PutTogether(shots.clone()));
                }
            }
            for (index, shot) in model.shots.iter().enumerate() {
                ui.push_id(index, |ui| commands.extend(shot_ui(ui, index, shot)));
            }
        });
    });
    commands
}

fn shot_ui(ui: &mut Ui, index: usize, shot: &ShotModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let frame = egui::Frame::new()
        .inner_margin(egui::Margin::symmetric(6, 4))
        .corner_radius(4.0)
        .fill(if shot.chosen {
            palette.sheet
        } else {
            palette.ground
        });
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        let text = format!("{}  {} · {}", shot.number, shot.kind, shot.pins);
        let full = ui.available_width();
        let row = egui::Layout::left_to_right(egui::Align::Center).with_main_justify(true);
        let row = row.with_main_align(egui::Align::Min);
        ui.allocate_ui_with_layout(egui::vec2(full, 24.0), row, |ui| {
            let button = ui.add(Button::selectable(shot.chosen, text).truncate());
            let button = button.accessible_name(&shot.spoken);
            if button.on_hover_text(&shot.reason).clicked() {
                commands.push(Command::SelectShot(index));
            }
        });
        let told = shot.setup.filter(|_| !shot.chosen);
        let file = told.map_or_else(
            || shot.file.clone(),
            |setup| format!("{} · {}", setup.id(), shot.file),
        );
        let file = RichText::new(file).font(theme::small());
        let label = Label::new(file.color(palette.quiet)).truncate();
        ui.add(label).on_hover_text(&shot.file);
        // the other shots are short, so that all of them are seen at once
        if shot.chosen {
            for pin in &shot.channels {
                let text = RichText::new(&pin.text).font(theme::small());
                let label = Label::new(text.color(palette.ink)).truncate();
                ui.add(label)
                    .on_hover_text(format!("{}: {}", pin.text, pin.reason));
            }
            ui.horizontal(|ui| {
                commands.extend(setup_ui(ui, index, shot));
                let name = format!("Remove shot {}", shot.number);
                if ui.button("Remove").accessible_name(name).clicked() {
                    commands.push(Command::RemoveShot(index));
                }
            });
            let name = format!("How shot {} was read…", shot.number);
            if shot.from_file
                && ui
                    .button("How it was read…")
                    .accessible_name(name)
                    .clicked()
            {
                commands.push(Command::OpenSheetOf(index));
            }
        }
    });
    commands
}

fn setup_ui(ui: &mut Ui, index: usize, shot: &ShotModel) -> Commands {
    let mut commands = Commands::new();
    let chosen = shot.setup.map_or("set-up?", Setup::id);
    let combo = ComboBox::from_id_salt("setup")
        .width((ui.available_width() - 76.0).clamp(60.0, 110.0))
        .selected_text(chosen);
    let shown = combo.show_ui(ui, |ui| {
        for setup in Setup::ALL {
            let text = format!("{}: {}", setup.id(), setup.meaning());
            if ui
                .selectable_label(shot.setup == Some(setup), text)
                .clicked()
            {
                commands.push(Command::SetSetup(index, setup));
            }
        }
    });
    let name = format!("Set-up of shot {}: {chosen}", shot.number);
    shown
        .response
        .accessible_name(name)
        .on_hover_text(&shot.reason);
    commands
}

fn files_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let mut path = model.path.clone();
    let field = TextEdit::singleline(&mut path)
        .id(keys::path_field())
        .desired_width(f32::INFINITY)
        .hint_text("path, or drop files here");
    let response = ui.add(field).accessible_name("Open a capture");
    if response.changed() {
        commands.push(Command::EditPath(path));
    }
    let response = response.on_hover_text("Ctrl+O");
    let entered = keys::entered(ui, &response);
    ui.horizontal_wrapped(|ui| {
        if ui.button("Open").clicked() || entered {
            commands.push(Command::OpenPath);
        }
        if ui.button("Choose files…").clicked() {
            commands.push(Command::Choose(Ask::Captures));
        }
    });
    if let Some(work) = &model.work {
        commands.extend(work_ui(ui, work));
    }
    commands
}

fn work_ui(ui: &mut Ui, work: &Work) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    ui.horizontal(|ui| {
        let share = work.fraction.map_or_else(
            || work.what.to_owned(),
            |fraction| format!("{} {:.0} %", work.what, 100.0 * fraction),
        );
        let bar = egui::ProgressBar::new(work.fraction.unwrap_or(0.0))
            .desired_width(ui.available_width() - 64.0)
            .fill(palette.raised)
            .text(RichText::new(share).color(palette.ink));
        ui.add(bar);
        if ui.button("Cancel").clicked() {
            commands.push(Command::CancelWork);
        }
    });
    commands
}
