//! Two captures in the lanes of one time axis: before thin and in ink, after in the colour of the pin,
//! and under each lane after minus before.

use egui::{Align2, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::compared::corner;
use super::lane_paint::{self, TimeScale};
use crate::app::models::compared::{OverLane, OverModel};
use crate::app::theme::{self, Palette};
use crate::data::Unit;
use crate::data::text::engineering;

const LANE: f32 = 104.0;
const DIFFERENCE: f32 = 40.0;
const GAP: f32 = 6.0;
/// Room for the numbers of the value axis.
const LEFT: f32 = 92.0;

/// The lanes, as wide as there is room. Gives the shift by hand where the run after was dragged sideways:
/// how much later the same happens in it, in seconds.
pub fn over_ui(ui: &mut Ui, model: &OverModel) -> Option<f64> {
    let each = LANE + DIFFERENCE + GAP;
    let height = each * model.lanes.len() as f32 + 20.0;
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::drag());
    let spoken = format!("Before and after: {}", model.words);
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, &spoken));
    if !ui.is_rect_visible(rect) {
        return None;
    }
    let palette = Palette::in_ui(ui);
    let mut plots = rect;
    plots.set_left(rect.left() + LEFT);
    plots.set_right(rect.right() - 8.0);
    plots.set_bottom(rect.bottom() - 20.0);
    let time = TimeScale::new(model.shown_s, plots.x_range());
    let (moved_s, dropped) = moved(ui, &response, &time);
    for (index, lane) in model.lanes.iter().enumerate() {
        let top = plots.top() + index as f32 * each;
        let upper = Rect::from_x_y_ranges(plots.x_range(), top..=top + LANE);
        let lower = Rect::from_x_y_ranges(
            plots.x_range(),
            upper.bottom() + 2.0..=upper.bottom() + DIFFERENCE,
        );
        for part in [upper, lower] {
            ui.painter().rect_filled(part, 3.0, palette.sheet);
        }
        lane_ui(ui, lane, upper, &time, moved_s);
        difference_ui(ui, lane, lower, &time);
    }
    lane_paint::times(ui, &palette, plots, &model.ticks, &time);
    let hint = "Drag sideways to lay the run after over the one before by hand.";
    response.on_hover_text(hint);
    dropped.then_some(model.shift_s - moved_s)
}

/// How far the run after is dragged to the right, in seconds, and whether it was just let go.
fn moved(ui: &Ui, response: &Response, time: &TimeScale) -> (f64, bool) {
    let id = response.id.with("moved");
    if let Some(by) = response.total_drag_delta() {
        let moved_s = time.seconds(by.x);
        ui.data_mut(|data| data.insert_temp(id, moved_s));
        return (moved_s, false);
    }
    let moved_s: Option<f64> = ui.data_mut(|data| data.remove_temp(id));
    match moved_s.filter(|_| response.drag_stopped()) {
        Some(moved_s) => (moved_s, true),
        None => (0.0, false),
    }
}

fn lane_ui(ui: &Ui, lane: &OverLane, rect: Rect, time: &TimeScale, moved_s: f64) {
    let palette = Palette::in_ui(ui);
    let painter = ui.painter().with_clip_rect(rect);
    let hues = [palette.quiet, palette.role(lane.role)];
    let moves = [0.0, moved_s];
    for ((trace, hue), moved_s) in lane.traces.iter().zip(hues).zip(moves) {
        let own = time.shifted(trace.ahead_s - moved_s);
        let drawn = (trace.columns.as_slice(), trace.held);
        lane_paint::trace(&painter, drawn, (lane.range, rect), &own, hue);
    }
    let share = |v: f64| ((v - lane.range.0) / (lane.range.1 - lane.range.0)) as f32;
    for tick in &lane.ticks {
        let y = rect.bottom() - share(tick.at) * rect.height();
        corner(
            ui,
            pos2(rect.left() - 6.0, y),
            Align2::RIGHT_CENTER,
            &tick.text,
        );
    }
    let title = lane.role.title_with_pin();
    let at = rect.left_top() + vec2(-LEFT, 2.0);
    ui.painter()
        .text(at, Align2::LEFT_TOP, title, theme::small(), hues[1]);
}

fn difference_ui(ui: &Ui, lane: &OverLane, rect: Rect, time: &TimeScale) {
    let palette = Palette::in_ui(ui);
    let (low, high) = lane.difference_range;
    let size = (high - low).max(1e-9);
    let y = |v: f64| rect.bottom() - 4.0 - ((v - low) / size) as f32 * (rect.height() - 8.0);
    let painter = ui.painter().with_clip_rect(rect);
    painter.hline(rect.x_range(), y(0.0), Stroke::new(0.7, palette.edge));
    let points: Vec<Pos2> = lane
        .difference
        .iter()
        .map(|(at_s, v)| pos2(time.x(*at_s), y(*v)))
        .collect();
    if points.len() > 1 {
        painter.add(Shape::line(points, Stroke::new(1.2, palette.ink)));
    }
    for (value, align, edge) in [
        (high, Align2::RIGHT_TOP, rect.left_top()),
        (low, Align2::RIGHT_BOTTOM, rect.left_bottom()),
    ] {
        let text = engineering(value, Unit::Volt, 3);
        corner(ui, edge - vec2(6.0, 0.0), align, &text);
    }
    let at = rect.right_top() + vec2(-6.0, 2.0);
    corner(ui, at, Align2::RIGHT_TOP, &lane.difference_words);
}
