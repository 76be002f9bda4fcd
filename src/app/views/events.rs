//! The walk along the starts and stops.

use egui::{Button, Label, RichText, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::events::Step;
use crate::app::models::events::EventsModel;
use crate::app::theme::{self, Palette};

/// Two buttons, and where the walk is.
pub fn events_ui(ui: &mut Ui, model: &EventsModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    ui.horizontal(|ui| {
        for (word, name, step, there) in [
            ("Previous", "Previous start or stop", Step::Back, model.back),
            ("Next", "Next start or stop", Step::On, model.on),
        ] {
            let button = ui.add_enabled(there, Button::new(word));
            if button.accessible_name(name).clicked() {
                commands.push(Command::Step(step));
            }
        }
        let text = RichText::new(&model.text).font(theme::small());
        let label = Label::new(text.color(palette.ink)).truncate();
        ui.add(label).on_hover_text(&model.text);
    });
    commands
}
