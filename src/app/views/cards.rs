//! The start-up order: stages as beads on a thread that parts where the start-up parts.

use egui::{
    Align2, EventFilter, Id, Key, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, WidgetInfo, pos2,
    vec2,
};

use super::{Commands, glyphs};
use crate::app::commands::Command;
use crate::app::models::cards::{CardModel, Thread};
use crate::app::theme::{self, Palette};
use crate::data::StageState;

const HEIGHT: f32 = 92.0;
const GAP: f32 = 8.0;
const BEAD: f32 = 8.0;
/// Bead within its card.
const BEAD_AT: egui::Vec2 = vec2(22.0, 19.0);

/// The cards, as wide as the window; arrow keys walk along them.
pub fn cards_ui(ui: &mut Ui, cards: &[CardModel]) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let count = cards.len().max(1) as f32;
    let full = ui.available_width();
    let (strip, _) = ui.allocate_exact_size(vec2(full, HEIGHT), Sense::hover());
    let width = (full - GAP * (count - 1.0)) / count;
    let place = |index: usize| {
        let left = strip.left() + index as f32 * (width + GAP);
        Rect::from_min_size(pos2(left, strip.top()), vec2(width, HEIGHT))
    };
    let ids: Vec<Id> = cards
        .iter()
        .map(|card| ui.scope_id().with(("card", card.stage)))
        .collect();
    commands.extend(walk(ui, &ids, cards));
    for (index, card) in cards.iter().enumerate() {
        let Some(id) = ids.get(index) else { continue };
        let response = ui.interact(place(index), *id, Sense::click());
        let (focused, spoken) = (card.focused, card.spoken.clone());
        response.widget_info(|| WidgetInfo::selected(egui::Role::Button, true, focused, &spoken));
        card_ui(ui, &palette, card, place(index), &response);
        if response.on_hover_text(&card.because).clicked() {
            commands.push(Command::Focus(card.stage));
        }
    }
    let bead = |index: usize| place(index).min + BEAD_AT;
    for (index, card) in cards.iter().enumerate().skip(1) {
        thread_ui(ui, &palette, bead(index - 1), bead(index), card.thread);
    }
    for (index, card) in cards.iter().enumerate() {
        let ground = ground_of(&palette, card);
        let hue = palette.stage(card.stage);
        glyphs::state(ui.painter(), bead(index), BEAD, card.state, hue, ground);
    }
    commands
}

/// Moves focus and choice along the cards, once for each press of an arrow key.
fn walk(ui: &Ui, ids: &[Id], cards: &[CardModel]) -> Commands {
    let here = |id: &Id| ui.memory(|memory| memory.has_focus(*id));
    let Some(index) = ids.iter().position(here) else {
        return Commands::new();
    };
    let filter = EventFilter {
        horizontal_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(ids[index], filter));
    let pressed = |key| ui.input(|input| input.key_pressed(key));
    let next = match (pressed(Key::ArrowLeft), pressed(Key::ArrowRight)) {
        (true, false) => index.checked_sub(1),
        (false, true) => Some(index + 1),
        _ => None,
    };
    let Some((id, card)) = next.and_then(|next| Some((ids.get(next)?, cards.get(next)?))) else {
        return Commands::new();
    };
    ui.memory_mut(|memory| memory.request_focus(*id));
    vec![Command::Focus(card.stage)]
}

fn ground_of(palette: &Palette, card: &CardModel) -> egui::Color32 {
    if card.focused {
        palette.sheet
    } else {
        palette.ground
    }
}

