//! The sheet of the start-up budget: fields, the answer, the expected VCC, and every figure with what it
//! rests on.

use egui::{Label, RichText, ScrollArea, TextEdit, Ui};

use super::{Commands, budget_curve};
use crate::app::budget_sheet::BudgetCommand;
use crate::app::commands::Command;
use crate::app::models::budget_sheet::{BudgetModel, ResultModel};
use crate::app::models::known::FieldModel;
use crate::app::theme::{self, Palette};

/// Width of a field.
const FIELD: f32 = 118.0;
/// From this width on results and drawing stand side by side.
const SIDE_BY_SIDE: f32 = 900.0;

/// All of it, as large as the middle.
pub fn budget_ui(ui: &mut Ui, model: &BudgetModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.label(RichText::new("Start-up budget").font(theme::large()));
        let answer = RichText::new(&model.answer).font(theme::large());
        ui.add(Label::new(answer.color(palette.ink)).wrap());
        for text in &model.because {
            line(ui, text, &palette, true);
        }
        line(ui, &model.controller, &palette, false);
        commands.extend(fields_ui(ui, model));
        ui.add_space(4.0);
        main_ui(ui, model);
        rest_ui(ui, model);
    });
    commands
}

/// The rows of fields, each under its title and with what means nothing below it. The input goes first.
fn fields_ui(ui: &mut Ui, model: &BudgetModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    for (number, (title, fields)) in model.rows.iter().enumerate() {
        ui.label(RichText::new(*title).color(palette.ink));
        let input = (number == 0).then_some(None);
        let all: Vec<_> = input.into_iter().chain(fields.iter().map(Some)).collect();
        commands.extend(row_ui(ui, model, &all));
        let wrong = fields.iter().filter_map(|field| field.wrong.as_ref());
        let of_input = model.wrong.iter().filter(|_| number == 0);
        for wrong in of_input.chain(wrong) {
            line(ui, wrong, &palette, true);
        }
    }
    commands
}

/// As many fields in a line as there is room; `None` is the input.
fn row_ui(ui: &mut Ui, model: &BudgetModel, all: &[Option<&FieldModel>]) -> Commands {
    let mut commands = Commands::new();
    let each = FIELD + ui.spacing().item_spacing.x;
    let in_row = ((ui.available_width() / each) as usize).max(1);
    for row in all.chunks(in_row) {
        ui.horizontal_top(|ui| {
            for field in row {
                commands.extend(match field {
                    Some(field) => field_ui(ui, field),
                    None => input_ui(ui, model),
                });
            }
        });
    }
    commands
}

fn line(ui: &mut Ui, text: &str, palette: &Palette, strong: bool) {
    let hue = if strong { palette.ink } else { palette.quiet };
    ui.add(Label::new(RichText::new(text).color(hue)).wrap());
}

/// One field under its name.
fn under_name(ui: &mut Ui, name: &str, hint: &str, text: &mut String) -> egui::Response {
    let palette = Palette::in_ui(ui);
    ui.vertical(|ui| {
        ui.set_width(FIELD);
        ui.spacing_mut().item_spacing.y = 1.0;
        let title = RichText::new(name)
            .font(theme::small())
            .color(palette.quiet);
        let label = ui.add(Label::new(title).truncate());
        let edit = TextEdit::singleline(text)
            .id_salt(("budget", name))
            .desired_width(FIELD - 10.0)
            .char_limit(80)
            .hint_text(format!("e.g. {hint}"));
        let field = ui.add(edit).labelled_by(label.id);
        match text.is_empty() {
            true => field,
            false => field.on_hover_text(text.as_str()),
        }
    })
    .inner
}

fn input_ui(ui: &mut Ui, model: &BudgetModel) -> Commands {
    let mut commands = Commands::new();
    let mut text = model.input.clone();
    let field = under_name(ui, "Input", "230ac", &mut text);
    if field.changed() {
        commands.push(Command::Budget(BudgetCommand::EditInput(text)));
    }
    if field.lost_focus() {
        commands.push(Command::Budget(BudgetCommand::EnterInput));
    }
    commands
}

