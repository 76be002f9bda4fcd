//! Fields for what the user knows; a field takes effect when it is left.

use egui::{Color32, Label, RichText, TextEdit, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::known::{FieldModel, KnownModel};
use crate::app::theme::{self, Palette};

const WIDTH: f32 = 92.0;

/// The fields, row by row.
pub fn known_ui(ui: &mut Ui, known: &KnownModel) -> Commands {
    let mut commands = Commands::new();
    for (title, fields) in known.rows.iter().filter(|(_, f)| !f.is_empty()) {
        commands.extend(row_ui(ui, title, fields));
    }
    commands
}

fn row_ui(ui: &mut Ui, title: &str, fields: &[FieldModel]) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    ui.label(RichText::new(title).color(palette.ink));
    ui.horizontal_wrapped(|ui| {
        for field in fields {
            ui.vertical(|ui| {
                ui.set_width(WIDTH);
                ui.spacing_mut().item_spacing.y = 1.0;
                let name = RichText::new(&field.label).font(theme::small());
                let label = ui.add(Label::new(name.color(palette.quiet)).truncate());
                commands.extend(input_ui(ui, field, Some(label.id)));
                commands.extend(offer_ui(ui, field));
            });
        }
    });
    for wrong in fields.iter().filter_map(|field| field.wrong.as_ref()) {
        ui.add(Label::new(RichText::new(wrong).color(palette.ink)).wrap());
    }
    commands
}

/// What the program would enter, as a button under the field.
fn offer_ui(ui: &mut Ui, field: &FieldModel) -> Commands {
    let Some(offer) = &field.offer else {
        return Commands::new();
    };
    let spoken = format!("{} as {}", offer.words, field.label);
    let button = ui.button(RichText::new(&offer.words).font(theme::small()));
    let button = button.accessible_name(spoken).on_hover_text(&offer.reason);
    if !button.clicked() {
        return Commands::new();
    }
    vec![
        Command::EditField(field.field, offer.factor.clone()),
        Command::EnterField(field.field),
    ]
}

/// The field that a strip of the banner asks for.
pub fn banner_field_ui(ui: &mut Ui, field: &FieldModel, ink: Color32) -> Commands {
    let name = RichText::new(&field.label).color(ink);
    let label = Label::new(name);
    // where there is no room for both, the title of the strip says what the field is
    let room = ui.available_width() > 2.8 * WIDTH;
    let label = room.then(|| ui.add(label).id);
    let commands = input_ui(ui, field, label);
    if let Some(wrong) = &field.wrong {
        ui.add(Label::new(RichText::new(wrong).color(ink)).truncate());
    }
    commands
}

/// A field without its name, which it has for those who can't see what stands around it.
pub fn bare_field_ui(ui: &mut Ui, field: &FieldModel) -> Commands {
    input_ui(ui, field, None)
}

fn input_ui(ui: &mut Ui, field: &FieldModel, label: Option<egui::Id>) -> Commands {
    let mut commands = Commands::new();
    let mut text = field.text.clone();
    let edit = TextEdit::singleline(&mut text)
        .id_salt(("known", &field.label))
        .desired_width(WIDTH - 10.0)
        .char_limit(40)
        // an example must not pass for a reading
        .hint_text(format!("e.g. {}", field.hint));
    let response = ui.add(edit);
    let response = match label {
        Some(label) => response.labelled_by(label),
        None => response.accessible_name(&field.label),
    };
    if response.changed() {
        commands.push(Command::EditField(field.field, text));
    }
    if response.lost_focus() {
        commands.push(Command::EnterField(field.field));
    }
    commands
}
