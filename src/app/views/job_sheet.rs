//! The job's sheet: the record below its folder.

use egui::{Label, RichText, ScrollArea, TextEdit, Ui};

use super::Commands;
use super::job_folder::{self, choose_ui};
use crate::app::commands::Command;
use crate::app::dialog::Ask;
use crate::app::job::JobCommand;
use crate::app::job::fields::JobField;
use crate::app::models::job_sheet::{JobFieldModel, JobModel, ListModel, RunModel, TickModel};
use crate::app::theme::{self, Palette};

/// All of it, as large as the middle.
pub fn job_ui(ui: &mut Ui, model: &JobModel) -> Commands {
    let mut commands = Commands::new();
    commands.extend(job_folder::folder_ui(ui, model));
    let palette = Palette::in_ui(ui);
    for text in model
        .wrong
        .iter()
        .chain(&model.said)
        .chain(&model.page.said)
    {
        ui.add(Label::new(RichText::new(text).color(palette.ink)).wrap());
    }
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        commands.extend(missing_ui(ui, model));
        commands.extend(fields_ui(ui, "The unit", &model.unit));
        ui.horizontal(|ui| {
            ui.label(RichText::new("Runs").font(theme::large()));
            if ui.button("Add a run").clicked() {
                commands.push(Command::Job(JobCommand::AddRun));
            }
        });
        for (index, run) in model.runs.iter().enumerate() {
            ui.push_id(("run", index), |ui| commands.extend(run_ui(ui, run)));
        }
        commands.extend(fields_ui(ui, "Before mains", &model.mains));
        for list in &model.lists {
            commands.extend(list_ui(ui, list));
        }
        commands.extend(pictures_ui(ui, model));
        commands.extend(fields_ui(ui, "Work", &model.work));
    });
    commands
}

fn missing_ui(ui: &mut Ui, model: &JobModel) -> Commands {
    let palette = Palette::in_ui(ui);
    if model.missing.is_empty() {
        return Commands::new();
    }
    ui.label(RichText::new("Not entered yet").font(theme::large()));
    for (what, why) in &model.missing {
        let text = RichText::new(what).color(palette.ink);
        ui.add(Label::new(text).wrap()).on_hover_text(why);
    }
    Commands::new()
}

fn fields_ui(ui: &mut Ui, title: &str, fields: &[JobFieldModel]) -> Commands {
    let mut commands = Commands::new();
    ui.add_space(4.0);
    ui.label(RichText::new(title).font(theme::large()));
    commands.extend(rows_ui(ui, fields));
    commands
}

/// Fields in as many rows as they need, and what is wrong in them.
fn rows_ui(ui: &mut Ui, fields: &[JobFieldModel]) -> Commands {
    let mut commands = Commands::new();
    let gap = ui.spacing().item_spacing.x;
    let room = ui.available_width();
    let mut rest = fields;
    while !rest.is_empty() {
        let mut used = 0.0;
        let fits = rest.iter().take_while(|field| {
            used += width(field.field) + gap;
            used <= room
        });
        let (row, more) = rest.split_at(fits.count().max(1));
        ui.horizontal(|ui| {
            for field in row {
                commands.extend(field_ui(ui, field));
            }
        });
        rest = more;
    }
    commands.extend(wrong_ui(ui, fields));
    commands
}

fn wrong_ui(ui: &mut Ui, fields: &[JobFieldModel]) -> Commands {
    for field in fields {
        if let Some(wrong) = &field.wrong {
            ui.label(format!("{}: {wrong}", field.label));
        }
    }
    Commands::new()
}

fn width(field: JobField) -> f32 {
    match field {
        JobField::Complaint
        | JobField::Notes
        | JobField::CurrentSense
        | JobField::FeedbackLoop
        | JobField::PicturePath => 330.0,
        JobField::RunMinutes(_) | JobField::Hours | JobField::Currency => 70.0,
        _ => 130.0,
    }
}

