//! Painting a lane: limits, samples, axes, span, and what lies under the pointer.

use egui::{Align2, Color32, Mesh, Painter, Pos2, Rangef, Rect, Response, Shape, Stroke, Ui, pos2};

use crate::app::models::lanes::Lane;
use crate::app::models::ticks::Tick;
use crate::app::theme::{self, Palette};
use crate::data::text::engineering;
use crate::data::{EventKind, Mark, Role, Unit};
use crate::inspect::view::Column;

/// Time across the lanes.
#[derive(Debug, Clone, Copy)]
pub struct TimeScale {
    shown_s: (f64, f64),
    across: Rangef,
}

impl TimeScale {
    /// `shown_s` spread over `across`.
    pub fn new(shown_s: (f64, f64), across: Rangef) -> Self {
        Self { shown_s, across }
    }

    /// The scale of a record whose own time is ahead of this one's by `ahead_s`.
    pub fn shifted(&self, ahead_s: f64) -> Self {
        let (from, to) = self.shown_s;
        Self {
            shown_s: (from + ahead_s, to + ahead_s),
            across: self.across,
        }
    }

    /// Where an instant lies; may be outside.
    pub fn x(&self, at_s: f64) -> f32 {
        let share = (at_s - self.shown_s.0) / (self.shown_s.1 - self.shown_s.0);
        self.across.min + (share.clamp(-1e3, 1e3) as f32) * self.across.span()
    }

    /// The instant at `x`.
    pub fn time(&self, x: f32) -> f64 {
        self.shown_s.0 + self.seconds(x - self.across.min)
    }

    /// The time that a distance stands for.
    pub fn seconds(&self, distance: f32) -> f64 {
        f64::from(distance) * (self.shown_s.1 - self.shown_s.0)
            / f64::from(self.across.span().max(1.0))
    }
}

struct ValueScale {
    range: (f64, f64),
    up: Rangef,
}

impl ValueScale {
    fn y(&self, value: f64) -> f32 {
        let share = (value - self.range.0) / (self.range.1 - self.range.0);
        self.up.max - (share.clamp(-10.0, 10.0) as f32) * self.up.span()
    }
}

/// One lane: ground, limits, samples, numbers.
pub fn lane(ui: &Ui, palette: &Palette, rect: Rect, lane: &Lane, time: &TimeScale) {
    let all = ui.painter();
    all.rect_filled(rect, 3.0, palette.sheet);
    let value = ValueScale {
        range: lane.range,
        up: rect.y_range(),
    };
    let painter = all.with_clip_rect(rect.intersect(all.clip_rect()));
    bands(&painter, palette, rect, lane, &value);
    for tick in &lane.ticks {
        let y = value.y(tick.at);
        painter.hline(rect.x_range(), y, Stroke::new(0.5, palette.rule));
        let at = pos2(rect.left() - 5.0, y);
        all.text(
            at,
            Align2::RIGHT_CENTER,
            &tick.text,
            theme::small(),
            palette.quiet,
        );
    }
    let hue = palette.role(lane.role.unwrap_or(Role::Other));
    samples(&painter, (&lane.columns, lane.held), time, &value, hue);
    let scales = (time, &value);
    taken(&painter, palette, rect, lane, scales);
    band_words(&painter, palette, rect, lane, scales);
    taken_words(&painter, palette, rect, lane, scales);
    if !lane.span.is_empty() {
        let text = painter.layout_no_wrap(lane.span.clone(), theme::figures(), palette.ink);
        let tops = [rect.top() + 5.0, rect.bottom() - 5.0 - text.size().y];
        if let Some(place) = free_place(rect, text.size(), (&tops, OUTER), lane, scales) {
            boxed_galley(&painter, palette, place.right_top(), text);
        }
    }
}

/// Half the length of the stroke at an instant.
const STROKE: f32 = 9.0;
/// Widths of a mark and of the ground around it, which parts it from samples of its own hue.
const MARK: (f32, f32) = (3.0, 7.0);
/// The same where instants crowd.
const CROWDED: (f32, f32) = (1.5, 3.5);

