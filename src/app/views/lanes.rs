//! Lanes: layout, pointer and keys. What is painted is in `lane_paint`.

use egui::{
    ComboBox, Key, Label, PointerButton, Rect, Response, RichText, Sense, Ui, UiBuilder,
    WidgetInfo, pos2, vec2,
};

use super::lane_paint::{self, TimeScale};
use super::{Commands, glyphs};
use crate::app::commands::Command;
use crate::app::models::lanes::{Lane, LanesModel};
use crate::app::state::Explained;
use crate::app::theme::{self, Palette};
use crate::app::told::Field;
use crate::data::Role;

/// Names and roles, left of the lanes.
const NAMES: f32 = 128.0;
/// Numbers of the value axis.
const NUMBERS: f32 = 52.0;
/// Words of starts and stops, above the lanes.
const MARKS: f32 = 24.0;
/// Numbers of the time axis, below the lanes.
const TIMES: f32 = 20.0;
const GAP: f32 = 5.0;
const LOWEST: f32 = 58.0;

/// All lanes of a shot.
pub fn lanes_ui(ui: &mut Ui, model: &LanesModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let count = model.lanes.len().max(1) as f32;
    let marks = if model.marks.is_empty() { 8.0 } else { MARKS };
    let free = ui.available_height() - marks - TIMES;
    let height = ((free - GAP * (count - 1.0)) / count).max(LOWEST);
    egui::ScrollArea::vertical()
        .auto_shrink(false)
        // what unfolds below may leave less than a scroll area takes by itself
        .min_scrolled_height(24.0)
        .show(ui, |ui| {
            let size = vec2(
                ui.available_width(),
                marks + TIMES + count * (height + GAP) - GAP,
            );
            let (whole, _) = ui.allocate_exact_size(size, Sense::hover());
            let plots = Rect::from_min_max(
                whole.min + vec2(NAMES + NUMBERS, marks),
                whole.max - vec2(4.0, TIMES),
            );
            let scale = TimeScale::new(model.shown_s, plots.x_range());
            let wanted = (plots.width() * ui.ctx().pixels_per_point())
                .round()
                .max(1.0) as usize;
            if wanted != model.columns {
                commands.push(Command::LaneColumns(wanted));
            }
            let response = ui.interact(plots, ui.scope_id().with("lanes"), Sense::click_and_drag());
            response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, &model.spoken));
            for (index, lane) in model.lanes.iter().enumerate() {
                let top = plots.top() + index as f32 * (height + GAP);
                let rect =
                    Rect::from_min_size(pos2(plots.left(), top), vec2(plots.width(), height));
                lane_paint::lane(ui, &palette, rect, lane, &scale);
                let names = Rect::from_min_size(pos2(whole.left(), top), vec2(NAMES, height));
                commands.extend(names_ui(ui, model.shot, lane, names));
            }
            lane_paint::times(ui, &palette, plots, &model.ticks, &scale);
            if let Some(span) = &model.span {
                lane_paint::span(ui, &palette, plots, span.span_s, &scale);
            }
            commands.extend(marks_ui(ui, model, plots, &scale));
            if response.has_focus() {
                let stroke = egui::Stroke::new(2.0, palette.ink);
                let outline = plots.expand(2.0);
                ui.painter()
                    .rect_stroke(outline, 2.0, stroke, egui::StrokeKind::Inside);
            }
            lane_paint::under_pointer(
                ui,
                &palette,
                &response,
                plots,
                &model.lanes,
                height + GAP,
                &scale,
            );
            commands.extend(pointer(ui, &response, &scale));
            commands.extend(keys(ui, &response, model));
        });
    commands
}

/// Role and name of a lane.
fn names_ui(ui: &mut Ui, shot: usize, lane: &Lane, rect: Rect) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let hue = palette.role(lane.role.unwrap_or(Role::Other));
    let swatch = Rect::from_min_size(rect.min + vec2(0.0, 2.0), vec2(5.0, rect.height() - 4.0));
    glyphs::swatch(ui.painter(), swatch, hue);
    let inner = rect.with_min_x(rect.left() + 10.0).shrink2(vec2(0.0, 2.0));
    let builder = UiBuilder::new()
        .max_rect(inner)
        .id_salt(("names", lane.channel));
    ui.scope_builder(builder, |ui| {
        ui.set_clip_rect(rect.intersect(ui.clip_rect()));
        ui.spacing_mut().item_spacing.y = 2.0;
        let combo = ComboBox::from_id_salt("role")
            .width(inner.width() - 4.0)
            .height(360.0)
            .selected_text(&lane.title)
            .truncate();
        let shown = combo.show_ui(ui, |ui| {
            for role in Role::ALL {
                let chosen = lane.role == Some(role);
                if ui.selectable_label(chosen, role.title_with_pin()).clicked() {
                    commands.push(Command::SetRole {
                        shot,
                        channel: lane.channel,
                        role,
                    });
                }
            }
        });
        let name = format!("Pin of channel {}: {}", lane.name, lane.title);
        shown
            .response
            .accessible_name(name)
            .on_hover_text(&lane.reason);
        if let Some(offer) = &lane.offer {
            let spoken = format!("{} for channel {}", offer.words, lane.name);
            let button = ui.button(RichText::new(&offer.words).font(theme::small()));
            if button
                .accessible_name(spoken)
                .on_hover_text(&offer.reason)
                .clicked()
            {
                let field = Field::Factor(shot, lane.channel);
                commands.push(Command::EditField(field, offer.factor.clone()));
                commands.push(Command::EnterField(field));
            }
        }
        let name = match lane.sure.as_str() {
            "" => lane.name.clone(),
            sure => format!("{}, {sure}", lane.name),
        };
        for (index, text) in [&name, &lane.reason].into_iter().enumerate() {
            let text = RichText::new(text)
                .font(theme::small())
                .color(palette.quiet);
            let label = Label::new(text);
            // the reason takes as many lines as the lane is high
            let label = if index == 0 || rect.height() < 90.0 {
                label.truncate()
            } else {
                label.wrap()
            };
            ui.add(label)
                .on_hover_text(format!("{}: {}", lane.name, lane.reason));
        }
    });
    commands
}