fn card_ui(ui: &Ui, palette: &Palette, card: &CardModel, rect: Rect, response: &Response) {
    let painter = ui.painter().with_clip_rect(rect.expand(2.0));
    if card.focused {
        painter.rect_filled(rect, 4.0, palette.sheet);
        let foot = Rect::from_min_max(pos2(rect.left(), rect.bottom() - 3.0), rect.max);
        painter.rect_filled(foot, 1.0, palette.ink);
    }
    if response.has_focus() {
        let stroke = Stroke::new(2.0, palette.ink);
        painter.rect_stroke(rect.shrink(1.0), 4.0, stroke, egui::StrokeKind::Inside);
    } else if response.hovered() {
        let stroke = Stroke::new(1.0, palette.edge);
        painter.rect_stroke(rect.shrink(1.0), 4.0, stroke, egui::StrokeKind::Inside);
    }
    let left = rect.left() + 12.0;
    let row = rect.top() + 34.0;
    let inner = painter.with_clip_rect(rect.shrink2(vec2(10.0, 0.0)));
    let title = inner.text(
        pos2(left, row),
        Align2::LEFT_TOP,
        card.title,
        theme::large(),
        palette.ink,
    );
    // what does not work stands out by size, not by colour
    let (font, ink) = if matches!(card.state, StageState::Dead | StageState::Marginal) {
        (theme::large(), palette.ink)
    } else {
        (theme::body(), palette.quiet)
    };
    let word = inner.layout_no_wrap(card.word.to_owned(), font, ink);
    let beside = rect.right() - 12.0 - word.size().x;
    // a narrow card has the word under its name, and one figure less
    let narrow = beside < title.right() + 6.0;
    let at = if narrow {
        pos2(left, row + 21.0)
    } else {
        pos2(beside, row + 17.0 - word.size().y)
    };
    inner.galley(at, word, ink);
    let (skip, most) = if narrow { (19.0, 1) } else { (0.0, 2) };
    let width = rect.width() - 22.0;
    for (line, figure) in card.figures.iter().take(most).enumerate() {
        let at = pos2(left, row + 23.0 + skip + 16.0 * line as f32);
        inner.galley(at, fitted(&inner, figure, width, palette), palette.quiet);
    }
}

/// A figure as large as it fits: in the figures' type, in small type, without its ±, cut.
fn fitted(
    painter: &egui::Painter,
    figure: &str,
    width: f32,
    palette: &Palette,
) -> std::sync::Arc<egui::Galley> {
    let without = match (figure.split_once(" ± "), figure.rsplit_once(' ')) {
        (Some((value, rest)), Some((_, unit))) if rest.contains(' ') => format!("{value} {unit}"),
        (Some((value, _)), _) => value.to_owned(),
        _ => figure.to_owned(),
    };
    let tries = [
        (figure, theme::figures()),
        (figure, theme::small()),
        (without.as_str(), theme::small()),
    ];
    for (text, font) in tries {
        let galley = painter.layout_no_wrap(text.to_owned(), font, palette.quiet);
        if galley.size().x <= width {
            return galley;
        }
    }
    let mut text = egui::text::LayoutJob::simple_singleline(without, theme::small(), palette.quiet);
    text.wrap = egui::text::TextWrapping::truncate_at_width(width);
    painter.layout_job(text)
}

fn thread_ui(ui: &Ui, palette: &Palette, from: Pos2, to: Pos2, thread: Thread) {
    let painter = ui.painter();
    let (from, to) = (from + vec2(BEAD + 4.0, 0.0), to - vec2(BEAD + 4.0, 0.0));
    let length = to.x - from.x;
    let whole = Stroke::new(2.5, palette.ink);
    match thread {
        Thread::Whole => {
            painter.line_segment([from, to], whole);
        }
        Thread::Open => {
            let shapes = Shape::dashed_line(&[from, to], Stroke::new(1.5, palette.edge), 5.0, 5.0);
            painter.extend(shapes);
        }
        Thread::Broken { seen } => {
            let end = from + vec2(0.55 * length, 0.0);
            if seen {
                painter.line_segment([from, end], whole);
            } else {
                let open = Stroke::new(1.5, palette.edge);
                painter.extend(Shape::dashed_line(&[from, end], open, 5.0, 5.0));
            }
            for drop in [-6.0, -1.0, 5.0] {
                let strand = [end, end + vec2(9.0, 0.4 * drop), end + vec2(15.0, drop)];
                painter.add(Shape::line(strand.to_vec(), Stroke::new(1.2, palette.ink)));
            }
            let begin = to - vec2(0.16 * length, 0.0);
            for drop in [-4.0, 3.0] {
                let strand = [begin - vec2(9.0, -drop), begin, begin + vec2(4.0, 0.0)];
                painter.add(Shape::line(strand.to_vec(), Stroke::new(1.2, palette.ink)));
            }
            painter.line_segment([begin, to], whole);
        }
        Thread::Slack => {
            let sag = |k: i32| {
                let t = k as f32 / 20.0;
                pos2(from.x + t * length, from.y + 28.0 * t * (1.0 - t))
            };
            let stroke = Stroke::new(1.0, palette.edge);
            painter.add(Shape::line((0..=20).map(sag).collect(), stroke));
        }
    }
}
