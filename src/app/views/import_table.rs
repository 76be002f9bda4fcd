//! The first lines of a file as a table: each cell on the ground of what it was taken for. One
//! control for the keyboard; the arrow keys walk through the cells.

use egui::{
    Align2, EventFilter, Key, Label, Pos2, Rect, Response, RichText, Sense, Stroke, StrokeKind, Ui,
    WidgetInfo, pos2, vec2,
};

use crate::app::models::import_sheet::{CellModel, HeadModel, SheetModel};
use crate::app::theme::{self, Palette};
use crate::data::TakenFor;

/// Height of a line.
const ROW: f32 = 20.0;
/// Height of the heads of columns: what it is, and its name.
const HEADS: f32 = 36.0;
/// Number and word of a line.
const GUTTER: f32 = 112.0;
/// Width of a character of the table's text.
const CHARACTER: f32 = 7.7;

/// Legend, table, and the cell in hand.
pub fn table_ui(ui: &mut Ui, sheet: &SheetModel) {
    let palette = Palette::in_ui(ui);
    ui.label(RichText::new("First lines").font(theme::large()));
    legend_ui(ui, sheet);
    let told = egui::Id::unique("cell-in-hand");
    let at: (usize, usize) = ui.data(|data| data.get_temp(told)).unwrap_or_default();
    let cell = sheet.lines.get(at.0).and_then(|line| line.cells.get(at.1));
    egui::Panel::bottom("cell")
        .frame(egui::Frame::new())
        .show_separator_line(false)
        .show(ui, |ui| {
            let text = cell.map_or("", |cell| &cell.spoken);
            let text = RichText::new(text).font(theme::small());
            ui.add(Label::new(text.color(palette.quiet)).truncate());
        });
    let places = Places::of(sheet);
    egui::ScrollArea::both().auto_shrink(false).show(ui, |ui| {
        let (rect, _) = ui.allocate_exact_size(places.size, Sense::hover());
        let id = ui.scope_id().with("first-lines");
        let table = ui.interact(rect, id, Sense::click());
        let spoken = format!(
            "First lines of {}: {} lines, {} columns; the arrow keys walk through the cells",
            sheet.file,
            sheet.lines.len(),
            sheet.heads.len()
        );
        table.widget_info(|| WidgetInfo::labeled(egui::Role::Table, true, &spoken));
        let chosen = walk(ui, &table, &places, rect.min, at);
        if chosen != at {
            ui.data_mut(|data| data.insert_temp(told, chosen));
            ui.scroll_to_rect(places.seen(rect.min, chosen), None);
        }
        cells_ui(ui, sheet, &places, rect.min);
        if table.has_focus() {
            let stroke = Stroke::new(2.0, palette.ink);
            let cell = places.cell(rect.min, chosen);
            ui.painter()
                .rect_stroke(cell, 1.0, stroke, StrokeKind::Inside);
        }
        gutter(ui, sheet, rect.min);
        heads(ui, sheet, &places, rect.min);
    });
}

fn legend_ui(ui: &mut Ui, sheet: &SheetModel) {
    let palette = Palette::in_ui(ui);
    ui.horizontal_wrapped(|ui| {
        for (kind, word) in &sheet.legend {
            ground(ui, &palette, *kind, |ui, palette| {
                let text = RichText::new(*word).font(theme::small());
                ui.label(text.color(palette.ink));
            });
        }
    });
}

fn ground(ui: &mut Ui, palette: &Palette, kind: TakenFor, add: impl FnOnce(&mut Ui, &Palette)) {
    let edge = match kind {
        TakenFor::Missing | TakenFor::BeyondRange => Stroke::new(1.0, palette.edge),
        _ => Stroke::NONE,
    };
    egui::Frame::new()
        .fill(palette.cell(kind))
        .stroke(edge)
        .inner_margin(egui::Margin::symmetric(6, 1))
        .show(ui, |ui| add(ui, palette));
}

/// Where columns and lines stand.
struct Places {
    /// Left edge of each column, and the right edge of the last.
    edges: Vec<f32>,
    lines: usize,
    size: egui::Vec2,
}

impl Places {
    fn of(sheet: &SheetModel) -> Places {
        let mut edges = vec![GUTTER];
        let mut x = GUTTER;
        for head in &sheet.heads {
            x += (head.characters as f32 * CHARACTER + 14.0).max(58.0);
            edges.push(x);
        }
        let lines = sheet.lines.len();
        Places {
            edges,
            lines,
            size: vec2(x, HEADS + lines as f32 * ROW),
        }
    }

    fn columns(&self) -> usize {
        self.edges.len() - 1
    }

    fn cell(&self, origin: Pos2, (line, column): (usize, usize)) -> Rect {
        let edge = |index: usize| self.edges.get(index).copied().unwrap_or(GUTTER);
        let top = origin.y + HEADS + line as f32 * ROW;
        Rect::from_min_max(
            pos2(origin.x + edge(column), top),
            pos2(origin.x + edge(column + 1), top + ROW),
        )
    }

    /// A cell with room for the heads and the gutter, which stay in sight.
    fn seen(&self, origin: Pos2, at: (usize, usize)) -> Rect {
        let cell = self.cell(origin, at);
        Rect::from_min_max(cell.min - vec2(GUTTER, HEADS), cell.max)
    }

    fn at(&self, origin: Pos2, place: Pos2) -> Option<(usize, usize)> {
        let line = (place.y - origin.y - HEADS) / ROW;
        let x = place.x - origin.x;
        let column = self.edges.windows(2).position(|e| e[0] <= x && x < e[1])?;
        (line >= 0.0 && (line as usize) < self.lines).then_some((line as usize, column))
    }
}

