//! Drawing: each view takes a finished model and returns what the user asked for. No file, no
//! clock, no measuring here.

use egui::{Frame, Margin, Panel, Ui};

use super::commands::Command;
use super::models::PanelModel;
use super::theme::Palette;

mod before;
mod below;
mod budget_curve;
mod budget_sheet;
mod cards;
mod compared;
mod controller_sheet;
mod details;
mod events;
mod glyphs;
mod head;
mod import_rows;
mod import_sheet;
mod import_table;
mod job_folder;
mod job_sheet;
mod keys;
mod known;
mod lane_paint;
mod lanes;
mod loop_paint;
mod loop_view;
mod meter;
mod middle;
mod over_paint;
mod package;
mod plan;
mod sheets;
mod shots;
mod steps;
mod steps_line;
mod summary;
mod suspects;
mod table;

/// Commands of one frame, in the order in which they were given.
pub type Commands = Vec<Command>;

/// Height below which a window is low, in points.
const LOW: f32 = 680.0;

/// Draws the whole window.
#[must_use = "commands do nothing until they are applied"]
pub fn show(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let plain = |x: i8, y: i8| {
        Frame::new()
            .fill(palette.ground)
            .inner_margin(Margin::symmetric(x, y))
    };
    Panel::top("head").frame(plain(10, 5)).show(ui, |ui| {
        commands.extend(head::head_ui(ui, model));
    });
    let screen = ui.available_size();
    if !model.banner.is_empty() {
        let frame = plain(14, 5).fill(palette.banner);
        Panel::top("banner").frame(frame).show(ui, |ui| {
            commands.extend(summary::banner_ui(ui, &model.banner));
        });
    }
    if let Some(sheet) = &model.sheet {
        // the banner stays in sight; all else waits until the file is understood
        egui::CentralPanel::default()
            .frame(plain(10, 6))
            .show(ui, |ui| {
                let asked = import_sheet::sheet_ui(ui, sheet, model.work.as_ref());
                commands.extend(asked);
            });
        commands.extend(dropped(ui));
        return commands;
    }
    if !model.problems.is_empty() {
        Panel::top("problems").frame(plain(10, 4)).show(ui, |ui| {
            commands.extend(summary::problems_ui(ui, &model.problems));
        });
    }
    if let Some(offer) = &model.offer {
        Panel::top("offer").frame(plain(10, 4)).show(ui, |ui| {
            commands.extend(plan::offer_ui(ui, offer));
        });
    }
    let order = Panel::top("order").show_separator_line(false);
    order.frame(plain(10, 6)).show(ui, |ui| {
        commands.extend(cards::cards_ui(ui, &model.cards));
    });
    Panel::top("lines").frame(plain(14, 4)).show(ui, |ui| {
        summary::lines_ui(ui, &model.lines, screen.y < LOW);
    });
    Panel::top("sheets").frame(plain(10, 3)).show(ui, |ui| {
        commands.extend(sheets::sheets_ui(ui, model));
    });
    let sheet = model.view.is_sheet();
    let tall = model.tall_details;
    let share = if tall { 0.36 } else { 0.12 };
    let why = Panel::bottom("why")
        .exact_size((share * screen.y).clamp(72.0, if tall { 420.0 } else { 96.0 }))
        .frame(plain(10, 5));
    if !sheet {
        why.show(ui, |ui| {
            commands.extend(details::details_ui(ui, &model.details, tall));
        });
    }
    let wide = |share: f32, least: f32, most: f32| (share * screen.x).clamp(least, most);
    Panel::left("shots")
        .default_size(wide(0.155, 168.0, 240.0))
        .size_range(160.0..=wide(0.22, 170.0, 320.0))
        .frame(plain(10, 6))
        .show(ui, |ui| commands.extend(shots::shots_ui(ui, model)));
    let judged = Panel::right("judged")
        .default_size(wide(0.29, 272.0, 430.0))
        .size_range(260.0..=wide(0.42, 290.0, 620.0))
        .frame(plain(10, 6));
    if !sheet {
        judged.show(ui, |ui| commands.extend(table::judged_ui(ui, model)));
    }
    egui::CentralPanel::default()
        .frame(plain(8, 6))
        .show(ui, |ui| {
            keys::start_of_middle(ui, model);
            commands.extend(middle::middle_ui(ui, model));
        });
    commands.extend(keys::keys(ui, model));
    commands.extend(dropped(ui));
    commands
}

fn dropped(ui: &Ui) -> Commands {
    let files: Vec<_> = ui.input(|input| {
        let dropped = &input.raw.dropped_files;
        dropped.iter().map(|file| file.path().to_owned()).collect()
    });
    if files.is_empty() {
        Commands::new()
    } else {
        vec![Command::OpenFiles(files)]
    }
}
