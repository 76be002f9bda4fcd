//! What is painted into a panel of the loop: paths with their direction, thresholds, words.

use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};

use crate::app::models::loop_parts::{LoopLevel, LoopPart};
use crate::app::models::vcc_loop::LoopRun;
use crate::app::theme::{self, Palette};

/// From volts to points.
pub struct Scales {
    /// Where the panel lies.
    pub plot: Rect,
    /// VCC at its left and right edge.
    pub across: (f64, f64),
    /// Values at its lower and upper edge.
    pub up: (f64, f64),
}

impl Scales {
    /// Place of a VCC.
    pub fn x(&self, vcc: f64) -> f32 {
        let share = (vcc - self.across.0) / (self.across.1 - self.across.0);
        self.plot.left() + share as f32 * self.plot.width()
    }

    /// Place of a value.
    pub fn y(&self, value: f64) -> f32 {
        let share = (value - self.up.0) / (self.up.1 - self.up.0);
        self.plot.bottom() - share as f32 * self.plot.height()
    }
}

/// A sweep: full lines and filled wedges where VCC rises, broken lines and open wedges where it falls.
pub fn run(painter: &Painter, run: &LoopRun, hue: Color32, scales: &Scales) {
    let mut path: Vec<Pos2> = Vec::with_capacity(run.points.len());
    for point in &run.points {
        let across = scales.x(point.vcc);
        let (top, bottom) = (scales.y(point.high), scales.y(point.low));
        if bottom - top > 2.0 {
            let faint = Stroke::new(1.0, hue.gamma_multiply(0.45));
            painter.vline(across, top..=bottom, faint);
        }
        path.push(pos2(across, 0.5 * (top + bottom)));
    }
    for part in &run.parts {
        if let Some(piece) = path.get(part.first..=part.last) {
            line(painter, piece, part.rising, hue);
        }
    }
    // of a long row of swings the widest each way says enough
    for part in [true, false].into_iter().filter_map(|way| widest(run, way)) {
        let Some(piece) = path.get(part.first..=part.last) else {
            continue;
        };
        for share in [0.25, 0.5, 0.75] {
            let index = (share * piece.len() as f32) as usize;
            let ends = (piece.get(index.saturating_sub(6)), piece.get(index));
            if let (Some(from), Some(to)) = ends {
                wedge(painter, (*from, *to), part.rising, hue);
            }
        }
    }
}

/// The part of a sweep in which VCC goes furthest this way.
fn widest(run: &LoopRun, rising: bool) -> Option<&LoopPart> {
    let travel = |part: &LoopPart| {
        let ends = (run.points.get(part.first), run.points.get(part.last));
        ends.0
            .zip(ends.1)
            .map_or(0.0, |(a, b)| (b.vcc - a.vcc).abs())
    };
    let of_it = run.parts.iter().filter(|part| part.rising == rising);
    of_it.max_by(|a, b| travel(a).total_cmp(&travel(b)))
}

fn line(painter: &Painter, path: &[Pos2], rising: bool, hue: Color32) {
    let stroke = Stroke::new(1.8, hue);
    if rising {
        painter.add(Shape::line(path.to_vec(), stroke));
    } else {
        painter.extend(Shape::dashed_line(path, stroke, 6.0, 4.0));
    }
}

/// Which way the sweep went.
fn wedge(painter: &Painter, (from, to): (Pos2, Pos2), rising: bool, hue: Color32) {
    let way = to - from;
    if way.length() < 1.0 {
        return;
    }
    let (along, aside) = (way.normalized() * 8.0, way.normalized().rot90() * 4.5);
    let corners = vec![to + along, to + aside, to - aside];
    let shape = if rising {
        Shape::convex_polygon(corners, hue, Stroke::NONE)
    } else {
        Shape::closed_line(corners, Stroke::new(1.5, hue))
    };
    painter.add(shape);
}

/// Words that stand in a panel already: none is written over another.
#[derive(Debug, Default)]
pub struct Words(Vec<Rect>);