/// The cell in hand after keys and clicks.
fn walk(
    ui: &Ui,
    table: &Response,
    places: &Places,
    origin: Pos2,
    (line, column): (usize, usize),
) -> (usize, usize) {
    let last = (places.lines.max(1) - 1, places.columns().max(1) - 1);
    let (line, column) = (line.min(last.0), column.min(last.1));
    if let Some(place) = table.interact_pointer_pos().filter(|_| table.clicked()) {
        table.request_focus();
        return places.at(origin, place).unwrap_or((line, column));
    }
    if !table.has_focus() {
        return (line, column);
    }
    let arrows = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(table.id, arrows));
    ui.input(|input| {
        let by = |more: Key, less: Key, at: usize, last: usize| {
            let forward = input.num_presses(more);
            (at + forward)
                .min(last)
                .saturating_sub(input.num_presses(less))
        };
        (
            by(Key::ArrowDown, Key::ArrowUp, line, last.0),
            by(Key::ArrowRight, Key::ArrowLeft, column, last.1),
        )
    })
}

fn cells_ui(ui: &mut Ui, sheet: &SheetModel, places: &Places, origin: Pos2) {
    let clip = ui.clip_rect();
    for (row, line) in sheet.lines.iter().enumerate() {
        for (column, cell) in line.cells.iter().enumerate() {
            let rect = places.cell(origin, (row, column));
            if clip.intersects(rect) {
                cell_ui(ui, rect, (row, column), cell);
            }
        }
    }
}

fn cell_ui(ui: &Ui, rect: Rect, place: (usize, usize), cell: &CellModel) {
    let palette = Palette::in_ui(ui);
    let inner = rect.shrink2(vec2(1.0, 1.0));
    let painter = ui.painter().with_clip_rect(inner.intersect(ui.clip_rect()));
    painter.rect_filled(inner, 1.0, palette.cell(cell.taken_for));
    if matches!(cell.taken_for, TakenFor::Missing | TakenFor::BeyondRange) {
        let edge = Stroke::new(1.0, palette.edge);
        painter.rect_stroke(inner, 1.0, edge, StrokeKind::Inside);
    }
    let at = inner.left_center() + vec2(5.0, 0.0);
    painter.text(
        at,
        Align2::LEFT_CENTER,
        &cell.text,
        theme::figures(),
        palette.ink,
    );
    let response = ui.interact(rect, ui.scope_id().with(place), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Cell, true, &cell.spoken));
    response.on_hover_text(&cell.spoken);
}

/// Number and word of each line; they stay at the left when the table is moved.
fn gutter(ui: &Ui, sheet: &SheetModel, origin: Pos2) {
    let palette = Palette::in_ui(ui);
    let clip = ui.clip_rect();
    let left = origin.x.max(clip.left());
    let whole = Rect::from_min_max(
        pos2(left, clip.top()),
        pos2(left + GUTTER - 2.0, clip.bottom()),
    );
    ui.painter().rect_filled(whole, 0.0, palette.ground);
    for (row, line) in sheet.lines.iter().enumerate() {
        let y = origin.y + HEADS + (row as f32 + 0.5) * ROW;
        if y < clip.top() - ROW || y > clip.bottom() + ROW {
            continue;
        }
        let number = pos2(left + 42.0, y);
        ui.painter().text(
            number,
            Align2::RIGHT_CENTER,
            line.number,
            theme::figures(),
            palette.quiet,
        );
        let word = pos2(left + 50.0, y);
        ui.painter().text(
            word,
            Align2::LEFT_CENTER,
            line.word,
            theme::small(),
            palette.quiet,
        );
    }
}

/// The heads of the columns; they stay on top when the table is moved.
fn heads(ui: &Ui, sheet: &SheetModel, places: &Places, origin: Pos2) {
    let palette = Palette::in_ui(ui);
    let clip = ui.clip_rect();
    let top = origin.y.max(clip.top());
    let whole = Rect::from_min_max(pos2(clip.left(), top), pos2(clip.right(), top + HEADS));
    ui.painter().rect_filled(whole, 0.0, palette.ground);
    for (index, head) in sheet.heads.iter().enumerate() {
        let cell = places.cell(origin, (0, index));
        let rect = Rect::from_min_max(
            pos2(cell.left() + 1.0, top),
            pos2(cell.right() - 1.0, top + HEADS - 1.0),
        );
        head_ui(ui, rect, index, head);
    }
    let line = Rect::from_min_max(
        pos2(origin.x.max(clip.left()), top),
        pos2(origin.x.max(clip.left()) + GUTTER - 2.0, top + HEADS),
    );
    ui.painter().rect_filled(line, 0.0, palette.ground);
    let at = line.left_center() + vec2(12.0, 0.0);
    ui.painter().text(
        at,
        Align2::LEFT_CENTER,
        "line",
        theme::small(),
        palette.quiet,
    );
}

fn head_ui(ui: &Ui, rect: Rect, index: usize, head: &HeadModel) {
    let palette = Palette::in_ui(ui);
    let painter = ui.painter().with_clip_rect(rect.intersect(ui.clip_rect()));
    painter.rect_filled(rect, 2.0, palette.cell(head.taken_for));
    let left = rect.left() + 5.0;
    let word = pos2(left, rect.top() + 0.28 * HEADS);
    painter.text(
        word,
        Align2::LEFT_CENTER,
        &head.word,
        theme::small(),
        palette.ink,
    );
    let name = pos2(left, rect.top() + 0.72 * HEADS);
    painter.text(
        name,
        Align2::LEFT_CENTER,
        &head.name,
        theme::figures(),
        palette.ink,
    );
    let spoken = format!("Column {}: {}", head.word, head.name);
    let id = ui.scope_id().with(("head", index));
    let response = ui.interact(rect, id, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::ColumnHeader, true, &spoken));
}
