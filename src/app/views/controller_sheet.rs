//! The sheet of one controller: search, drawing of its pins, ceilings, every value with its source.

use egui::{ComboBox, Label, RichText, ScrollArea, TextEdit, Ui};

use super::{Commands, package};
use crate::app::commands::Command;
use crate::app::controller_sheet::ControllerCommand;
use crate::app::models::controller_sheet::{ControllerModel, FitsModel, FrontModel, ValueModel};
use crate::app::theme::{self, Palette};

/// All of it, as large as the middle.
pub fn controller_ui(ui: &mut Ui, model: &ControllerModel) -> Commands {
    let mut commands = Commands::new();
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Controller").font(theme::large()));
        commands.extend(search_ui(ui, model));
    });
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let palette = Palette::in_ui(ui);
        line(ui, &model.judged, &palette, false);
        if !model.note.is_empty() {
            line(ui, &model.note, &palette, true);
        }
        commands.extend(matches_ui(ui, model));
        if let Some(front) = &model.front {
            commands.extend(front_ui(ui, front));
        }
        if let Some(fits) = &model.fits {
            commands.extend(fits_ui(ui, fits));
        }
    });
    commands
}

fn line(ui: &mut Ui, text: &str, palette: &Palette, strong: bool) {
    let hue = if strong { palette.ink } else { palette.quiet };
    ui.add(Label::new(RichText::new(text).color(hue)).wrap());
}

fn heading(ui: &mut Ui, text: &str) {
    ui.add_space(6.0);
    ui.label(RichText::new(text).font(theme::large()));
}

fn wish(command: ControllerCommand) -> Command {
    Command::Controller(command)
}

fn search_ui(ui: &mut Ui, model: &ControllerModel) -> Commands {
    let mut commands = Commands::new();
    let mut text = model.search.clone();
    let edit = TextEdit::singleline(&mut text)
        .id_salt("controller search")
        .desired_width(150.0)
        .char_limit(80)
        .hint_text("e.g. UC3844AN");
    let field = ui.add(edit).accessible_name("Marking to look up");
    let field = field
        .on_hover_text("As it stands on the chip; a maker in brackets narrows it, as UC3844 (TI).");
    if field.changed() {
        commands.push(wish(ControllerCommand::Search(text)));
    }
    if !model.judge_by.is_empty() {
        let button = ui.button("Judge by this");
        let name = format!("Judge by this: {}", model.judge_by);
        let hint = format!(
            "The run is inspected again, by the limits of {}.",
            model.judge_by
        );
        if button.accessible_name(name).on_hover_text(hint).clicked() {
            commands.push(wish(ControllerCommand::Judge(model.judge_by.clone())));
        }
    }
    let mut not_trusted = model.not_trusted;
    let check = ui.checkbox(&mut not_trusted, "marking not trusted");
    let hint = "Remarked, replaced, half worn off: all parts of its class are candidates, and the widest limits apply.";
    if check.on_hover_text(hint).changed() {
        commands.push(wish(ControllerCommand::NotTrusted(not_trusted)));
    }
    commands
}

fn matches_ui(ui: &mut Ui, model: &ControllerModel) -> Commands {
    let mut commands = Commands::new();
    let front = model.front.as_ref().map(|front| front.id.as_str());
    let lone = model.matches.len() == 1 && front == model.matches.first().map(|m| m.0.as_str());
    ui.horizontal_wrapped(|ui| {
        for near in &model.near {
            let name = format!("Look up {near}");
            if ui.button(near).accessible_name(name).clicked() {
                commands.push(wish(ControllerCommand::Search(near.clone())));
            }
        }
        for (id, title) in model.matches.iter().filter(|_| !lone) {
            let chosen = front == Some(id.as_str());
            let button = ui.selectable_label(chosen, title);
            let button = button.accessible_name(format!("Show {title}"));
            if button.clicked() {
                commands.push(wish(ControllerCommand::Front(id.clone())));
            }
        }
    });
    commands
}

