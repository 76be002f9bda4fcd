//! The bottom line: reasons in full.

use egui::{Label, RichText, ScrollArea, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::details::DetailsModel;
use crate::app::theme::{self, Palette};

/// The reasons of what is chosen, with a button that copies them.
pub fn details_ui(ui: &mut Ui, details: &DetailsModel, tall: bool) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.add_space(2.0);
        ui.horizontal(|ui| {
            let (word, name) = if tall {
                ("Less", "Less room for the reasons")
            } else {
                ("More", "More room for the reasons")
            };
            if ui.button(word).accessible_name(name).clicked() {
                commands.push(Command::TallDetails(!tall));
            }
            let copy = ui.button("Copy").accessible_name("Copy the reasons");
            if copy.clicked() {
                commands.push(Command::Copy(details.text()));
            }
            let title = RichText::new(&details.title).color(palette.ink);
            ui.add(Label::new(title).truncate());
        });
        for line in &details.lines {
            let text = RichText::new(line)
                .font(theme::small())
                .color(palette.quiet);
            ui.add(Label::new(text).wrap());
        }
    });
    commands
}
