//! The expected VCC over time: nominal as a line, every combination of tolerances as a shade, the limits of
//! start and stop as bands.

use egui::{Align2, Mesh, Painter, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::models::budget_curve::CurveModel;
use crate::app::theme::{self, Palette};
use crate::data::{Bounded, Role};

/// Room for the voltages and for the times.
const LEFT: f32 = 46.0;
const BELOW: f32 = 20.0;

/// The drawing, `width` by `height` points.
pub fn curve_ui(ui: &mut Ui, curve: &CurveModel, width: f32, height: f32) {
    let (rect, response) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, &curve.spoken));
    let palette = Palette::in_ui(ui);
    let mut plot = rect.shrink2(vec2(2.0, 6.0));
    plot.set_left(rect.left() + LEFT);
    plot.set_right(rect.right() - 14.0);
    plot.set_bottom(rect.bottom() - BELOW);
    let at = |t_s: f64, v: f64| {
        pos2(
            plot.left() + (t_s / curve.end_s) as f32 * plot.width(),
            plot.bottom() - (v / curve.top_v) as f32 * plot.height(),
        )
    };
    let painter = ui.painter();
    painter.rect_filled(plot, 2.0, palette.sheet);
    axes_paint(painter, &palette, plot, curve, &at);
    for (limit, word) in [(curve.start_v, "start"), (curve.stop_v, "stop")] {
        if let Some(limit) = limit {
            limit_paint(painter, &palette, plot, limit, word, &at);
        }
    }
    let hue = palette.role(Role::Vcc);
    // a mesh, since the soft edges of a polygon that is nearly a line reach far beyond it
    let mut band = Mesh::default();
    let shade = hue.gamma_multiply(0.28);
    for (index, (t_s, low, high)) in curve.band.iter().enumerate() {
        band.colored_vertex(at(*t_s, *low), shade);
        band.colored_vertex(at(*t_s, *high), shade);
        if index > 0 {
            let first = 2 * (index as u32 - 1);
            band.add_triangle(first, first + 1, first + 2);
            band.add_triangle(first + 1, first + 2, first + 3);
        }
    }
    painter.with_clip_rect(plot).add(Shape::mesh(band));
    let line: Vec<Pos2> = curve.typ.iter().map(|(t, v)| at(*t, *v)).collect();
    if let Some(end) = line.last() {
        painter.circle_filled(*end, 3.5, hue);
    }
    painter.line(line, Stroke::new(2.0, hue));
}

fn axes_paint(
    painter: &Painter,
    palette: &Palette,
    plot: Rect,
    curve: &CurveModel,
    at: &impl Fn(f64, f64) -> Pos2,
) {
    let rule = Stroke::new(1.0, palette.rule);
    for tick in &curve.volts {
        let place = at(0.0, tick.at);
        painter.hline(plot.x_range(), place.y, rule);
        let place = place - vec2(4.0, 0.0);
        let (font, quiet) = (theme::small(), palette.quiet);
        painter.text(place, Align2::RIGHT_CENTER, &tick.text, font, quiet);
    }
    for tick in &curve.times {
        let place = at(tick.at, 0.0);
        painter.vline(place.x, plot.y_range(), rule);
        let place = place + vec2(0.0, 3.0);
        let (font, quiet) = (theme::small(), palette.quiet);
        painter.text(place, Align2::CENTER_TOP, &tick.text, font, quiet);
    }
}

fn limit_paint(
    painter: &Painter,
    palette: &Palette,
    plot: Rect,
    limit: Bounded,
    word: &str,
    at: &impl Fn(f64, f64) -> Pos2,
) {
    let (top, bottom) = (at(0.0, limit.high).y, at(0.0, limit.low).y);
    let band = Rect::from_x_y_ranges(plot.x_range(), top..=bottom);
    painter.rect_filled(band, 0.0, palette.quiet.gamma_multiply(0.16));
    let y = at(0.0, limit.typ).y;
    painter.hline(plot.x_range(), y, Stroke::new(1.0, palette.quiet));
    let place = pos2(plot.right() - 4.0, y - 1.0);
    let (font, ink) = (theme::small(), palette.ink);
    painter.text(place, Align2::RIGHT_BOTTOM, word, font, ink);
}
