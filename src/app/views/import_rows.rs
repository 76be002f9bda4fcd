//! Decisions of the import sheet: each with its control and its reason.

use egui::{ComboBox, Label, Response, RichText, TextEdit, Ui, vec2};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::import_rows::DecisionModel;
use crate::app::models::import_sheet::{ColumnModel, SheetModel};
use crate::app::sheet::SheetCommand;
use crate::app::theme::{self, Palette};

/// Width of the names of decisions.
const TITLES: f32 = 128.0;
/// Width of their controls.
const CONTROLS: f32 = 132.0;

/// What was decided about the whole file.
pub fn decisions_ui(ui: &mut Ui, sheet: &SheetModel) -> Commands {
    let mut commands = Commands::new();
    ui.label(RichText::new("Decided").font(theme::large()));
    if sheet.decisions.is_empty() {
        ui.label("Nothing yet.");
    }
    for row in &sheet.decisions {
        ui.push_id(&row.key, |ui| commands.extend(row_ui(ui, row)));
    }
    let title = format!("More that can be told ({})", sheet.others.len());
    let more = egui::CollapsingHeader::new(title).id_salt("others");
    more.show(ui, |ui| {
        for row in &sheet.others {
            ui.push_id(&row.key, |ui| commands.extend(row_ui(ui, row)));
        }
    });
    commands
}

/// One decision: what, value, why.
fn row_ui(ui: &mut Ui, row: &DecisionModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    ui.horizontal(|ui| {
        let size = vec2(TITLES, ui.spacing().interact_size.y);
        let place = egui::Layout::left_to_right(egui::Align::Center);
        ui.allocate_ui_with_layout(size, place, |ui| {
            ui.set_min_width(TITLES);
            ui.add(Label::new(&row.title).truncate());
        });
        commands.extend(control_ui(ui, row, CONTROLS));
        if row.own {
            commands.extend(take_back_ui(ui, row));
        }
        let why = if row.why.is_empty() {
            row.takes
        } else {
            &row.why
        };
        let text = RichText::new(why).font(theme::small());
        ui.add(Label::new(text.color(palette.quiet)).wrap());
    });
    commands
}

/// What to know about the reading.
pub fn notes_ui(ui: &mut Ui, sheet: &SheetModel) {
    if sheet.notes.is_empty() {
        return;
    }
    ui.add_space(6.0);
    ui.label(RichText::new("Noted").font(theme::large()));
    for note in &sheet.notes {
        let text = RichText::new(note).font(theme::small());
        ui.add(Label::new(text.color(Palette::in_ui(ui).quiet)).wrap());
    }
}

/// What is to be done with each column.
pub fn columns_ui(ui: &mut Ui, sheet: &SheetModel) -> Commands {
    let mut commands = Commands::new();
    if sheet.columns.is_empty() {
        return commands;
    }
    ui.add_space(6.0);
    ui.label(RichText::new("Columns").font(theme::large()));
    for (index, column) in sheet.columns.iter().enumerate() {
        ui.push_id(("column", index), |ui| {
            commands.extend(column_ui(ui, column));
        });
    }
    commands
}

fn column_ui(ui: &mut Ui, column: &ColumnModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let frame = egui::Frame::new()
        .fill(palette.sheet)
        .inner_margin(egui::Margin::symmetric(8, 5))
        .corner_radius(3.0);
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(&column.title).strong());
        for fields in in_rows(&column.fields, ui.available_width()) {
            ui.horizontal_top(|ui| {
                for field in fields {
                    commands.extend(field_ui(ui, field));
                }
            });
        }
        for field in column.fields.iter().filter(|field| field.own) {
            ui.horizontal(|ui| {
                commands.extend(take_back_ui(ui, field));
                let text = format!("{} is {}", short(&field.title), field.value);
                ui.label(RichText::new(text).font(theme::small()));
            });
        }
    });
    commands
}