/// Where the value explained was taken: its levels as lines, its instants as upright strokes, in the
/// hue of the role on a strip of the lane's ground.
fn taken(
    painter: &Painter,
    palette: &Palette,
    rect: Rect,
    lane: &Lane,
    (time, value): (&TimeScale, &ValueScale),
) {
    let seen = |at_s: f64| rect.x_range().contains(time.x(at_s));
    let instants = lane.taken.iter().filter(|taken| match taken.mark {
        Mark::Instant { at_s, .. } => seen(at_s),
        Mark::Level { .. } => false,
    });
    let crowded = instants.count() as f32 * 3.0 * MARK.1 > rect.width();
    let hue = palette.role(lane.role.unwrap_or(Role::Other));
    // all strips first, so that none hides another mark
    for (inner, color) in [(false, palette.sheet), (true, hue)] {
        let width = |both: (f32, f32)| if inner { both.0 } else { both.1 };
        // a strip reaches beyond the ends of its mark
        let beyond = if inner { 0.0 } else { 2.0 };
        for taken in &lane.taken {
            match taken.mark {
                Mark::Level {
                    level,
                    from_s,
                    to_s,
                } => {
                    let (from, to) = (time.x(from_s), time.x(to_s).max(time.x(from_s) + 2.0));
                    let across = Rangef::new(from - beyond, to + beyond);
                    painter.hline(across, value.y(level), Stroke::new(width(MARK), color));
                }
                Mark::Instant { at_s, level } => {
                    let middle = level.map_or(rect.center().y, |level| value.y(level));
                    let reach = STROKE + beyond;
                    let up = Rangef::new(middle - reach, middle + reach);
                    let width = width(if crowded { CROWDED } else { MARK });
                    painter.vline(time.x(at_s), up, Stroke::new(width, color));
                }
            }
        }
    }
}

/// The levels of the marks in words, beside their lines.
fn taken_words(
    painter: &Painter,
    palette: &Palette,
    rect: Rect,
    lane: &Lane,
    scales: (&TimeScale, &ValueScale),
) {
    for taken in lane.taken.iter().filter(|taken| !taken.label.is_empty()) {
        let Mark::Level { level, .. } = taken.mark else {
            continue;
        };
        let text = painter.layout_no_wrap(taken.label.clone(), theme::figures(), palette.ink);
        let (y, size) = (scales.1.y(level), text.size());
        let fits = |top: &f32| *top >= rect.top() && *top + size.y <= rect.bottom();
        let tops = [y - 6.0 - size.y, y + 6.0];
        let tops: Vec<f32> = tops.into_iter().filter(fits).collect();
        if let Some(place) = free_place(rect, size, (&tops, INNER), lane, scales) {
            boxed_galley(painter, palette, place.right_top(), text);
        }
    }
}

fn bands(painter: &Painter, palette: &Palette, rect: Rect, lane: &Lane, value: &ValueScale) {
    for band in &lane.bands {
        let (low, high) = (value.y(band.low), value.y(band.high));
        let zone = Rect::from_x_y_ranges(rect.x_range(), high..=low.max(high + 1.0));
        painter.rect_filled(zone, 0.0, palette.band);
        let edge = Stroke::new(1.0, palette.edge);
        for y in [low, high] {
            painter.extend(Shape::dashed_line(
                &[pos2(rect.left(), y), pos2(rect.right(), y)],
                edge,
                2.0,
                4.0,
            ));
        }
    }
}

