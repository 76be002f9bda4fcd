//! The import sheet: what a file leaves open, its first lines, what was decided, and the columns.

use egui::{Button, Key, Label, Panel, RichText, ScrollArea, TextEdit, Ui};

use super::{Commands, import_rows, import_table};
use crate::app::commands::Command;
use crate::app::models::Work;
use crate::app::models::import_sheet::{QuestionModel, SheetModel};
use crate::app::sheet::SheetCommand;
use crate::app::theme::{self, Palette};

/// The whole sheet. Escape closes it.
pub fn sheet_ui(ui: &mut Ui, sheet: &SheetModel, work: Option<&Work>) -> Commands {
    let mut commands = Commands::new();
    // a list that is open takes the key for itself
    let list_open = egui::Popup::is_any_open(ui.ctx());
    if !list_open && ui.input(|input| input.key_pressed(Key::Escape)) {
        commands.push(Command::Sheet(SheetCommand::Close));
    }
    let arrived = arrived(ui, sheet);
    let plain = egui::Frame::new();
    let head = Panel::top("sheet-head")
        .frame(plain)
        .show_separator_line(false);
    head.show(ui, |ui| {
        commands.extend(title_ui(ui, sheet));
        commands.extend(state_ui(ui, sheet, arrived));
        commands.extend(actions_ui(ui, sheet, work, arrived));
        ui.add_space(4.0);
        ui.separator();
    });
    let wide = (0.44 * ui.available_width()).clamp(330.0, 640.0);
    Panel::right("decisions")
        .default_size(wide)
        .size_range(300.0..=wide.max(700.0))
        .frame(plain.inner_margin(egui::Margin {
            left: 10,
            ..egui::Margin::ZERO
        }))
        .show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                commands.extend(import_rows::decisions_ui(ui, sheet));
                commands.extend(import_rows::columns_ui(ui, sheet));
                import_rows::notes_ui(ui, sheet);
            });
        });
    egui::CentralPanel::no_frame().show(ui, |ui| import_table::table_ui(ui, sheet));
    commands
}

/// True in the one frame in which a file or its question has come onto the sheet: then the keyboard
/// is led to what has to be done.
fn arrived(ui: &Ui, sheet: &SheetModel) -> bool {
    if sheet.looking {
        return false;
    }
    let question = sheet.question.as_ref().map(|question| &question.text);
    let now = (sheet.file.clone(), question.cloned());
    let id = egui::Id::unique("sheet-arrived");
    let before = ui.data(|data| data.get_temp::<(String, Option<String>)>(id));
    let frame = ui.ctx().cumulative_frame_nr();
    let shown = egui::Id::unique("sheet-shown");
    let last: Option<u64> = ui.data(|data| data.get_temp(shown));
    // a sheet that was put away and is opened again arrives again
    let again = last.is_none_or(|last| frame > last + 1);
    ui.data_mut(|data| {
        data.insert_temp(shown, frame);
        data.insert_temp(id, now.clone());
    });
    again || before.is_none_or(|before| before != now)
}

fn title_ui(ui: &mut Ui, sheet: &SheetModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(&sheet.file).font(theme::large()));
        let format = RichText::new(format!("read as {}", sheet.format));
        ui.label(format.color(palette.quiet));
        let Some((name, used)) = &sheet.remembered else {
            return;
        };
        ui.separator();
        let text = if *used {
            format!("as remembered: {name}")
        } else {
            format!("{name} is remembered for this form, and not used here")
        };
        ui.label(RichText::new(text).strong());
        let word = if *used { "Do not use it" } else { "Use it" };
        if ui.button(word).clicked() {
            commands.push(Command::Sheet(SheetCommand::UseRemembered(!used)));
        }
        let forget = ui.button("Forget");
        let forget = forget.on_hover_text("Deletes what is remembered for files of this form.");
        if forget.clicked() {
            commands.push(Command::Sheet(SheetCommand::Forget));
        }
    });
    commands
}

/// The question, the reason of a refusal, or that nothing stands in the way.
fn state_ui(ui: &mut Ui, sheet: &SheetModel, arrived: bool) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let framed = egui::Frame::new()
        .fill(palette.sheet)
        .stroke(egui::Stroke::new(1.5, palette.ink))
        .inner_margin(8.0)
        .corner_radius(3.0);
    if let Some(question) = &sheet.question {
        framed.show(ui, |ui| {
            ui.set_width(ui.available_width());
            commands.extend(question_ui(ui, question, arrived));
        });
    } else if let Some(why) = &sheet.refused {
        framed.show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.horizontal_wrapped(|ui| {
                ui.label(RichText::new("Not read so").strong());
                ui.label(why);
            });
        });
    }
    commands
}

