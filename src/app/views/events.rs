//! The walk along the starts and stops.

use egui::{Button, RichText, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::events::Step;
use crate::app::models::events::EventsModel;
use crate::app::theme;

/// What they need in one line, in points.
const ROOM: f32 = 220.0;

/// Two buttons, and where the walk is; the bottom line says what is seen there.
pub fn events_ui(ui: &mut Ui, model: &EventsModel) -> Commands {
    let mut commands = Commands::new();
    let mut button = |ui: &mut Ui, (word, name, step, there)| {
        let button = ui.add_enabled(there, Button::new(word));
        let button = button.accessible_name(name).on_hover_text(name);
        if button.clicked() {
            commands.push(Command::Step(step));
        }
    };
    if ui.available_size_before_wrap().x < ROOM {
        ui.end_row();
    }
    let back = ("Previous", "Previous start or stop", Step::Back, model.back);
    button(ui, back);
    button(ui, ("Next", "Next start or stop", Step::On, model.on));
    let text = RichText::new(&model.text).font(theme::small());
    ui.label(text).on_hover_text(&model.spoken);
    commands
}