/// What each band is, where no sample is hidden by the words.
fn band_words(
    painter: &Painter,
    palette: &Palette,
    rect: Rect,
    lane: &Lane,
    scales: (&TimeScale, &ValueScale),
) {
    for band in &lane.bands {
        let (low, high) = (scales.1.y(band.low), scales.1.y(band.high));
        let text = painter.layout_no_wrap(band.text.clone(), theme::small(), palette.quiet);
        let size = text.size();
        let within = (low - high > size.y).then_some(0.5 * (low + high - size.y));
        let tops = [within, Some(low + 1.0), Some(high - 1.0 - size.y)];
        let fits = |top: &f32| *top >= rect.top() && *top + size.y <= rect.bottom();
        let tops: Vec<f32> = tops.into_iter().flatten().filter(fits).collect();
        if let Some(place) = free_place(rect, size, (&tops, OUTER), lane, scales) {
            // readable where no place is free of lines and samples
            let ground = palette.sheet.gamma_multiply(0.75);
            painter.rect_filled(place.expand2(egui::vec2(2.0, -1.0)), 2.0, ground);
            painter.galley(place.min, text, palette.quiet);
        }
    }
}

/// Places across a lane, from left (0) to right (1), in the order tried: for limits and the span.
const OUTER: [f32; 5] = [1.0, 0.0, 0.5, 0.75, 0.25];
/// For the levels of a value, which keep off those.
const INNER: [f32; 5] = [0.5, 0.4, 0.6, 0.25, 0.75];

/// A place for something of `size` that hides no sample; the first one when there is none.
fn free_place(
    rect: Rect,
    size: egui::Vec2,
    (tops, across): (&[f32], [f32; 5]),
    lane: &Lane,
    (time, value): (&TimeScale, &ValueScale),
) -> Option<Rect> {
    let free_width = (rect.width() - size.x - 12.0).max(0.0);
    let places = tops.iter().flat_map(|top| {
        across.map(|share| {
            Rect::from_min_size(pos2(rect.left() + 6.0 + share * free_width, *top), size)
        })
    });
    let free = |place: &Rect| {
        let span = (time.time(place.left()), time.time(place.right()));
        let begin = lane.columns.partition_point(|column| column.to_s < span.0);
        let here = lane.columns.get(begin..).unwrap_or(&[]).iter();
        !here
            .take_while(|column| column.from_s <= span.1)
            .any(|column| {
                let reach = Rangef::new(value.y(column.max), value.y(column.min));
                reach.intersects(place.y_range())
            })
    };
    let places: Vec<Rect> = places.collect();
    places
        .iter()
        .find(|place| free(place))
        .or(places.first())
        .copied()
}

/// Columns with values of `range` in a place of the screen; `held` where a value holds until the next.
pub fn trace(
    painter: &Painter,
    drawn: (&[Column], bool),
    (range, rect): ((f64, f64), Rect),
    time: &TimeScale,
    hue: Color32,
) {
    let value = ValueScale {
        range,
        up: rect.y_range(),
    };
    samples(painter, drawn, time, &value, hue);
}

/// A line from column to column, and a stroke from the smallest to the largest value of each.
fn samples(
    painter: &Painter,
    (drawn, held): (&[Column], bool),
    time: &TimeScale,
    value: &ValueScale,
    hue: Color32,
) {
    let mut columns = Mesh::default();
    let mut line: Vec<Pos2> = Vec::with_capacity(drawn.len());
    let mut shapes = Vec::new();
    let mut end = |line: &mut Vec<Pos2>| match line.len() {
        0 => {}
        1 => shapes.push(Shape::circle_filled(line.remove(0), 1.5, hue)),
        _ => shapes.push(Shape::line(std::mem::take(line), Stroke::new(1.4, hue))),
    };
    for column in drawn {
        if !column.min.is_finite() {
            end(&mut line);
            continue;
        }
        let x = time.x(0.5 * (column.from_s + column.to_s));
        let (top, bottom) = (value.y(column.max), value.y(column.min));
        if bottom - top > 1.0 {
            let stroke = Rect::from_x_y_ranges(x - 0.7..=x + 0.7, top - 0.5..=bottom + 0.5);
            columns.add_colored_rect(stroke, hue);
        }
        let enters = column
            .first
            .map_or(0.5 * (top + bottom), |first| value.y(first));
        let leaves = column
            .last
            .map_or(0.5 * (top + bottom), |last| value.y(last));
        if held && let Some(before) = line.last() {
            line.push(pos2(x, before.y));
        }
        line.push(pos2(x, enters));
        if (leaves - enters).abs() > 0.5 {
            line.push(pos2(x + 0.01, leaves));
        }
    }
    end(&mut line);
    painter.add(Shape::mesh(columns));
    painter.extend(shapes);
}

