//! A part seen from above: its outline with the notch, its pins with numbers, and beside each pin what to
//! expect there.

use egui::{
    Align, Align2, Color32, Label, Layout, Painter, Rect, RichText, Sense, Stroke, Ui, WidgetInfo,
    pos2, vec2,
};

use crate::app::models::controller_sheet::{PinModel, PinRow};
use crate::app::theme::{self, Palette};

/// Width of the body with its pins.
const MIDDLE: f32 = 120.0;
/// How far a pin stands out.
const LEG: f32 = 18.0;
/// Half the height of a pin.
const HALF: f32 = 7.0;
/// Least height of a row.
const LEAST: f32 = 34.0;

/// The drawing, as wide as there is room, pin 1 at the top left.
pub fn package_ui(ui: &mut Ui, rows: &[PinRow]) {
    let palette = Palette::in_ui(ui);
    let side = ((ui.available_width() - MIDDLE - 24.0) / 2.0).clamp(120.0, 520.0);
    let mut drawn: Vec<Rect> = Vec::new();
    for (left, right) in rows {
        let mut middle = Rect::NOTHING;
        let row = ui.horizontal_top(|ui| {
            pin_ui(ui, side, left.as_ref(), Align::Max);
            let (rect, _) = ui.allocate_exact_size(vec2(MIDDLE, LEAST), Sense::hover());
            middle = rect;
            pin_ui(ui, side, right.as_ref(), Align::Min);
        });
        let y = row.response.rect.y_range();
        drawn.push(Rect::from_x_y_ranges(middle.x_range(), y));
    }
    let (Some(first), Some(last)) = (drawn.first(), drawn.last()) else {
        return;
    };
    let body = Rect::from_min_max(
        pos2(first.left() + LEG, first.top() - 2.0),
        pos2(last.right() - LEG, last.bottom() + 2.0),
    );
    let painter = ui.painter();
    body_paint(painter, &palette, body);
    for (row, (left, right)) in drawn.iter().zip(rows) {
        let y = row.top() + 0.5 * LEAST;
        if let Some(pin) = left {
            leg_paint(painter, &palette, pos2(body.left(), y), -1.0, pin);
        }
        if let Some(pin) = right {
            leg_paint(painter, &palette, pos2(body.right(), y), 1.0, pin);
        }
    }
    ui.add_space(4.0);
}

fn body_paint(painter: &Painter, palette: &Palette, body: Rect) {
    painter.rect(
        body,
        3.0,
        palette.sheet,
        Stroke::new(1.5, palette.ink),
        egui::StrokeKind::Inside,
    );
    // half a disc cut out of the top edge tells where pin 1 is
    let centre = body.center_top();
    let arc: Vec<_> = (0..=12)
        .map(|step| {
            let angle = std::f32::consts::PI * step as f32 / 12.0;
            centre + 8.0 * vec2(angle.cos(), angle.sin())
        })
        .collect();
    painter.line_segment(
        [centre - vec2(7.0, -0.75), centre + vec2(7.0, 0.75)],
        Stroke::new(2.5, palette.ground),
    );
    painter.line(arc, Stroke::new(1.5, palette.ink));
}

/// A pin at the edge of the body, its number inside, its leg in the hue of its role.
fn leg_paint(painter: &Painter, palette: &Palette, at: egui::Pos2, out: f32, pin: &PinModel) {
    let hue = hue(palette, pin);
    let leg = Rect::from_two_pos(at + vec2(0.0, -HALF), at + vec2(out * LEG, HALF));
    let edge = Stroke::new(1.0, palette.ink);
    painter.rect(leg, 1.0, hue, edge, egui::StrokeKind::Inside);
    let (align, inside) = match out < 0.0 {
        true => (Align2::LEFT_CENTER, vec2(6.0, 0.0)),
        false => (Align2::RIGHT_CENTER, vec2(-6.0, 0.0)),
    };
    painter.text(at + inside, align, pin.pin, theme::figures(), palette.ink);
}

fn hue(palette: &Palette, pin: &PinModel) -> Color32 {
    pin.role.map_or(palette.edge, |role| palette.role(role))
}

/// What is said beside a pin; reached by Tab, as one sentence.
fn pin_ui(ui: &mut Ui, width: f32, pin: Option<&PinModel>, towards: Align) {
    let palette = Palette::in_ui(ui);
    let Some(pin) = pin else {
        ui.allocate_exact_size(vec2(width, LEAST), Sense::hover());
        return;
    };
    let size = vec2(width, LEAST);
    let block = ui.allocate_ui_with_layout(size, Layout::top_down(towards), |ui| {
        ui.set_width(width);
        ui.spacing_mut().item_spacing.y = 1.0;
        let head = RichText::new(&pin.head).strong().color(match pin.role {
            Some(role) => palette.role(role),
            None => palette.ink,
        });
        ui.add(Label::new(head).wrap().selectable(false));
        let text = |ui: &mut Ui, text: String, hue| {
            let text = RichText::new(text).font(theme::small()).color(hue);
            ui.add(Label::new(text).wrap().selectable(false));
        };
        text(ui, format!("stopped: {}", pin.stopped), palette.ink);
        text(ui, format!("running: {}", pin.running), palette.ink);
        if !pin.connect.is_empty() {
            text(ui, format!("connect: {}", pin.connect), palette.ink);
        }
        if !pin.sources.is_empty() {
            text(ui, format!("source: {}", pin.sources), palette.quiet);
        }
        ui.add_space(6.0);
    });
    let rect = block.response.rect;
    let id = ui.scope_id().with(("pin", pin.pin));
    let response = ui.interact(rect, id, Sense::focusable_noninteractive());
    response.widget_info(|| WidgetInfo::labeled(egui::Role::Label, true, &pin.spoken));
    if response.has_focus() {
        let edge = Stroke::new(1.5, palette.ink);
        let outside = egui::StrokeKind::Outside;
        ui.painter().rect_stroke(rect, 2.0, edge, outside);
        response.scroll_to_me(None);
    }
}
