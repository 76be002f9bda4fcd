//! Voltage steps on a line of volts: a row going up, a row going down, published limits as broad bands
//! and what the readings leave as narrow ones.

use egui::{Align2, Painter, Rect, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::models::steps::{StepBand, StepMark, StepsLine};
use crate::app::models::ticks;
use crate::app::theme::{self, Palette};
use crate::data::{Direction, Role, Unit};

const ROW: f32 = 30.0;
/// Room for the words of a row.
const LEFT: f32 = 76.0;

/// The line, as wide as there is room.
pub fn line_ui(ui: &mut Ui, line: &StepsLine) {
    let rows = if line.undirected { 3.0 } else { 2.0 };
    let size = vec2(ui.available_width(), rows * ROW + 22.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, &line.spoken));
    let palette = Palette::in_ui(ui);
    let mut plot = rect;
    plot.set_left(rect.left() + LEFT);
    plot.set_right(rect.right() - 12.0);
    plot.set_bottom(rect.bottom() - 22.0);
    let x = |volts: f64| {
        let share = (volts - line.ends_v.0) / (line.ends_v.1 - line.ends_v.0);
        plot.left() + share as f32 * plot.width()
    };
    let painter = ui.painter();
    for band in &line.bands {
        band_paint(painter, &palette, plot, band, &x);
    }
    for (row, word) in ["going up", "going down", "not said"]
        .into_iter()
        .enumerate()
    {
        if row as f32 >= rows {
            break;
        }
        let y = plot.top() + (row as f32 + 0.5) * ROW;
        let at = pos2(rect.left(), y);
        painter.text(at, Align2::LEFT_CENTER, word, theme::small(), palette.quiet);
        painter.hline(plot.x_range(), y, Stroke::new(1.0, palette.rule));
    }
    for mark in &line.marks {
        let y = plot.top() + (row_of(mark.going) + 0.5) * ROW;
        mark_paint(painter, &palette, pos2(x(mark.volts), y), mark);
    }
    let wanted = (plot.width() / 80.0) as usize;
    for tick in ticks::ticks(line.ends_v.0, line.ends_v.1, wanted, Unit::Volt) {
        let at = pos2(x(tick.at), plot.bottom() + 3.0);
        let (font, quiet) = (theme::small(), palette.quiet);
        painter.text(at, Align2::CENTER_TOP, tick.text, font, quiet);
    }
}

fn row_of(going: Option<Direction>) -> f32 {
    match going {
        Some(Direction::Up) => 0.0,
        Some(Direction::Down) => 1.0,
        None => 2.0,
    }
}

fn band_paint(
    painter: &Painter,
    palette: &Palette,
    plot: Rect,
    band: &StepBand,
    x: &impl Fn(f64) -> f32,
) {
    let top = plot.top() + row_of(Some(band.going)) * ROW;
    let (inset, strength) = if band.published {
        (2.0, 0.16)
    } else {
        (11.0, 0.55)
    };
    let left = band.low_v.map_or(plot.left(), x);
    let right = band.high_v.map_or(plot.right(), x);
    let rect = Rect::from_min_max(pos2(left, top + inset), pos2(right, top + ROW - inset));
    let hue = palette.role(Role::Vcc).gamma_multiply(strength);
    painter.rect_filled(rect, 2.0, hue);
}

/// A full disc works, an open one is dead.
fn mark_paint(painter: &Painter, palette: &Palette, at: egui::Pos2, mark: &StepMark) {
    let hue = palette.ink;
    if mark.works {
        painter.circle_filled(at, 4.5, hue);
    } else {
        painter.circle(at, 4.5, palette.ground, Stroke::new(1.6, hue));
    }
}
