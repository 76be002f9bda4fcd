//! The sheet of the shots still to take: which pins, which settings, and what the next file is.

use egui::{ComboBox, Label, RichText, ScrollArea, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::plan::{OfferModel, PlanModel, PlanShot};
use crate::app::plan::{MOST_CHANNELS, PlanCommand};
use crate::app::theme::{self, Palette};
use crate::data::Setup;

/// All of it, as large as the middle.
pub fn plan_ui(ui: &mut Ui, model: &PlanModel) -> Commands {
    let palette = Palette::in_ui(ui);
    let mut commands = Commands::new();
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Shots to take").font(theme::large()));
        commands.extend(choices_ui(ui, model));
    });
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let line = |ui: &mut Ui, text: &str| {
            ui.add(Label::new(RichText::new(text).color(palette.quiet)).wrap());
        };
        if let Some(said) = &model.said {
            ui.add(Label::new(RichText::new(said).color(palette.ink)).wrap());
        }
        if let Some(none) = model.none {
            line(ui, none);
        }
        for (index, shot) in &model.shots {
            ui.push_id(index, |ui| commands.extend(shot_ui(ui, *index, shot)));
        }
        for (title, texts) in [
            ("Readings by meter", &model.readings),
            ("After that", &model.later),
        ] {
            if !texts.is_empty() {
                ui.add_space(4.0);
                ui.label(RichText::new(title).strong());
            }
            for text in texts {
                line(ui, text);
            }
        }
    });
    commands
}

fn choices_ui(ui: &mut Ui, model: &PlanModel) -> Commands {
    let mut commands = Commands::new();
    let chosen = model.setup.map_or("set-up?", Setup::id);
    ui.label("fed");
    let combo = ComboBox::from_id_salt("plan setup").selected_text(chosen);
    let shown = combo.show_ui(ui, |ui| {
        for setup in Setup::ALL {
            let text = format!("{}: {}", setup.id(), setup.meaning());
            if ui
                .selectable_label(model.setup == Some(setup), text)
                .clicked()
            {
                commands.push(Command::Plan(PlanCommand::Setup(setup)));
            }
        }
    });
    let name = format!("Set-up to plan for: {chosen}");
    shown.response.accessible_name(name);
    ui.label("channels of the scope");
    let combo = ComboBox::from_id_salt("plan channels")
        .width(44.0)
        .selected_text(model.channels.to_string());
    let shown = combo.show_ui(ui, |ui| {
        for count in 1..=MOST_CHANNELS {
            let same = count == model.channels;
            if ui.selectable_label(same, count.to_string()).clicked() {
                commands.push(Command::Plan(PlanCommand::Channels(count)));
            }
        }
    });
    let name = format!("Channels of the scope: {}", model.channels);
    shown.response.accessible_name(name);
    commands
}

fn shot_ui(ui: &mut Ui, index: usize, shot: &PlanShot) -> Commands {
    let mut commands = Commands::new();
    let palette = Palette::in_ui(ui);
    let line = |ui: &mut Ui, text: &str, hue| {
        ui.add(Label::new(RichText::new(text).color(hue)).wrap());
    };
    let frame = egui::Frame::new()
        .inner_margin(egui::Margin::symmetric(8, 4))
        .corner_radius(4.0)
        .fill(if shot.next {
            palette.sheet
        } else {
            palette.ground
        });
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.horizontal_wrapped(|ui| {
            let title = RichText::new(&shot.title).font(theme::large());
            ui.label(title.color(palette.ink));
            ui.label(RichText::new(&shot.head).color(palette.quiet));
            if shot.done {
                return;
            }
            let word = if shot.next {
                "The next file is this shot"
            } else {
                "Take this next"
            };
            let button = ui.add(egui::Button::new(word).selected(shot.next));
            let button = button.accessible_name(format!("{word}: {}", shot.title));
            let hint = "The next file opened or dropped takes these roles and this set-up, unless it looks like something else.";
            if button.on_hover_text(hint).clicked() {
                let next = (!shot.next).then_some(index);
                commands.push(Command::Plan(PlanCommand::Next(next)));
            }
        });
        if shot.done {
            return;
        }
        line(ui, &shot.why, palette.quiet);
        for text in &shot.channels {
            line(ui, text, palette.ink);
        }
        for text in &shot.how {
            line(ui, text, palette.quiet);
        }
        for text in &shot.cautions {
            line(ui, text, palette.ink);
        }
    });
    commands
}

/// The strip that asks whether planned roles are to be set in spite of what the record says.
pub fn offer_ui(ui: &mut Ui, offer: &OfferModel) -> Commands {
    let mut commands = Commands::new();
    ui.horizontal_wrapped(|ui| {
        if ui.button("Set the planned roles").clicked() {
            commands.push(Command::Plan(PlanCommand::TakeOffer));
        }
        if ui.button("Leave them").clicked() {
            commands.push(Command::Plan(PlanCommand::DropOffer));
        }
        ui.add(Label::new(&offer.text).wrap());
    });
    commands
}
