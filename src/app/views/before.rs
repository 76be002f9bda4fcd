//! What to know before connecting, what was not tested, and notes; each to be read in full.

use egui::{Label, RichText, ScrollArea, Ui};

use crate::app::models::summary::BeforeModel;
use crate::app::theme::{self, Palette};

/// All of it, as large as the middle.
pub fn before_ui(ui: &mut Ui, before: &BeforeModel) {
    let palette = Palette::in_ui(ui);
    let text = |ui: &mut Ui, text: &str| {
        let text = RichText::new(text).color(palette.quiet);
        ui.add(Label::new(text).wrap());
    };
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.label(RichText::new("Before you connect").font(theme::large()));
        for (title, words) in &before.cautions {
            ui.label(RichText::new(title).color(palette.ink).strong());
            text(ui, words);
        }
        if before.cautions.is_empty() {
            text(ui, "Local rules come first. Mains out and the bulk capacitor measured before the bench supply goes on.");
        }
        for (title, lines) in [("Not tested", &before.not_tested), ("Notes", &before.notes)] {
            if !lines.is_empty() {
                ui.add_space(8.0);
                ui.label(RichText::new(title).font(theme::large()));
            }
            for line in lines {
                text(ui, line);
            }
        }
    });
}
