//! Keys: sheets, files, lanes, undo; and fields that keep the keyboard after Enter.

use egui::{Id, Key, Modifiers, Rect, Response, Sense, Ui, WidgetInfo, vec2};

use super::Commands;
use crate::app::commands::Command;
use crate::app::job::JobCommand;
use crate::app::models::{Middle, PanelModel};

/// The field for the path of a capture.
pub fn path_field() -> Id {
    Id::unique("path of a capture")
}

fn middle() -> Id {
    Id::unique("start of the middle")
}

/// Where Tab goes on from once a sheet was chosen by key: before all that stands in the middle.
pub fn start_of_middle(ui: &Ui, model: &PanelModel) {
    let title = model.sheets.iter().find(|(view, _)| *view == model.view);
    let title = title.map_or("", |(_, title)| title.as_str());
    let place = Rect::from_min_size(ui.max_rect().min, vec2(1.0, 1.0));
    let start = ui.interact(place, middle(), Sense::focusable_noninteractive());
    let name = format!("In the middle: {title}");
    start.widget_info(|| WidgetInfo::labeled(egui::Role::Label, true, &name));
}

/// All keys of the window.
pub fn keys(ui: &Ui, model: &PanelModel) -> Commands {
    let mut commands = sheet_keys(ui, model);
    commands.extend(lane_keys(ui, model));
    commands.extend(undo_keys(ui));
    commands
}

/// Was a field left with Enter? It keeps the keyboard then, for the next entry or for Tab to go on.
pub fn entered(ui: &Ui, field: &Response) -> bool {
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if entered {
        field.request_focus();
    }
    entered
}

const NUMBERS: [Key; 9] = [
    Key::Num1,
    Key::Num2,
    Key::Num3,
    Key::Num4,
    Key::Num5,
    Key::Num6,
    Key::Num7,
    Key::Num8,
    Key::Num9,
];

/// The sheets by number, and the field for a capture, also while another field takes text.
fn sheet_keys(ui: &Ui, model: &PanelModel) -> Commands {
    let pressed = |key| ui.input_mut(|input| input.consume_key(Modifiers::COMMAND, key));
    if pressed(Key::O) {
        ui.memory_mut(|memory| memory.request_focus(path_field()));
    }
    let sheets = NUMBERS.into_iter().zip(&model.sheets);
    let chosen = sheets.filter(|(key, _)| pressed(*key));
    let chosen: Commands = chosen.map(|(_, (view, _))| Command::Show(*view)).collect();
    if !chosen.is_empty() {
        ui.memory_mut(|memory| memory.request_focus(middle()));
    }
    chosen
}

/// Keys of the lanes, where no field takes text.
fn lane_keys(ui: &Ui, model: &PanelModel) -> Commands {
    let Middle::Lanes(lanes) = &model.middle else {
        return Commands::new();
    };
    if ui.ctx().text_edit_focused() {
        return Commands::new();
    }
    let (from, to) = lanes
        .span
        .as_ref()
        .map_or(lanes.shown_s, |span| span.span_s);
    let at_s = 0.5 * (from + to);
    ui.input(|input| {
        let mut commands = Commands::new();
        let plus = input.key_pressed(Key::Plus) || input.key_pressed(Key::Equals);
        if plus {
            commands.push(Command::Zoom { at_s, factor: 0.5 });
        }
        if input.key_pressed(Key::Minus) {
            commands.push(Command::Zoom { at_s, factor: 2.0 });
        }
        if input.key_pressed(Key::Home) {
            commands.push(Command::ShowAll);
        }
        commands
    })
}

/// Undo and redo by the keys of every desktop, where no field takes them.
fn undo_keys(ui: &Ui) -> Commands {
    if ui.ctx().text_edit_focused() {
        return Commands::new();
    }
    let (ctrl, shift) = (Modifiers::COMMAND, Modifiers::SHIFT);
    ui.input_mut(|input| {
        if input.consume_key(ctrl | shift, Key::Z) || input.consume_key(ctrl, Key::Y) {
            vec![Command::Job(JobCommand::Redo)]
        } else if input.consume_key(ctrl, Key::Z) {
            vec![Command::Job(JobCommand::Undo)]
        } else {
            Commands::new()
        }
    })
}
