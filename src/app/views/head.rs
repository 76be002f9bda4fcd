//! The head line: unit, groups, controller, light or dark.

use egui::{Align, Key, Layout, RichText, TextEdit, Ui};

use super::Commands;
use crate::app::commands::Command;
use crate::app::models::PanelModel;
use crate::app::state::Look;
use crate::app::theme::{self, Palette};

/// The head line.
pub fn head_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let head = &model.head;
    ui.horizontal(|ui| {
        ui.label(RichText::new(&head.unit).font(theme::large()));
        ui.add_space(6.0);
        for (index, (title, chosen)) in head.groups.iter().enumerate() {
            if ui.selectable_label(*chosen, title).clicked() {
                commands.push(Command::SelectGroup(index));
            }
        }
        if head.may_begin_after && ui.button("Begin “after the repair”").clicked() {
            commands.push(Command::BeginAfter);
        }
        ui.add_space(10.0);
        commands.extend(controller_ui(ui, model));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            commands.extend(look_ui(ui, model.look));
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let text = RichText::new(&head.controller).font(theme::small());
                let label = egui::Label::new(text.color(Palette::in_ui(ui).quiet)).truncate();
                ui.add(label).on_hover_text(&head.controller);
            });
        });
    });
    if let Some(refusal) = &head.refusal {
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new("Not inspected").strong());
            ui.label(format!(
                "{refusal}. Check the marking, the roles and the set-ups, then apply again."
            ));
        });
    }
    commands
}

fn controller_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let label = ui.label("Controller marking");
    let mut marking = model.head.marking.clone();
    let field = TextEdit::singleline(&mut marking)
        .id_salt("marking")
        .desired_width(92.0)
        .char_limit(64)
        .hint_text("UC3844");
    let response = ui.add(field).labelled_by(label.id);
    if response.changed() {
        commands.push(Command::EditMarking(marking));
    }
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if ui.button("Apply").clicked() || entered {
        commands.push(Command::ApplyMarking);
    }
    commands
}

fn look_ui(ui: &mut Ui, look: Look) -> Commands {
    let mut commands = Commands::new();
    for choice in Look::ALL.into_iter().rev() {
        if ui
            .selectable_label(choice == look, choice.title())
            .clicked()
        {
            commands.push(Command::SetLook(choice));
        }
    }
    commands
}
