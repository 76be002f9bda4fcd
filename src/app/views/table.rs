//! Measured against expected: one row a value, with a small bar.

use egui::{
    Align2, Event, Panel, Rect, Response, RichText, ScrollArea, Sense, Stroke, Ui, WidgetInfo,
    pos2, vec2,
};

use super::{Commands, glyphs, suspects};
use crate::app::commands::Command;
use crate::app::models::PanelModel;
use crate::app::models::table::{Bar, Gap, Row, TableModel};
use crate::app::state::Explained;
use crate::app::theme::{self, Palette};

const ROW_HEIGHT: f32 = 44.0;

/// The right side: the table above, the suspects below.
pub fn judged_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let half = (0.42 * ui.available_height()).max(120.0);
    Panel::bottom("suspects")
        .default_size(half)
        .size_range(80.0..=(0.6 * ui.available_height()).max(120.0))
        .resizable(true)
        .frame(egui::Frame::new().inner_margin(egui::Margin::symmetric(0, 6)))
        .show(ui, |ui| {
            commands.extend(suspects::suspects_ui(ui, model));
        });
    egui::CentralPanel::no_frame().show(ui, |ui| {
        commands.extend(table_ui(ui, &model.table, model.explained));
    });
    commands
}

fn table_ui(ui: &mut Ui, table: &TableModel, explained: Option<Explained>) -> Commands {
    let mut commands = Commands::new();
    ui.horizontal(|ui| {
        ui.label(RichText::new(table.title).font(theme::large()));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let some = !table.rows.is_empty() || !table.gaps.is_empty();
            if some && ui.button("Copy table").clicked() {
                commands.push(Command::Copy(table.copied.clone()));
            }
            ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
                let rest = RichText::new("measured against expected").font(theme::small());
                let rest = rest.color(Palette::in_ui(ui).quiet);
                ui.add(egui::Label::new(rest).truncate());
            });
        });
    });
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let palette = Palette::in_ui(ui);
        for row in &table.rows {
            let chosen = explained == Some(Explained::Measured(row.index));
            commands.extend(row_ui(ui, row, chosen));
        }
        if !table.gaps.is_empty() {
            ui.label(RichText::new("Not measured").color(palette.quiet));
        }
        for gap in &table.gaps {
            commands.extend(gap_ui(ui, gap));
        }
        if table.rows.is_empty() && table.gaps.is_empty() {
            ui.label("Nothing measured for this stage.");
        }
    });
    commands
}

fn row_ui(ui: &mut Ui, row: &Row, chosen: bool) -> Commands {
    let palette = Palette::in_ui(ui);
    let size = vec2(ui.available_width(), ROW_HEIGHT);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| WidgetInfo::selected(egui::Role::Button, true, chosen, &row.spoken));
    if ui.is_rect_visible(rect) {
        ground_ui(ui, &palette, rect, &response, chosen);
        row_paint(ui, &palette, rect, row);
    }
    asked(
        ui,
        response,
        Explained::Measured(row.index),
        &row.copied,
        &row.why,
    )
}

/// Fill and outline of something that can be chosen.
pub fn ground_ui(ui: &Ui, palette: &Palette, rect: Rect, response: &Response, chosen: bool) {
    let painter = ui.painter();
    if chosen || response.hovered() {
        painter.rect_filled(rect, 3.0, palette.sheet);
    }
    if response.has_focus() {
        let stroke = Stroke::new(2.0, palette.ink);
        painter.rect_stroke(rect, 3.0, stroke, egui::StrokeKind::Inside);
    }
    painter.hline(
        rect.x_range(),
        rect.bottom(),
        Stroke::new(1.0, palette.rule),
    );
}

/// Explains on click and on focus, copies on request.
pub fn asked(ui: &Ui, response: Response, what: Explained, copied: &str, why: &str) -> Commands {
    let mut commands = Commands::new();
    if response.clicked() {
        response.request_focus();
        commands.push(Command::Visit(what));
    } else if response.gained_focus() {
        commands.push(Command::Explain(what));
    }
    let copy_key = ui.input(|input| input.events.iter().any(|e| matches!(e, Event::Copy)));
    if response.has_focus() && copy_key {
        commands.push(Command::Copy(copied.to_owned()));
    }
    response.context_menu(|ui| {
        if ui.button("Copy").clicked() {
            commands.push(Command::Copy(copied.to_owned()));
            ui.close();
        }
        if ui.button("Copy with reasons").clicked() {
            commands.push(Command::Copy(why.to_owned()));
            ui.close();
        }
    });
    response.on_hover_text(why);
    commands
}

