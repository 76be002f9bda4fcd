//! Shapes for states and verdicts; each is told from the others without colour.

use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};

use crate::data::{StageState, Verdict};

/// A state as a bead on the thread: a full disc works, a half-full one works with little margin, a
/// ring in two halves that do not meet is dead, a dashed ring was not tested.
pub fn state(
    painter: &Painter,
    at: Pos2,
    radius: f32,
    state: StageState,
    hue: Color32,
    ground: Color32,
) {
    let stroke = Stroke::new(2.0, hue);
    painter.circle_filled(at, radius + 3.0, ground);
    match state {
        StageState::Working => {
            painter.circle_filled(at, radius, hue);
        }
        StageState::Marginal => {
            let half = arc(at, radius, 0.0, std::f32::consts::PI);
            painter.add(Shape::convex_polygon(half, hue, Stroke::NONE));
            painter.circle_stroke(at, radius - 1.0, stroke);
        }
        StageState::Dead => {
            let apart = vec2(2.6, -1.4);
            let upper = arc(at + apart, radius, -2.6, 0.35);
            let lower = arc(at - apart, radius, 0.55, 3.5);
            let thick = Stroke::new(3.0, hue);
            painter.add(Shape::line(upper, thick));
            painter.add(Shape::line(lower, thick));
        }
        StageState::NotTested => {
            for k in 0..6 {
                let from = k as f32 * std::f32::consts::TAU / 6.0;
                painter.add(Shape::line(arc(at, radius - 1.0, from, from + 0.6), stroke));
            }
        }
    }
}

fn arc(at: Pos2, radius: f32, from: f32, to: f32) -> Vec<Pos2> {
    const STEPS: usize = 14;
    (0..=STEPS)
        .map(|k| {
            let angle = from + (to - from) * k as f32 / STEPS as f32;
            at + radius * vec2(angle.cos(), angle.sin())
        })
        .collect()
}

/// A verdict as a dot and two walls: between them, beyond one, across one, or with no walls.
pub fn verdict(painter: &Painter, rect: Rect, verdict: Verdict, ink: Color32) {
    let stroke = Stroke::new(1.5, ink);
    let (left, right, y) = (rect.left(), rect.right(), rect.center().y);
    let walls = |places: &[f32]| {
        for x in places {
            painter.vline(*x, rect.y_range(), stroke);
        }
    };
    let third = rect.width() / 3.0;
    match verdict {
        Verdict::InLimits => {
            walls(&[left, right]);
            painter.circle_filled(pos2(rect.center().x, y), 3.0, ink);
        }
        Verdict::Outside => {
            walls(&[left, left + 1.4 * third]);
            painter.circle_filled(pos2(right - 1.0, y), 3.0, ink);
        }
        Verdict::CannotSay => {
            walls(&[left, right - third]);
            painter.circle_stroke(pos2(right - third, y), 3.5, stroke);
        }
        Verdict::NoLimit => {
            painter.circle_stroke(pos2(rect.center().x, y), 2.5, stroke);
        }
    }
}

/// A swatch of a role's hue.
pub fn swatch(painter: &Painter, rect: Rect, hue: Color32) {
    painter.rect_filled(rect, 1.5, hue);
}