impl Words {
    /// Writes a text on a ground of its own at the first of these centres where it has room, kept within
    /// the panel; nowhere if it has none.
    fn put(
        &mut self,
        painter: &Painter,
        palette: &Palette,
        centers: impl IntoIterator<Item = Pos2>,
        text: &str,
    ) {
        let galley = painter.layout_no_wrap(text.to_owned(), theme::small(), palette.ink);
        let half = 0.5 * galley.size();
        let room = painter.clip_rect().shrink(2.0);
        let (least, most) = (room.min + half, room.max - half);
        for center in centers {
            let inside = pos2(
                center.x.min(most.x).max(least.x),
                center.y.min(most.y).max(least.y),
            );
            let rect = Rect::from_center_size(inside, galley.size()).expand2(vec2(2.0, 0.0));
            if self.0.iter().any(|other| other.intersects(rect)) {
                continue;
            }
            let ground = palette.sheet.gamma_multiply(0.85);
            painter.rect_filled(rect, 2.0, ground);
            painter.galley(inside - half, galley, palette.ink);
            self.0.push(rect);
            return;
        }
    }
}

/// `shot 1 rising` beside the widest part each way.
pub fn names(
    painter: &Painter,
    palette: &Palette,
    run: &LoopRun,
    (scales, words): (&Scales, &mut Words),
) {
    for rising in [true, false] {
        let Some(part) = widest(run, rising) else {
            continue;
        };
        let (word, aside) = if rising {
            ("rising", -11.0)
        } else {
            ("falling", 12.0)
        };
        let beside = |share: f32| {
            let at = part.first + (share * (part.last - part.first) as f32) as usize;
            let point = run.points.get(at)?;
            let y = if rising { point.high } else { point.low };
            Some(pos2(scales.x(point.vcc), scales.y(y) + aside))
        };
        let places = [0.36, 0.2, 0.52, 0.68, 0.84, 0.1];
        let text = format!("shot {} {word}", run.shot + 1);
        words.put(
            painter,
            palette,
            places.into_iter().filter_map(beside),
            &text,
        );
    }
}

/// The thresholds: full lines for what the comparator sees, dots for the mean.
pub fn levels(
    painter: &Painter,
    palette: &Palette,
    all: &[LoopLevel],
    (scales, words): (&Scales, &mut Words),
) {
    let plot = scales.plot;
    for level in all {
        let x = scales.x(level.vcc);
        let stroke = Stroke::new(1.2, palette.ink);
        if level.mean {
            let ends = [pos2(x, plot.top()), pos2(x, plot.bottom())];
            painter.extend(Shape::dashed_line(&ends, stroke, 1.5, 5.0));
        } else {
            painter.vline(x, plot.y_range(), stroke);
        }
    }
    for level in all {
        let x = scales.x(level.vcc);
        let galley = painter.layout_no_wrap(level.text.clone(), theme::small(), palette.ink);
        let half = 0.5 * galley.size().x + 5.0;
        let side = if x > plot.center().x { -half } else { half };
        let rows = (0..6_u8).flat_map(|row| {
            let side_of_middle = if row % 2 == 0 { 1.0 } else { -1.0 };
            let y = plot.center().y + 16.0 * side_of_middle * f32::from(row / 2);
            [pos2(x + side, y), pos2(x - side, y)]
        });
        words.put(painter, palette, rows, &level.text);
    }
}

/// What the lines mean.
pub fn legend(
    painter: &Painter,
    palette: &Palette,
    hue: Color32,
    (plot, words): (Rect, &mut Words),
) {
    for (row, (rising, text)) in [(true, "VCC rising"), (false, "VCC falling")]
        .into_iter()
        .enumerate()
    {
        let at = plot.left_top() + vec2(12.0, 14.0 + 17.0 * row as f32);
        let ends = [at, at + vec2(36.0, 0.0)];
        line(painter, &ends, rising, hue);
        wedge(painter, (at, at + vec2(16.0, 0.0)), rising, hue);
        let beside = at + vec2(44.0, 0.0);
        let font = theme::small();
        let written = painter.text(beside, Align2::LEFT_CENTER, text, font, palette.ink);
        words.0.push(written.with_min_x(at.x));
    }
}
