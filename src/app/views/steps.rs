//! The sheet of voltage steps: fields, a line of volts, and what the readings say.

use egui::{Label, RichText, ScrollArea, TextEdit, Ui};

use super::{Commands, steps_line};
use crate::app::commands::Command;
use crate::app::models::steps::StepsModel;
use crate::app::steps::StepsCommand;
use crate::app::theme::{self, Palette};
use crate::data::Direction;

const HOW: &str = "Set the bench supply by hand, coming from below or from above, and say at each voltage whether the controller works: VREF at 5 V, OUT or the ramp there. The start threshold is told by readings going up, the stop threshold by those going down.";

/// All of it, as large as the middle.
pub fn steps_ui(ui: &mut Ui, model: &StepsModel) -> Commands {
    let palette = Palette::in_ui(ui);
    let mut commands = Commands::new();
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let line = |ui: &mut Ui, text: &str, hue| {
            ui.add(Label::new(RichText::new(text).color(hue)).wrap());
        };
        ui.label(RichText::new("Voltage steps").font(theme::large()));
        line(ui, HOW, palette.quiet);
        ui.horizontal_wrapped(|ui| commands.extend(reading_ui(ui, model)));
        for wrong in &model.form.wrong {
            line(ui, wrong, palette.ink);
        }
        if let Some(drawn) = &model.line {
            steps_line::line_ui(ui, drawn);
        }
        for (word, text) in &model.thresholds {
            line(ui, &format!("The {word} lies {text}."), palette.ink);
        }
        for text in model.contradictions.iter().chain(&model.remarks) {
            line(ui, text, palette.ink);
        }
        commands.extend(list_ui(ui, model));
        ui.horizontal_wrapped(|ui| commands.extend(file_ui(ui, model)));
    });
    commands
}

fn reading_ui(ui: &mut Ui, model: &StepsModel) -> Commands {
    let mut commands = Commands::new();
    let form = &model.form;
    ui.label("VCC");
    if let Some(text) = field_ui(ui, "VCC set", "e.g. 8.53V", 76.0, &form.volts) {
        commands.push(Command::Steps(StepsCommand::EditVolts(text)));
    }
    for (going, word) in [
        (Some(Direction::Up), "going up"),
        (Some(Direction::Down), "going down"),
        (None, "not said"),
    ] {
        if ui.radio(form.going == going, word).clicked() {
            commands.push(Command::Steps(StepsCommand::Going(going)));
        }
    }
    ui.label("supply current");
    let hint = "e.g. 11.5mA";
    if let Some(text) = field_ui(ui, "Supply current", hint, 80.0, &form.current) {
        commands.push(Command::Steps(StepsCommand::EditCurrent(text)));
    }
    for (works, word) in [(true, "It works"), (false, "It is dead")] {
        if ui.button(word).clicked() {
            commands.push(Command::Steps(StepsCommand::Add(works)));
        }
    }
    commands
}

fn list_ui(ui: &mut Ui, model: &StepsModel) -> Commands {
    let mut commands = Commands::new();
    for row in &model.rows {
        ui.horizontal(|ui| {
            if let Some(index) = row.index {
                let name = format!("Remove the reading {}", row.text);
                if ui.button("Remove").accessible_name(name).clicked() {
                    commands.push(Command::Steps(StepsCommand::Remove(index)));
                }
            }
            ui.label(&row.text);
        });
    }
    commands
}

fn file_ui(ui: &mut Ui, model: &StepsModel) -> Commands {
    let mut commands = Commands::new();
    let form = &model.form;
    ui.label("or from a text file, one reading a line");
    let hint = "path";
    if let Some(text) = field_ui(ui, "File of voltage steps", hint, 220.0, &form.path) {
        commands.push(Command::Steps(StepsCommand::EditPath(text)));
    }
    let word = if form.reading { "Reading…" } else { "Read" };
    let button = ui.add_enabled(!form.reading, egui::Button::new(word));
    if button
        .accessible_name("Read the file of voltage steps")
        .clicked()
    {
        commands.push(Command::Steps(StepsCommand::Read));
    }
    commands
}

/// A field; gives the text where it changed.
fn field_ui(ui: &mut Ui, name: &str, hint: &str, width: f32, text: &str) -> Option<String> {
    let mut typed = text.to_owned();
    let edit = TextEdit::singleline(&mut typed)
        .id_salt(("steps", name))
        .desired_width(width)
        .char_limit(400)
        .hint_text(hint);
    let response = ui.add(edit).accessible_name(name);
    response.changed().then_some(typed)
}
