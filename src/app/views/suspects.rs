//! Causes that fit, best first.

use egui::{RichText, ScrollArea, Sense, TextFormat, Ui, WidgetInfo, vec2};

use super::Commands;
use super::table::{asked, ground_ui};
use crate::app::models::PanelModel;
use crate::app::models::table::SuspectModel;
use crate::app::state::Explained;
use crate::app::theme::{self, Palette};

/// The suspects of the inspection.
pub fn suspects_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    ui.label(RichText::new("What fits").font(theme::large()));
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        for (index, suspect) in model.suspects.iter().enumerate() {
            let chosen = model.explained == Some(Explained::Suspect(index));
            commands.extend(suspect_ui(ui, index, suspect, chosen));
        }
        if model.suspects.is_empty() {
            ui.label(if model.inspected {
                "No suspect in what was tested."
            } else {
                "Nothing inspected yet."
            });
        }
    });
    commands
}

fn suspect_ui(ui: &mut Ui, index: usize, suspect: &SuspectModel, chosen: bool) -> Commands {
    let palette = Palette::in_ui(ui);
    let mut text = egui::text::LayoutJob::default();
    let ink = TextFormat::simple(theme::body(), palette.ink);
    let quiet = TextFormat::simple(theme::small(), palette.quiet);
    text.append(suspect.rank, 0.0, quiet.clone());
    text.append(&suspect.title, 8.0, ink);
    for reason in suspect
        .reasons
        .iter()
        .take(if index == 0 || chosen { 3 } else { 1 })
    {
        text.append(&format!("\n+ {reason}"), 0.0, quiet.clone());
    }
    for reason in suspect.against.iter().take(if chosen { 3 } else { 1 }) {
        text.append(&format!("\n− {reason}"), 0.0, quiet.clone());
    }
    if !suspect.next_check.is_empty() && (index == 0 || chosen) {
        let next = TextFormat::simple(theme::small(), palette.ink);
        text.append(&format!("\nCheck: {}", suspect.next_check), 0.0, next);
    }
    text.wrap.max_width = ui.available_width() - 16.0;
    let galley = ui.painter().layout_job(text);
    let size = vec2(ui.available_width(), galley.size().y + 10.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let spoken = &suspect.spoken;
    response.widget_info(|| WidgetInfo::selected(egui::Role::Button, true, chosen, spoken));
    ground_ui(ui, &palette, rect, &response, chosen);
    ui.painter()
        .galley(rect.min + vec2(4.0, 4.0), galley, palette.ink);
    let copied = format!(
        "{}\t{}\t{}\t{}",
        suspect.rank,
        suspect.title,
        suspect.reasons.join("; "),
        suspect.next_check
    );
    asked(
        ui,
        response,
        Explained::Suspect(index),
        &copied,
        &suspect.why,
    )
}