fn field_ui(ui: &mut Ui, field: &JobFieldModel) -> Commands {
    let mut commands = Commands::new();
    ui.vertical(|ui| {
        ui.set_width(width(field.field));
        ui.spacing_mut().item_spacing.y = 1.0;
        let palette = Palette::in_ui(ui);
        let name = RichText::new(field.label).font(theme::small());
        ui.add(Label::new(name.color(palette.quiet)).truncate());
        let mut text = field.text.clone();
        let hint = match field.hint {
            "" => String::new(),
            hint => format!("e.g. {hint}"),
        };
        let edit = TextEdit::singleline(&mut text)
            .id_salt(("job", &field.spoken))
            .desired_width(width(field.field) - 10.0)
            .char_limit(4000)
            .hint_text(hint);
        let response = ui.add(edit).accessible_name(&field.spoken);
        if response.changed() {
            commands.push(Command::Job(JobCommand::EditField(field.field, text)));
        }
        if response.lost_focus() {
            commands.push(Command::Job(JobCommand::EnterField(field.field)));
        }
    });
    commands
}

fn run_ui(ui: &mut Ui, run: &RunModel) -> Commands {
    let mut commands = Commands::new();
    ui.label(&run.words);
    commands.extend(rows_ui(ui, &run.fields));
    ui.horizontal_wrapped(|ui| {
        for tick in &run.ticks {
            commands.extend(tick_ui(ui, tick));
        }
    });
    for tick in &run.change_over {
        commands.extend(tick_ui(ui, tick));
    }
    commands
}

fn tick_ui(ui: &mut Ui, tick: &TickModel) -> Commands {
    let mut on = tick.on;
    let check = ui.checkbox(&mut on, &tick.text);
    let check = check.accessible_name(&tick.spoken);
    if check.changed() {
        vec![Command::Job(JobCommand::Tick(tick.tick, on))]
    } else {
        Commands::new()
    }
}

fn list_ui(ui: &mut Ui, model: &ListModel) -> Commands {
    let mut commands = Commands::new();
    let title = model.list.title();
    ui.add_space(4.0);
    ui.label(RichText::new(title).font(theme::large()));
    for (index, row) in model.rows.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            let name = format!("Remove from {title}: {row}");
            if ui.button("Remove").accessible_name(name).clicked() {
                commands.push(Command::Job(JobCommand::Remove(model.list, index)));
            }
            ui.add(Label::new(row).wrap());
        });
    }
    ui.horizontal_wrapped(|ui| {
        let mut first = None;
        for (cell, ((name, hint), text)) in model.list.cells().iter().zip(&model.cells).enumerate()
        {
            let mut typed = text.clone();
            let edit = TextEdit::singleline(&mut typed)
                .id_salt((title, cell))
                .desired_width(104.0)
                .char_limit(400)
                .hint_text(match *hint {
                    "" => (*name).to_owned(),
                    hint => format!("{name}: {hint}"),
                });
            let field = ui.add(edit).accessible_name(format!("{title}, {name}"));
            first.get_or_insert(field.id);
            if field.changed() {
                commands.push(Command::Job(JobCommand::EditCell(model.list, cell, typed)));
            }
            if field.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter)) {
                // the next row begins where this one did
                ui.memory_mut(|memory| memory.request_focus(first.unwrap_or(field.id)));
                commands.push(Command::Job(JobCommand::Add(model.list)));
            }
        }
        let add = ui.button("Add").accessible_name(format!("Add to {title}"));
        if add.clicked() {
            commands.push(Command::Job(JobCommand::Add(model.list)));
        }
    });
    if let Some(wrong) = &model.wrong {
        ui.label(wrong);
    }
    commands
}

fn pictures_ui(ui: &mut Ui, model: &JobModel) -> Commands {
    let (rows, fields) = &model.pictures;
    let mut commands = fields_ui(ui, "Pictures", fields);
    let list = crate::app::job::lists::JobList::Pictures;
    ui.horizontal(|ui| {
        commands.extend(choose_ui(ui, Ask::Picture, "a picture"));
        if ui.button("Attach").clicked() {
            commands.push(Command::Job(JobCommand::Attach));
        }
    });
    for (index, row) in rows.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            let name = format!("Remove the picture {row}");
            if ui.button("Remove").accessible_name(name).clicked() {
                commands.push(Command::Job(JobCommand::Remove(list, index)));
            }
            ui.label(row);
        });
    }
    commands
}