fn row_paint(ui: &Ui, palette: &Palette, rect: Rect, row: &Row) {
    let painter = ui.painter().with_clip_rect(rect);
    let (left, right) = (rect.left() + 4.0, rect.right() - 6.0);
    let (upper, lower) = (rect.top() + 13.0, rect.top() + 31.0);
    let value = painter.text(
        pos2(right, upper),
        Align2::RIGHT_CENTER,
        &row.value,
        theme::figures(),
        palette.ink,
    );
    let names = painter.with_clip_rect(rect.with_max_x(value.left() - 8.0));
    let title = names.text(
        pos2(left, upper),
        Align2::LEFT_CENTER,
        &row.title,
        theme::body(),
        palette.ink,
    );
    let mut shot =
        egui::text::LayoutJob::simple_singleline(row.shot.clone(), theme::small(), palette.quiet);
    let room = value.left() - title.right() - 16.0;
    shot.wrap = egui::text::TextWrapping::truncate_at_width(room.max(0.0));
    let shot = names.layout_job(shot);
    // half a word says nothing
    if room > 30.0 {
        let at = pos2(title.right() + 8.0, upper - 0.5 * shot.size().y);
        names.galley(at, shot, palette.quiet);
    }
    let word = painter.text(
        pos2(right - 26.0, lower),
        Align2::RIGHT_CENTER,
        &row.word,
        theme::small(),
        palette.ink,
    );
    let glyph = Rect::from_center_size(pos2(right - 8.0, lower), vec2(15.0, 12.0));
    glyphs::verdict(&painter, glyph, row.verdict, palette.ink);
    let bar = Rect::from_x_y_ranges(left + 132.0..=word.left() - 12.0, lower - 7.0..=lower + 7.0);
    let limits = painter.with_clip_rect(rect.with_max_x(if row.bar.is_some() {
        bar.left() - 4.0
    } else {
        word.left() - 8.0
    }));
    limits.text(
        pos2(left, lower),
        Align2::LEFT_CENTER,
        &row.limits,
        theme::small(),
        palette.quiet,
    );
    if let Some(shape) = row.bar.filter(|_| bar.width() > 40.0) {
        bar_paint(&painter, palette, bar, &shape);
    }
}

fn bar_paint(painter: &egui::Painter, palette: &Palette, rect: Rect, bar: &Bar) {
    let x = |place: f32| rect.left() + place.clamp(0.0, 1.0) * rect.width();
    let (from, to) = (
        bar.min.map_or(rect.left(), x),
        bar.max.map_or(rect.right(), x),
    );
    let middle = rect.center().y;
    painter.hline(rect.x_range(), middle, Stroke::new(1.0, palette.rule));
    if bar.min.is_some() || bar.max.is_some() {
        let zone = Rect::from_x_y_ranges(from..=to, rect.top() + 2.0..=rect.bottom() - 2.0);
        painter.rect_filled(zone, 0.0, palette.raised);
    }
    for wall in [bar.min, bar.max].into_iter().flatten() {
        painter.vline(x(wall), rect.y_range(), Stroke::new(1.5, palette.edge));
    }
    if let Some(typ) = bar.typ {
        let short = middle - 3.0..=middle + 3.0;
        painter.vline(x(typ), short, Stroke::new(1.0, palette.edge));
    }
    let ink = Stroke::new(2.0, palette.ink);
    painter.hline(x(bar.reach.0)..=x(bar.reach.1), middle, ink);
    painter.circle_filled(pos2(x(bar.value), middle), 3.2, palette.ink);
}

fn gap_ui(ui: &mut Ui, gap: &Gap) -> Commands {
    let palette = Palette::in_ui(ui);
    let mut text = egui::text::LayoutJob::default();
    let part = |font, color| egui::TextFormat::simple(font, color);
    text.append(&gap.title, 0.0, part(theme::body(), palette.ink));
    text.append(&gap.reason, 10.0, part(theme::small(), palette.quiet));
    text.wrap.max_width = ui.available_width() - 8.0;
    let galley = ui.painter().layout_job(text);
    let size = vec2(ui.available_width(), galley.size().y + 8.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let spoken = format!("{}: not measured, {}", gap.title, gap.reason);
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, &spoken));
    ground_ui(ui, &palette, rect, &response, false);
    ui.painter()
        .galley(rect.min + vec2(4.0, 4.0), galley, palette.ink);
    asked(
        ui,
        response,
        Explained::Measured(gap.index),
        &spoken,
        &gap.why,
    )
}