fn front_ui(ui: &mut Ui, front: &FrontModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    heading(ui, &front.title);
    for text in &front.about {
        line(ui, text, &palette, false);
    }
    ui.horizontal_wrapped(|ui| {
        let title = match front.package.as_str() {
            "" => "Pins, seen from above".to_owned(),
            package => format!("Pins of the {package}, seen from above"),
        };
        heading(ui, &title);
        if front.packages.len() > 1 {
            commands.extend(packages_ui(ui, front));
        }
    });
    match front.rows.is_empty() {
        true => line(ui, "Its pins were not read.", &palette, true),
        false => {
            package::package_ui(ui, &front.rows);
            let text = "Stopped: VCC fed, below the start threshold. Bench-fed: mains off, bulk capacitor measured and empty; current limit before voltage.";
            line(ui, text, &palette, false);
        }
    }
    heading(ui, "Do not exceed");
    for text in &front.ceilings {
        line(ui, text, &palette, true);
    }
    for text in &front.figures {
        line(ui, text, &palette, false);
    }
    heading(ui, "Published values");
    values_ui(ui, &front.values);
    for (title, texts) in &front.texts {
        heading(ui, title);
        for text in texts {
            line(ui, text, &palette, false);
        }
    }
    commands
}

fn packages_ui(ui: &mut Ui, front: &FrontModel) -> Commands {
    let mut commands = Commands::new();
    let word = |package: &str| match package {
        "" => "usual package".to_owned(),
        package => package.to_owned(),
    };
    let combo = ComboBox::from_id_salt("package").selected_text(word(&front.package));
    let shown = combo.show_ui(ui, |ui| {
        for package in &front.packages {
            let chosen = *package == front.package;
            if ui.selectable_label(chosen, word(package)).clicked() {
                commands.push(wish(ControllerCommand::Package(package.clone())));
            }
        }
    });
    let name = format!("Package drawn: {}", word(&front.package));
    shown.response.accessible_name(name);
    commands
}

/// Width of the name of a value, and of one of its figures.
const NAME: f32 = 176.0;
const FIGURE: f32 = 72.0;

fn values_ui(ui: &mut Ui, values: &[ValueModel]) {
    let palette = Palette::in_ui(ui);
    let cell = |ui: &mut Ui, width: f32, text: RichText| {
        ui.vertical(|ui| {
            ui.set_width(width);
            ui.add(Label::new(text).wrap());
        });
    };
    ui.horizontal_top(|ui| {
        cell(ui, NAME, RichText::new(""));
        for title in ["least", "typical", "most"] {
            cell(ui, FIGURE, RichText::new(title).color(palette.quiet));
        }
        let origin = RichText::new("condition; source; status").color(palette.quiet);
        cell(ui, ui.available_width(), origin);
    });
    for value in values {
        ui.horizontal_top(|ui| {
            cell(ui, NAME, RichText::new(&value.meaning).color(palette.ink));
            for figure in &value.figures {
                let text = RichText::new(figure).font(theme::figures());
                cell(ui, FIGURE, text.color(palette.ink));
            }
            let hue = if value.provisional {
                palette.ink
            } else {
                palette.quiet
            };
            let origin = RichText::new(&value.origin).font(theme::small()).color(hue);
            cell(ui, ui.available_width(), origin);
        });
    }
}

fn fits_ui(ui: &mut Ui, fits: &FitsModel) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    heading(ui, "Which controller fits");
    for text in &fits.lines {
        line(ui, text, &palette, true);
    }
    for class in &fits.classes {
        ui.horizontal_top(|ui| {
            let button = ui.button(RichText::new(&class.words).font(theme::figures()));
            let name = format!("Show the best of {}", class.words);
            if button.accessible_name(name).clicked() {
                commands.push(wish(ControllerCommand::Front(class.id.clone())));
            }
            ui.add(Label::new(RichText::new(&class.why).color(palette.quiet)).wrap());
        });
    }
    for text in &fits.more {
        line(ui, text, &palette, false);
    }
    commands
}