fn question_ui(ui: &mut Ui, question: &QuestionModel, arrived: bool) -> Commands {
    let mut commands = Commands::new();
    let text = RichText::new(&question.text).size(16.0).strong();
    ui.add(Label::new(text).wrap());
    ui.horizontal_wrapped(|ui| {
        let mut first = arrived;
        for answer in &question.answers {
            let button = ui.button(&answer.label);
            if std::mem::take(&mut first) {
                button.request_focus();
            }
            if button.clicked() {
                let (key, value) = (answer.key.clone(), answer.value.clone());
                commands.push(Command::Sheet(SheetCommand::Tell(key, value)));
            }
        }
        for field in &question.fields {
            let label = field.title.strip_prefix("Answer: ").unwrap_or("");
            ui.label(label);
            let (more, response) = import_rows::text_ui(ui, "answer", field, 150.0);
            if std::mem::take(&mut first) {
                response.request_focus();
            }
            commands.extend(more);
            let takes = RichText::new(field.takes).font(theme::small());
            ui.label(takes.color(Palette::in_ui(ui).quiet));
        }
    });
    commands
}

/// What can be done with the sheet.
fn actions_ui(ui: &mut Ui, sheet: &SheetModel, work: Option<&Work>, arrived: bool) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let quiet = |text: &str| {
        RichText::new(text)
            .font(theme::small())
            .color(palette.quiet)
    };
    ui.add_space(2.0);
    ui.horizontal_wrapped(|ui| {
        let may_read = sheet.why_not_read.is_none();
        let read = ui.add_enabled(may_read, Button::new("Read with these"));
        if arrived && sheet.question.is_none() {
            read.request_focus();
        }
        if read.clicked() {
            commands.push(Command::Sheet(SheetCommand::Read));
        }
        if let Some(why) = sheet.why_not_read.as_ref().filter(|_| !sheet.looking) {
            ui.label(quiet(&format!("not yet: {why}")));
        }
        let back = ui.add_enabled(sheet.changed, Button::new("Put back"));
        let back = back.on_hover_text("Drops what was changed on this sheet.");
        if back.clicked() {
            commands.push(Command::Sheet(SheetCommand::PutBack));
        }
        if ui.button("Close").clicked() {
            commands.push(Command::Sheet(SheetCommand::Close));
        }
        if let Some(work) = work.filter(|work| work.what == "Reading") {
            let share = work.fraction.map_or(0.0, |share| 100.0 * share);
            ui.label(quiet(&format!("{} {share:.0} %", work.what)));
            if ui.button("Cancel").clicked() {
                commands.push(Command::CancelWork);
            }
        }
        ui.separator();
        commands.extend(remember_ui(ui, sheet));
    });
    commands
}

fn remember_ui(ui: &mut Ui, sheet: &SheetModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let mut name = sheet.name.clone();
    let field = TextEdit::singleline(&mut name)
        .id_salt("layout-name")
        .desired_width(150.0)
        .char_limit(60)
        .hint_text("name of this layout");
    let response = ui.add(field).accessible_name("Name of this layout");
    if response.changed() {
        commands.push(Command::Sheet(SheetCommand::EditName(name)));
    }
    let enter = ui.input(|input| input.key_pressed(Key::Enter));
    let may = sheet.why_not_remembered.is_none();
    let word = "Remember this layout";
    let button = ui.add_enabled(may, Button::new(word));
    let button = match &sheet.remembered {
        Some((old, _)) => button.on_hover_text(format!("It takes the place of {old}.")),
        None => button.on_hover_text("The next file of this form is read so without a question."),
    };
    if button.clicked() || (may && enter && response.lost_focus()) {
        commands.push(Command::Sheet(SheetCommand::Remember));
    }
    let said = sheet.said.as_ref();
    let why = sheet.why_not_remembered.as_ref().filter(|_| !sheet.looking);
    if let Some(text) = said.or(why) {
        let text = RichText::new(text).font(theme::small());
        ui.label(text.color(palette.quiet));
    }
    commands
}
