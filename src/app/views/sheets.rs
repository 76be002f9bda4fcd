//! The row that chooses what stands in the middle, and clears the bench.

use egui::{Align, Layout, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::PanelModel;
use crate::app::theme;

/// The row; in two lines where there is little room.
pub fn sheets_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    if ui.available_width() < NARROW {
        // two lines take little more than one of a wide window
        let spacing = ui.spacing_mut();
        spacing.item_spacing = egui::vec2(3.0, 2.0);
        spacing.button_padding.x = 4.0;
        spacing.interact_size.y = 21.0;
        ui.style_mut().override_font_id = Some(theme::small());
    }
    ui.horizontal_wrapped(|ui| {
        for (number, (view, title)) in model.sheets.iter().enumerate() {
            let choice = ui.selectable_label(model.view == *view, title);
            let choice = choice.on_hover_text(format!("Ctrl+{}", number + 1));
            if choice.clicked() {
                commands.push(Command::Show(*view));
            }
        }
        if ui.available_size_before_wrap().x < ROOM {
            // they take a line of their own
            ui.end_row();
            return commands.extend(unit_ui(ui, model));
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            commands.extend(unit_ui(ui, model));
        });
    });
    commands
}

/// Below this width letters and gaps of the row are small, in points.
const NARROW: f32 = 1000.0;
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
