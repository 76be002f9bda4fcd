//! What unfolds below the middle: one thing at a time, so that the lanes keep their room.

use egui::{Frame, Margin, Panel, ScrollArea, Ui};

use super::{Commands, known, meter};
use crate::app::commands::Command;
use crate::app::models::PanelModel;
use crate::app::state::Below;

/// Most of the middle that it takes.
const SHARE: f32 = 0.5;
/// Least and most height of what is unfolded, in points.
const HEIGHT: (f32, f32) = (84.0, 190.0);

/// A line of buttons, and what they unfold.
pub fn below_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let height = (SHARE * ui.available_height()).clamp(HEIGHT.0, HEIGHT.1);
    let panel = Panel::bottom("below")
        .resizable(false)
        .show_separator_line(false)
        .frame(Frame::new().inner_margin(Margin::symmetric(0, 2)));
    panel.show(ui, |ui| {
        let known_title = format!("What you know: {}", model.known.summary);
        let all = [
            (Below::Known, known_title.as_str(), model.known.open),
            (Below::Meter, model.meter.title.as_str(), model.meter.open),
        ];
        ui.horizontal_wrapped(|ui| {
            for (what, title, open) in all {
                if ui.selectable_label(open, title).clicked() {
                    commands.push(Command::Unfold((!open).then_some(what)));
                }
            }
        });
        if !all.iter().any(|(_, _, open)| *open) {
            return;
        }
        let area = ScrollArea::vertical()
            .id_salt(("below", model.meter.open))
            .auto_shrink([false, true])
            .min_scrolled_height(height)
            .max_height(height);
        area.show(ui, |ui| {
            commands.extend(match model.meter.open {
                true => meter::meter_ui(ui, &model.meter),
                false => known::known_ui(ui, &model.known),
            });
        });
    });
    commands
}
