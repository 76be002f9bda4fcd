//! The threshold loop: VCC across, one panel for each pin that goes up.

use egui::{Align2, Painter, Rect, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::loop_paint::{self, Scales};
use crate::app::models::vcc_loop::{LoopModel, LoopPanel};
use crate::app::theme::{self, Palette};

const NUMBERS: f32 = 56.0;
const FEET: f32 = 40.0;
const HEAD: f32 = 22.0;
const GAP: f32 = 22.0;

/// The loop, as large as the middle.
pub fn loop_ui(ui: &mut Ui, model: &LoopModel) {
    let palette = Palette::in_ui(ui);
    let (whole, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, &model.spoken));
    let plots = Rect::from_min_max(whole.min + vec2(NUMBERS, HEAD), whole.max - vec2(8.0, FEET));
    let count = model.panels.len().max(1) as f32;
    let height = ((plots.height() - GAP * (count - 1.0)) / count).max(20.0);
    let painter = ui.painter();
    for (index, panel) in model.panels.iter().enumerate() {
        let top = plots.top() + index as f32 * (height + GAP);
        let plot = Rect::from_min_size(pos2(plots.left(), top), vec2(plots.width(), height));
        panel_ui(painter, &palette, plot, model, (panel, index == 0));
    }
    for tick in &model.across_ticks {
        let share = (tick.at - model.across.0) / (model.across.1 - model.across.0);
        let x = plots.left() + share as f32 * plots.width();
        let at = pos2(x, plots.bottom() + 3.0);
        let font = theme::small();
        painter.text(at, Align2::CENTER_TOP, &tick.text, font, palette.quiet);
    }
    let at = pos2(plots.center().x, plots.bottom() + 20.0);
    let font = theme::body();
    painter.text(at, Align2::CENTER_TOP, "VCC (7)", font, palette.ink);
}

/// One pin; the topmost panel names the bands and says what the lines mean.
fn panel_ui(
    painter: &Painter,
    palette: &Palette,
    plot: Rect,
    model: &LoopModel,
    (panel, topmost): (&LoopPanel, bool),
) {
    let scales = Scales {
        plot,
        across: model.across,
        up: panel.up,
    };
    painter.rect_filled(plot, 3.0, palette.sheet);
    bands(painter, palette, model, (&scales, topmost));
    axes(painter, palette, model, (panel, &scales));
    let clipped = painter.with_clip_rect(plot);
    let hue = palette.role(panel.role);
    loop_paint::levels(&clipped, palette, &panel.levels, &scales);
    for (index, run) in panel.runs.iter().enumerate() {
        loop_paint::run(&clipped, run, hue, &scales);
        loop_paint::names(&clipped, palette, (run, index), &scales);
    }
    if topmost {
        loop_paint::legend(&clipped, palette, hue, plot);
    }
}

fn bands(
    painter: &Painter,
    palette: &Palette,
    model: &LoopModel,
    (scales, named): (&Scales, bool),
) {
    let plot = scales.plot;
    for band in &model.bands {
        let reach = scales.x(band.low)..=scales.x(band.high);
        let zone = Rect::from_x_y_ranges(reach, plot.y_range());
        painter.rect_filled(zone, 0.0, palette.band);
        for edge in [band.low, band.high] {
            let x = scales.x(edge);
            let ends = [pos2(x, plot.top()), pos2(x, plot.bottom())];
            let stroke = Stroke::new(1.0, palette.edge);
            painter.extend(Shape::dashed_line(&ends, stroke, 2.0, 4.0));
        }
        if named {
            let at = pos2(zone.center().x, plot.top() - 4.0);
            let font = theme::small();
            painter.text(at, Align2::CENTER_BOTTOM, &band.text, font, palette.quiet);
        }
    }
}

fn axes(
    painter: &Painter,
    palette: &Palette,
    model: &LoopModel,
    (panel, scales): (&LoopPanel, &Scales),
) {
    let plot = scales.plot;
    let faint = Stroke::new(0.5, palette.rule);
    for tick in &model.across_ticks {
        painter.vline(scales.x(tick.at), plot.y_range(), faint);
    }
    for tick in &panel.up_ticks {
        painter.hline(plot.x_range(), scales.y(tick.at), faint);
        let at = pos2(plot.left() - 5.0, scales.y(tick.at));
        let font = theme::small();
        painter.text(at, Align2::RIGHT_CENTER, &tick.text, font, palette.quiet);
    }
    let at = pos2(plot.left() - NUMBERS + 2.0, plot.top() - 4.0);
    let font = theme::body();
    painter.text(at, Align2::LEFT_BOTTOM, &panel.title, font, palette.ink);
}