/// Numbers and faint lines of the time axis.
pub fn times(ui: &Ui, palette: &Palette, plots: Rect, ticks: &[Tick], time: &TimeScale) {
    let painter = ui.painter();
    for tick in ticks {
        let x = time.x(tick.at);
        painter.vline(x, plots.y_range(), Stroke::new(0.5, palette.rule));
        painter.text(
            pos2(x, plots.bottom() + 3.0),
            Align2::CENTER_TOP,
            &tick.text,
            theme::small(),
            palette.quiet,
        );
    }
}

/// The line of a start (whole) or a stop (dashed) through all lanes.
pub fn mark_line(ui: &Ui, palette: &Palette, plots: Rect, x: f32, kind: EventKind) {
    let stroke = Stroke::new(1.0, palette.edge);
    let ends = [pos2(x, plots.top() - 3.0), pos2(x, plots.bottom())];
    match kind {
        EventKind::Start => {
            ui.painter().line_segment(ends, stroke);
        }
        EventKind::Stop => {
            ui.painter()
                .extend(Shape::dashed_line(&ends, stroke, 5.0, 3.0));
        }
    }
}

/// The marked span across all lanes.
pub fn span(ui: &Ui, palette: &Palette, plots: Rect, span_s: (f64, f64), time: &TimeScale) {
    let painter = ui.painter().with_clip_rect(plots.intersect(ui.clip_rect()));
    let (from, to) = (time.x(span_s.0), time.x(span_s.1));
    let zone = Rect::from_x_y_ranges(from..=to, plots.y_range());
    painter.rect_filled(zone, 0.0, palette.marked.gamma_multiply(0.45));
    for x in [from, to] {
        painter.vline(x, plots.y_range(), Stroke::new(1.5, palette.ink));
    }
}

/// Time and values under the pointer.
pub fn under_pointer(
    ui: &Ui,
    palette: &Palette,
    response: &Response,
    plots: Rect,
    lanes: &[Lane],
    pitch: f32,
    time: &TimeScale,
) {
    let Some(over) = response.hover_pos().filter(|over| plots.contains(*over)) else {
        return;
    };
    let painter = ui.painter();
    painter.vline(over.x, plots.y_range(), Stroke::new(1.0, palette.edge));
    let at_s = time.time(over.x);
    let index = ((over.y - plots.top()) / pitch).floor().max(0.0) as usize;
    let here = lanes
        .get(index)
        .and_then(|lane| nearest(&lane.columns, at_s));
    let mut text = engineering(at_s, Unit::Second, 5);
    if let Some(column) = here.filter(|column| column.min.is_finite()) {
        text.push_str("  ");
        text.push_str(&engineering(column.min, Unit::Volt, 4));
        if column.max > column.min {
            text.push_str(" to ");
            text.push_str(&engineering(column.max, Unit::Volt, 4));
        }
    }
    let shift = if over.x > plots.center().x {
        -8.0
    } else {
        12.0
    };
    let galley = painter.layout_no_wrap(text, theme::figures(), palette.ink);
    let width = if shift < 0.0 { 0.0 } else { galley.size().x };
    boxed_galley(
        painter,
        palette,
        pos2(over.x + shift + width, over.y + 16.0),
        galley,
    );
}

fn boxed_galley(
    painter: &Painter,
    palette: &Palette,
    at: Pos2,
    galley: std::sync::Arc<egui::Galley>,
) {
    let rect = Align2::RIGHT_TOP.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand(3.0), 2.0, palette.raised);
    painter.galley(rect.min, galley, palette.ink);
}

fn nearest(columns: &[Column], at_s: f64) -> Option<&Column> {
    let after = columns.partition_point(|column| column.to_s < at_s);
    columns.get(after).or_else(|| columns.last())
}