/// A control under its name.
fn field_ui(ui: &mut Ui, field: &DecisionModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let width = field_width(field);
    ui.vertical(|ui| {
        ui.set_width(width);
        ui.spacing_mut().item_spacing.y = 1.0;
        let name = RichText::new(short(&field.title)).font(theme::small());
        let label = Label::new(name.color(palette.quiet)).truncate();
        ui.add(label).on_hover_text(hint(field));
        commands.extend(control_ui(ui, field, width));
    });
    commands
}

/// Fields parted into rows that fit into `width`.
fn in_rows(fields: &[DecisionModel], width: f32) -> Vec<&[DecisionModel]> {
    let mut rows = Vec::new();
    let (mut begin, mut used) = (0, 0.0);
    for (index, field) in fields.iter().enumerate() {
        let wide = field_width(field) + 8.0;
        if used + wide > width && index > begin {
            rows.push(&fields[begin..index]);
            (begin, used) = (index, 0.0);
        }
        used += wide;
    }
    rows.push(&fields[begin..]);
    rows
}

fn field_width(field: &DecisionModel) -> f32 {
    match field.key.split('.').next() {
        Some("column" | "full-scale" | "volts-per-division") => 124.0,
        Some("unit") => 64.0,
        _ => 108.0,
    }
}

/// The title without its column, which stands above.
fn short(title: &str) -> &str {
    let after = title.split_once(", ").map(|(_, rest)| rest);
    after.unwrap_or(if title.ends_with(" is") { "is" } else { title })
}

fn hint(field: &DecisionModel) -> String {
    match field.why.as_str() {
        "" => field.takes.to_owned(),
        why => format!("{why}\n{}", field.takes),
    }
}

fn take_back_ui(ui: &mut Ui, row: &DecisionModel) -> Commands {
    let button = ui.small_button("Take back");
    let name = format!("Take back: {}", row.title);
    if button.accessible_name(name).clicked() {
        vec![Command::Sheet(SheetCommand::TakeBack(row.key.clone()))]
    } else {
        Commands::new()
    }
}

fn control_ui(ui: &mut Ui, row: &DecisionModel, width: f32) -> Commands {
    if row.fixed {
        let text = RichText::new(&row.value).font(theme::figures());
        ui.add_sized(vec2(width, 20.0), Label::new(text).truncate());
        return Commands::new();
    }
    if row.choices.is_empty() {
        return text_ui(ui, "value", row, width).0;
    }
    let mut commands = Commands::new();
    let chosen = row.choices.iter().find(|(value, _)| *value == row.value);
    let shown = match (chosen, row.value.as_str()) {
        (Some((_, words)), _) => words.as_str(),
        (None, "") => "not told",
        (None, other) => other,
    };
    let combo = ComboBox::from_id_salt("value")
        .width(width)
        .selected_text(shown)
        .truncate();
    let combo = combo.show_ui(ui, |ui| {
        for (value, words) in &row.choices {
            let chosen = *value == row.value;
            if ui.selectable_label(chosen, words).clicked() {
                let (key, value) = (row.key.clone(), (*value).to_owned());
                commands.push(Command::Sheet(SheetCommand::Tell(key, value)));
            }
        }
    });
    let name = format!("{}: {shown}", row.title);
    combo
        .response
        .accessible_name(name)
        .on_hover_text(hint(row));
    commands
}

/// A field that takes effect when it is left.
pub fn text_ui(ui: &mut Ui, salt: &str, row: &DecisionModel, width: f32) -> (Commands, Response) {
    let mut commands = Commands::new();
    let mut text = row.value.clone();
    let field = TextEdit::singleline(&mut text)
        .id_salt((salt, &row.key))
        .desired_width(width)
        .char_limit(120);
    let response = ui.add(field).accessible_name(&row.title);
    if response.changed() {
        commands.push(Command::Sheet(SheetCommand::Edit(row.key.clone(), text)));
    }
    if response.lost_focus() {
        commands.push(Command::Sheet(SheetCommand::Enter(row.key.clone())));
    }
    let response = response.on_hover_text(hint(row));
    (commands, response)
}