fn field_ui(ui: &mut Ui, model: &FieldModel) -> Commands {
    let mut commands = Commands::new();
    let mut text = model.text.clone();
    let field = under_name(ui, &model.label, model.hint, &mut text);
    if field.changed() {
        commands.push(Command::EditField(model.field, text));
    }
    if field.lost_focus() {
        commands.push(Command::EnterField(model.field));
    }
    commands
}

/// Results and drawing, side by side where there is room.
fn main_ui(ui: &mut Ui, model: &BudgetModel) {
    if model.results.is_empty() {
        return;
    }
    let width = ui.available_width();
    if width < SIDE_BY_SIDE {
        drawing_ui(ui, model, width - 8.0);
        return results_ui(ui, &model.results);
    }
    ui.horizontal_top(|ui| {
        ui.vertical(|ui| {
            ui.set_width(0.56 * width);
            results_ui(ui, &model.results);
        });
        ui.vertical(|ui| drawing_ui(ui, model, 0.42 * width));
    });
}

fn drawing_ui(ui: &mut Ui, model: &BudgetModel, width: f32) {
    let palette = Palette::in_ui(ui);
    match &model.curve {
        Some(curve) => {
            budget_curve::curve_ui(ui, curve, width, 220.0);
            let text = "Expected VCC from the moment the bulk is up; shaded: every combination of tolerances.";
            line(ui, text, &palette, false);
        }
        None => line(
            ui,
            &format!("No drawing: {}.", model.no_curve),
            &palette,
            false,
        ),
    }
}

/// Widths of a title, a value, a range.
const TITLE: f32 = 160.0;
const VALUE: f32 = 86.0;
const RANGE: f32 = 156.0;

/// What stands for a value that can't be had.
const NOTHING: &str = "–";

fn results_ui(ui: &mut Ui, rows: &[ResultModel]) {
    let palette = Palette::in_ui(ui);
    for row in rows {
        ui.horizontal_top(|ui| {
            let quiet = RichText::new(row.title).color(palette.ink);
            cell(ui, TITLE, quiet);
            if row.value != NOTHING {
                let value = RichText::new(&row.value).font(theme::figures());
                cell(ui, VALUE, value.color(palette.ink));
                let range = RichText::new(&row.range).font(theme::figures());
                cell(ui, RANGE, range.color(palette.quiet));
            }
            let because = RichText::new(&row.because).font(theme::small());
            cell(ui, ui.available_width(), because.color(palette.quiet));
        });
    }
}

fn cell(ui: &mut Ui, width: f32, text: RichText) {
    ui.vertical(|ui| {
        ui.set_width(width);
        ui.add(Label::new(text).wrap());
    });
}

/// What bears, what may go wrong, the oscillator, and what it all rests on.
fn rest_ui(ui: &mut Ui, model: &BudgetModel) {
    let palette = Palette::in_ui(ui);
    if !model.loads.is_empty() {
        heading(ui, "What the start resistor bears");
    }
    for (text, too_much) in &model.loads {
        let text = match too_much {
            true => format!("Overstressed: {text}"),
            false => text.clone(),
        };
        line(ui, &text, &palette, *too_much);
    }
    section(ui, "How bad each may be", &model.sensitivity);
    if !model.timing.is_empty() || !model.timing_notes.is_empty() {
        heading(ui, "Oscillator");
        results_ui(ui, &model.timing);
    }
    for text in &model.timing_notes {
        line(ui, text, &palette, false);
    }
    section(ui, "From the ramp", &model.ramp);
    section(ui, "Parts read", &model.checked);
    section(ui, "Computed from", &model.inputs);
    section(ui, "Remarks", &model.remarks);
}

fn heading(ui: &mut Ui, text: &str) {
    ui.add_space(6.0);
    ui.label(RichText::new(text).font(theme::large()));
}

fn section(ui: &mut Ui, title: &str, texts: &[String]) {
    let palette = Palette::in_ui(ui);
    if texts.is_empty() {
        return;
    }
    heading(ui, title);
    for text in texts {
        line(ui, text, &palette, false);
    }
}
