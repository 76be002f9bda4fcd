//! The three lines, the banner, and what went wrong.

use egui::{Label, RichText, Sense, Ui, vec2};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::summary::{BannerModel, LineModel};
use crate::app::state::Problem;
use crate::app::theme::{self, Palette};

/// What works, what does not, what to measure next.
pub fn lines_ui(ui: &mut Ui, lines: &[LineModel]) {
    let palette = Palette::in_ui(ui);
    for line in lines {
        ui.horizontal_top(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(98.0, 18.0), Sense::hover());
            ui.painter().text(
                rect.left_center(),
                egui::Align2::LEFT_CENTER,
                line.word,
                theme::body(),
                palette.quiet,
            );
            let text = RichText::new(&line.text).color(palette.ink);
            let label = ui.add(Label::new(text).wrap());
            label.accessible_name(format!("{}: {}", line.word, line.text));
        });
    }
}

/// One strip that stands large.
pub fn banner_ui(ui: &mut Ui, strip: &BannerModel) {
    let color = Palette::in_ui(ui).on_banner;
    ui.horizontal_wrapped(|ui| {
        let title = RichText::new(&strip.title).color(color);
        ui.label(title.font(egui::FontId::proportional(20.0)));
        ui.add_space(8.0);
        ui.label(RichText::new(&strip.text).color(color).font(theme::small()));
    });
}

/// What went wrong; each stays until it is put away.
pub fn problems_ui(ui: &mut Ui, problems: &[Problem]) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    egui::ScrollArea::vertical()
        .max_height(120.0)
        .show(ui, |ui| {
            for (index, problem) in problems.iter().enumerate() {
                egui::Frame::new()
                    .fill(palette.sheet)
                    .stroke(egui::Stroke::new(1.5, palette.ink))
                    .inner_margin(6.0)
                    .corner_radius(3.0)
                    .show(ui, |ui| {
                        ui.horizontal_wrapped(|ui| {
                            let put_away = ui.button("Put away");
                            if put_away.on_hover_text(&problem.what).clicked() {
                                commands.push(Command::Dismiss(index));
                            }
                            ui.label(RichText::new(&problem.what).strong());
                            ui.label(&problem.why);
                            ui.label(RichText::new(&problem.attempt).color(palette.quiet));
                        });
                    });
            }
        });
    commands
}
