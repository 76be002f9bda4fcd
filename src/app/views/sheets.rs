//! The row that chooses what stands in the middle, and clears the bench.

use egui::{Align, Layout, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::PanelModel;

/// The row; in two lines where there is little room.
pub fn sheets_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    ui.horizontal_wrapped(|ui| {
        for (view, title) in &model.sheets {
            if ui.selectable_label(model.view == *view, title).clicked() {
                commands.push(Command::Show(*view));
            }
        }
        if ui.available_width() < ROOM {
            return commands.extend(unit_ui(ui, model));
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            commands.extend(unit_ui(ui, model));
        });
    });
    commands
}

/// Room for the buttons at the right end, in points.
const ROOM: f32 = 210.0;

fn unit_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    if ui.button("New unit").clicked() {
        commands.push(Command::NewUnit);
    }
    if !model.head.demo && ui.button("Back to the demo").clicked() {
        commands.push(Command::BackToDemo);
    }
    commands
}
