//! The threshold loop: VCC across, another pin up.

use egui::{Align2, Color32, Pos2, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::models::vcc_loop::{LoopModel, LoopRun};
use crate::app::theme::{self, Palette};

const NUMBERS: f32 = 56.0;
const FEET: f32 = 40.0;
const HEAD: f32 = 22.0;

/// The loop, as large as the middle.
pub fn loop_ui(ui: &mut Ui, model: &LoopModel) {
    let palette = Palette::in_ui(ui);
    let (whole, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    let spoken = format!(
        "Threshold loop, VCC across, {} up, {} sweeps",
        model.role.title(),
        model.runs.len()
    );
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, &spoken));
    let plot = Rect::from_min_max(whole.min + vec2(NUMBERS, HEAD), whole.max - vec2(8.0, FEET));
    let painter = ui.painter();
    painter.rect_filled(plot, 3.0, palette.sheet);
    let x = |vcc: f64| {
        let share = (vcc - model.across.0) / (model.across.1 - model.across.0);
        plot.left() + share as f32 * plot.width()
    };
    let y = |value: f64| {
        let share = (value - model.up.0) / (model.up.1 - model.up.0);
        plot.bottom() - share as f32 * plot.height()
    };
    for band in &model.bands {
        let zone = Rect::from_x_y_ranges(x(band.low)..=x(band.high), plot.y_range());
        painter.rect_filled(zone, 0.0, palette.band);
        for edge in [band.low, band.high] {
            let ends = [pos2(x(edge), plot.top()), pos2(x(edge), plot.bottom())];
            painter.extend(Shape::dashed_line(
                &ends,
                Stroke::new(1.0, palette.edge),
                2.0,
                4.0,
            ));
        }
        painter.text(
            pos2(zone.center().x, plot.top() - 4.0),
            Align2::CENTER_BOTTOM,
            &band.text,
            theme::small(),
            palette.quiet,
        );
    }
    axes(ui, &palette, plot, model, &x, &y);
    let clipped = painter.with_clip_rect(plot);
    let hue = palette.role(model.role);
    for (index, run) in model.runs.iter().enumerate() {
        run_paint(&clipped, run, index, hue, &x, &y);
        let at = plot.left_top() + vec2(12.0, 16.0 + 20.0 * index as f32);
        let sample = [at, at + vec2(34.0, 0.0)];
        line(&clipped, sample.to_vec(), index, hue);
        clipped.text(
            at + vec2(42.0, 0.0),
            Align2::LEFT_CENTER,
            &run.text,
            theme::small(),
            palette.ink,
        );
    }
}

fn axes(
    ui: &Ui,
    palette: &Palette,
    plot: Rect,
    model: &LoopModel,
    x: &impl Fn(f64) -> f32,
    y: &impl Fn(f64) -> f32,
) {
    let painter = ui.painter();
    let faint = Stroke::new(0.5, palette.rule);
    for tick in &model.across_ticks {
        painter.vline(x(tick.at), plot.y_range(), faint);
        let at = pos2(x(tick.at), plot.bottom() + 3.0);
        painter.text(
            at,
            Align2::CENTER_TOP,
            &tick.text,
            theme::small(),
            palette.quiet,
        );
    }
    for tick in &model.up_ticks {
        painter.hline(plot.x_range(), y(tick.at), faint);
        let at = pos2(plot.left() - 5.0, y(tick.at));
        painter.text(
            at,
            Align2::RIGHT_CENTER,
            &tick.text,
            theme::small(),
            palette.quiet,
        );
    }
    painter.text(
        pos2(plot.center().x, plot.bottom() + 20.0),
        Align2::CENTER_TOP,
        "VCC (7)",
        theme::body(),
        palette.ink,
    );
    painter.text(
        pos2(plot.left() - NUMBERS + 2.0, plot.top() - 4.0),
        Align2::LEFT_BOTTOM,
        model.role.title_with_pin(),
        theme::body(),
        palette.ink,
    );
}

fn run_paint(
    painter: &egui::Painter,
    run: &LoopRun,
    index: usize,
    hue: Color32,
    x: &impl Fn(f64) -> f32,
    y: &impl Fn(f64) -> f32,
) {
    let mut path: Vec<Pos2> = Vec::with_capacity(run.points.len());
    for point in &run.points {
        let across = x(point.vcc);
        let (top, bottom) = (y(point.high), y(point.low));
        if bottom - top > 2.0 {
            painter.vline(
                across,
                top..=bottom,
                Stroke::new(1.0, hue.gamma_multiply(0.45)),
            );
        }
        path.push(pos2(across, 0.5 * (top + bottom)));
    }
    arrows(painter, &path, hue);
    line(painter, path, index, hue);
}

/// Which way the sweep went: a few small wedges along the path.
fn arrows(painter: &egui::Painter, path: &[Pos2], hue: Color32) {
    for share in [0.2, 0.4, 0.6, 0.8] {
        let index = (share * path.len() as f32) as usize;
        let (Some(from), Some(to)) = (path.get(index.saturating_sub(6)), path.get(index)) else {
            continue;
        };
        let way = *to - *from;
        if way.length() < 1.0 {
            continue;
        }
        let (along, aside) = (way.normalized() * 7.0, way.normalized().rot90() * 4.0);
        let wedge = vec![*to + along, *to + aside, *to - aside];
        painter.add(Shape::convex_polygon(wedge, hue, Stroke::NONE));
    }
}

/// Runs differ by their dashes, not by hue.
fn line(painter: &egui::Painter, path: Vec<Pos2>, index: usize, hue: Color32) {
    let stroke = Stroke::new(1.8, hue);
    match index % 3 {
        0 => {
            painter.add(Shape::line(path, stroke));
        }
        1 => painter.extend(Shape::dashed_line(&path, stroke, 8.0, 4.0)),
        _ => painter.extend(Shape::dashed_line(&path, stroke, 2.0, 4.0)),
    }
}
