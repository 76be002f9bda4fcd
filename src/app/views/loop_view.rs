//! The threshold loop: VCC across, one panel for each pin that goes up.

use egui::{Align2, Painter, Rect, ScrollArea, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::loop_paint::{self, Scales, Words};
use crate::app::models::vcc_loop::{LoopModel, LoopPanel};
use crate::app::theme::{self, Palette};

const NUMBERS: f32 = 56.0;
const FEET: f32 = 40.0;
const HEAD: f32 = 22.0;
const GAP: f32 = 22.0;

/// Least height of a panel, in points; where the middle is lower, it scrolls.
const LOWEST: f32 = 104.0;

/// The loop, as large as the middle.
pub fn loop_ui(ui: &mut Ui, model: &LoopModel) {
    ScrollArea::vertical()
        .auto_shrink(false)
        .min_scrolled_height(24.0)
        .show(ui, |ui| panels_ui(ui, model));
}

fn panels_ui(ui: &mut Ui, model: &LoopModel) {
    let palette = Palette::in_ui(ui);
    let count = model.panels.len().max(1) as f32;
    let gaps = GAP * (count - 1.0);
    let free = ui.available_height() - HEAD - FEET;
    let height = ((free - gaps) / count).max(LOWEST);
    let size = vec2(ui.available_width(), HEAD + FEET + gaps + count * height);
    let (whole, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, &model.spoken));
    let plots = Rect::from_min_max(whole.min + vec2(NUMBERS, HEAD), whole.max - vec2(8.0, FEET));
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
    let mut words = Words::default();
    if topmost {
        loop_paint::legend(&clipped, palette, hue, (plot, &mut words));
    }
    for run in &panel.runs {
        loop_paint::run(&clipped, run, hue, &scales);
    }
    loop_paint::levels(&clipped, palette, &panel.levels, (&scales, &mut words));
    for run in &panel.runs {
        loop_paint::names(&clipped, palette, run, (&scales, &mut words));
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
    }
    if named {
        band_names(painter, palette, model, scales);
    }
}

/// Names of the bands above the topmost panel, side by side where they have no room over their bands.
fn band_names(painter: &Painter, palette: &Palette, model: &LoopModel, scales: &Scales) {
    let mut order: Vec<_> = model.bands.iter().collect();
    order.sort_by(|a, b| a.low.total_cmp(&b.low));
    let galley =
        |text: &String| painter.layout_no_wrap(text.clone(), theme::small(), palette.quiet);
    let names: Vec<_> = order.iter().map(|band| galley(&band.text)).collect();
    let mut lefts: Vec<f32> = Vec::new();
    for (band, name) in order.iter().zip(&names) {
        let middle = 0.5 * (scales.x(band.low) + scales.x(band.high));
        lefts.push(middle - 0.5 * name.size().x);
    }
    for index in 1..lefts.len() {
        let overlap = lefts[index - 1] + names[index - 1].size().x + 12.0 - lefts[index];
        if overlap > 0.0 {
            lefts[index - 1] -= 0.5 * overlap;
            lefts[index] += 0.5 * overlap;
        }
    }
    for (left, name) in lefts.into_iter().zip(names) {
        let at = pos2(left, scales.plot.top() - 4.0 - name.size().y);
        painter.galley(at, name, palette.quiet);
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
