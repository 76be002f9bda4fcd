//! The three lines, the banner, and what went wrong.

use egui::{Label, RichText, Ui, vec2};

use super::{Commands, known};
use crate::app::commands::Command;
use crate::app::models::summary::{BannerModel, LineModel};
use crate::app::state::Problem;
use crate::app::theme::{self, Palette};

/// Width of `Measure next`.
const WORDS: f32 = 98.0;

/// What works, what does not, what to measure next.
///
/// In a `low` window all but the last take one line each; the pointer shows the whole of them.
pub fn lines_ui(ui: &mut Ui, lines: &[LineModel], low: bool) {
    let palette = Palette::in_ui(ui);
    for (index, line) in lines.iter().enumerate() {
        ui.horizontal_top(|ui| {
            let word = RichText::new(line.word).color(palette.quiet);
            let size = vec2(WORDS, ui.spacing().interact_size.y * 0.75);
            let place = egui::Layout::left_to_right(egui::Align::Center);
            ui.allocate_ui_with_layout(size, place, |ui| {
                ui.set_min_width(WORDS);
                ui.label(word);
            });
            let text = RichText::new(&line.text).color(palette.ink);
            let label = Label::new(text.size(15.0));
            if low && index + 1 < lines.len() {
                ui.add(label.truncate()).on_hover_text(&line.text);
            } else {
                ui.add(label.wrap());
            }
        });
    }
}

/// What stands large above everything.
pub fn banner_ui(ui: &mut Ui, strips: &[BannerModel]) -> Commands {
    let mut commands = Commands::new();
    let color = Palette::in_ui(ui).on_banner;
    ui.columns(strips.len().max(1), |columns| {
        for (ui, strip) in columns.iter_mut().zip(strips) {
            ui.spacing_mut().item_spacing.y = 1.0;
            let title = RichText::new(&strip.title).color(color);
            let title = title.font(egui::FontId::proportional(20.0));
            match &strip.field {
                Some(field) => {
                    ui.horizontal(|ui| {
                        ui.add(Label::new(title));
                        commands.extend(known::banner_field_ui(ui, field, color));
                    });
                }
                None => {
                    ui.add(Label::new(title).wrap());
                }
            }
            let text = RichText::new(&strip.text).color(color).font(theme::small());
            ui.add(Label::new(text).wrap());
        }
    });
    commands
}

/// Most room for what went wrong, in points.
const PROBLEMS: f32 = 120.0;

/// What went wrong; each stays until it is put away.
pub fn problems_ui(ui: &mut Ui, problems: &[Problem]) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    // a second one is seen in whole too
    let least = (40.0 * problems.len() as f32).min(PROBLEMS);
    egui::ScrollArea::vertical()
        .max_height(PROBLEMS)
        .min_scrolled_height(least)
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
                            if let Some(on) = &problem.sheet {
                                let word = if on.refused.is_some() {
                                    "Say how to read it…"
                                } else {
                                    "How it was read…"
                                };
                                if ui.button(word).clicked() {
                                    commands.push(Command::OpenSheet(on.path.clone()));
                                }
                            }
                        });
                    });
            }
        });
    commands
}