/// Starts and stops: a line through all lanes, and a word that can be chosen.
fn marks_ui(ui: &Ui, model: &LanesModel, plots: Rect, scale: &TimeScale) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let mut taken = f32::NEG_INFINITY;
    for mark in &model.marks {
        let x = scale.x(mark.at_s);
        if !plots.x_range().contains(x) {
            continue;
        }
        lane_paint::mark_line(ui, &palette, plots, x, mark.kind);
        let word = ui
            .painter()
            .layout_no_wrap(mark.text.to_owned(), theme::small(), palette.ink);
        let left = (x - 0.5 * word.size().x).clamp(plots.left(), plots.right() - word.size().x);
        let fits = left > taken + 4.0;
        let width = if fits { word.size().x + 6.0 } else { 10.0 };
        let center = pos2(
            if fits { left + 0.5 * word.size().x } else { x },
            plots.top() - 13.0,
        );
        let rect = Rect::from_center_size(center, vec2(width, MARKS - 2.0));
        let id = ui.scope_id().with(("mark", mark.index));
        let response = ui.interact(rect, id, Sense::click());
        response.widget_info(|| WidgetInfo::labeled(egui::Role::Button, true, &mark.spoken));
        if fits {
            taken = left + word.size().x;
            ui.painter()
                .galley(pos2(left, rect.center().y - 8.0), word, palette.ink);
        }
        if response.has_focus() || response.hovered() {
            let stroke = egui::Stroke::new(1.5, palette.ink);
            ui.painter()
                .rect_stroke(rect, 2.0, stroke, egui::StrokeKind::Inside);
        }
        if response.clicked() {
            commands.push(Command::Visit(Explained::Event(mark.index)));
        } else if response.gained_focus() {
            commands.push(Command::Explain(Explained::Event(mark.index)));
        }
        response.on_hover_text(&mark.spoken);
    }
    commands
}

fn pointer(ui: &Ui, response: &Response, scale: &TimeScale) -> Commands {
    let mut commands = Commands::new();
    let shift = ui.input(|input| input.modifiers.shift);
    let moves = response.dragged_by(PointerButton::Secondary)
        || response.dragged_by(PointerButton::Middle)
        || (shift && response.dragged_by(PointerButton::Primary));
    if moves {
        commands.push(Command::Pan(-scale.seconds(response.drag_delta().x)));
    } else if response.dragged_by(PointerButton::Primary) {
        let (origin, now) =
            ui.input(|input| (input.pointer.press_origin(), input.pointer.interact_pos()));
        if let (Some(origin), Some(now)) = (origin, now) {
            let ends = (scale.time(origin.x), scale.time(now.x));
            commands.push(Command::MarkSpan(Some(ends)));
        }
    }
    if response.double_clicked() {
        commands.push(Command::ShowAll);
        commands.push(Command::MarkSpan(None));
    } else if response.clicked() {
        response.request_focus();
    }
    if let Some(over) = response.hover_pos() {
        let (scroll, pinch) = ui.input(|input| (input.smooth_scroll_delta, input.zoom_delta()));
        let at_s = scale.time(over.x);
        let factor = f64::from((-scroll.y * 0.004).exp() / pinch);
        if (factor - 1.0).abs() > 1e-6 {
            commands.push(Command::Zoom { at_s, factor });
        }
        if scroll.x != 0.0 {
            commands.push(Command::Pan(-scale.seconds(scroll.x)));
        }
    }
    commands
}

/// Arrows move the time axis while the lanes have the focus.
fn keys(ui: &Ui, response: &Response, model: &LanesModel) -> Commands {
    if !response.has_focus() {
        return Commands::new();
    }
    let filter = egui::EventFilter {
        horizontal_arrows: true,
        ..egui::EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    let step = 0.1 * (model.shown_s.1 - model.shown_s.0);
    ui.input(|input| {
        let mut commands = Commands::new();
        if input.key_pressed(Key::ArrowLeft) {
            commands.push(Command::Pan(-step));
        }
        if input.key_pressed(Key::ArrowRight) {
            commands.push(Command::Pan(step));
        }
        commands
    })
}
