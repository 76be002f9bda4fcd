//! The form that sets a channel to a meter reading, under the lanes whose span it takes.

use egui::{ComboBox, Label, RichText, TextEdit, Ui};

use super::{Commands, keys, known};
use crate::app::commands::Command;
use crate::app::meter::{End, MeterCommand};
use crate::app::models::meter::{MeterModel, SameRange};
use crate::app::theme::{self, Palette};

/// The form, the readings taken, and what they did.
pub fn meter_ui(ui: &mut Ui, model: &MeterModel) -> Commands {
    let palette = Palette::in_ui(ui);
    let small = |text: &str| RichText::new(text).font(theme::small());
    let mut commands = Commands::new();
    ui.add(Label::new(small(HOW).color(palette.quiet)).wrap());
    ui.horizontal_wrapped(|ui| commands.extend(fields_ui(ui, model)));
    if let Some(wrong) = &model.wrong {
        ui.add(Label::new(RichText::new(wrong).color(palette.ink)).wrap());
    }
    for (index, reading) in model.readings.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            let name = format!("Remove the reading {reading}");
            if ui.button("Remove").accessible_name(name).clicked() {
                commands.push(Command::Meter(MeterCommand::Remove(index)));
            }
            ui.add(Label::new(small(reading).color(palette.ink)).wrap());
        });
    }
    for text in &model.said {
        ui.add(Label::new(small(text).color(palette.ink)).wrap());
    }
    if !model.same.is_empty() {
        commands.extend(same_ui(ui, &model.same));
    }
    commands
}

const HOW: &str = "Drag over a flat piece of a lane, or type when (a single time will do); then type what the meter read there.";

fn fields_ui(ui: &mut Ui, model: &MeterModel) -> Commands {
    let mut commands = Commands::new();
    let chosen = model.channels.get(model.channel);
    let chosen = chosen.map_or("channel?", String::as_str);
    let combo = ComboBox::from_id_salt("meter channel")
        .selected_text(chosen)
        .width(104.0)
        .truncate();
    let shown = combo.show_ui(ui, |ui| {
        for (index, name) in model.channels.iter().enumerate() {
            if ui.selectable_label(index == model.channel, name).clicked() {
                commands.push(Command::Meter(MeterCommand::Channel(index)));
            }
        }
    });
    let name = format!("Channel to set: {chosen}");
    shown.response.accessible_name(name);
    for (word, name, end, text) in [
        ("from", "Flat from", End::From, &model.from),
        ("to", "Flat to", End::To, &model.to),
    ] {
        ui.label(word);
        if let Some(text) = field_ui(ui, name, "e.g. 1.2s", text).0 {
            commands.push(Command::Meter(MeterCommand::EditTime(end, text)));
        }
    }
    ui.label("meter read");
    let (typed, entered) = field_ui(ui, "Meter read", "e.g. 15.02V", &model.reading);
    if let Some(text) = typed {
        commands.push(Command::Meter(MeterCommand::EditReading(text)));
    }
    if let Some(field) = &model.accuracy {
        ui.label("±");
        commands.extend(known::bare_field_ui(ui, field));
    }
    let word = if model.trying { "Setting…" } else { "Set" };
    let button = ui.add_enabled(!model.trying, egui::Button::new(word));
    let button = button.accessible_name("Set the channel to this reading");
    if button.clicked() || (entered && !model.trying) {
        commands.push(Command::Meter(MeterCommand::Set));
    }
    if let Some(wrong) = model.accuracy.as_ref().and_then(|f| f.wrong.as_ref()) {
        ui.label(wrong);
    }
    commands
}

/// A field; gives the text where it changed, and whether it was left by the enter key.
fn field_ui(ui: &mut Ui, name: &str, hint: &str, text: &str) -> (Option<String>, bool) {
    let mut typed = text.to_owned();
    let edit = TextEdit::singleline(&mut typed)
        .id_salt(("meter", name))
        .desired_width(68.0)
        .char_limit(40)
        .hint_text(hint);
    let response = ui.add(edit).accessible_name(name);
    let entered = keys::entered(ui, &response);
    (response.changed().then_some(typed), entered)
}

/// Which other channels were taken on the same scope input and range.
fn same_ui(ui: &mut Ui, all: &[SameRange]) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let title = "On the same scope input and range, so that one correction serves all:";
    let title = RichText::new(title).font(theme::small());
    ui.add(Label::new(title.color(palette.quiet)).wrap());
    ui.horizontal_wrapped(|ui| {
        for other in all {
            let mut same = other.same || other.by_itself;
            let name = format!("{} is on the same input and range", other.label);
            let text = RichText::new(&other.label).font(theme::small());
            let check = egui::Checkbox::new(&mut same, text);
            let response = ui.add_enabled(!other.by_itself, check);
            let response = response.accessible_name(name);
            if other.by_itself {
                response.on_disabled_hover_text(
                    "Number, name, factor, accuracy and code step agree: taken for the same.",
                );
            } else if response.changed() {
                commands.push(Command::Meter(MeterCommand::SameRange {
                    shot: other.shot,
                    channel: other.channel,
                    same,
                }));
            }
        }
    });
    commands
}
