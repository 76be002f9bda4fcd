//! The head line: unit, groups, controller, light or dark.

use egui::{Align, ComboBox, Layout, RichText, TextEdit, Ui};

use super::{Commands, keys};
use crate::app::commands::Command;
use crate::app::models::PanelModel;
use crate::app::state::Look;
use crate::app::theme::{self, Palette};

/// The head line.
pub fn head_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let head = &model.head;
    if ui.available_width() > needed(ui, model) {
        ui.horizontal(|ui| {
            commands.extend(unit_ui(ui, model));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                commands.extend(look_ui(ui, model.look));
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    let text = RichText::new(&head.controller).font(theme::small());
                    let label = egui::Label::new(text.color(Palette::in_ui(ui).quiet)).truncate();
                    ui.add(label).on_hover_text(&head.controller);
                });
            });
        });
    } else {
        // in as many lines as it takes
        ui.horizontal_wrapped(|ui| {
            commands.extend(unit_ui(ui, model));
            commands.extend(look_choice_ui(ui, model.look));
        });
    }
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

/// Room for a marking with its name and button, and for light or dark, in points.
const REST: f32 = 300.0 + 240.0;
/// Least room for what the marking stands for.
const TITLE: f32 = 110.0;

/// How wide the head line has to be for all of it in one line.
fn needed(ui: &Ui, model: &PanelModel) -> f32 {
    let width = |text: &str, font| {
        let galley = ui
            .painter()
            .layout_no_wrap(text.to_owned(), font, Palette::in_ui(ui).ink);
        galley.size().x + 24.0
    };
    let groups: f32 = model
        .head
        .groups
        .iter()
        .map(|(title, _)| width(title, theme::body()))
        .sum();
    let begin = if model.head.may_begin_after {
        width(BEGIN, theme::body())
    } else {
        0.0
    };
    width(&model.head.unit, theme::large()) + groups + begin + REST + TITLE
}

const BEGIN: &str = "Begin “after the repair”";

/// Unit, groups, controller.
fn unit_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    let head = &model.head;
    ui.label(RichText::new(&head.unit).font(theme::large()));
    ui.add_space(6.0);
    for (index, (title, chosen)) in head.groups.iter().enumerate() {
        if ui.selectable_label(*chosen, title).clicked() {
            commands.push(Command::SelectGroup(index));
        }
    }
    if head.may_begin_after && ui.button(BEGIN).clicked() {
        commands.push(Command::BeginAfter);
    }
    ui.add_space(10.0);
    commands.extend(controller_ui(ui, model));
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
    let response = response.on_hover_text(&model.head.controller);
    if response.changed() {
        commands.push(Command::EditMarking(marking));
    }
    let entered = keys::entered(ui, &response);
    if ui.button("Apply").clicked() || entered {
        commands.push(Command::ApplyMarking);
    }
    commands
}

/// Light or dark, for a line that is filled from its right end.
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

/// The same where there is little room.
fn look_choice_ui(ui: &mut Ui, look: Look) -> Commands {
    let mut commands = Commands::new();
    let combo = ComboBox::from_id_salt("look")
        .width(96.0)
        .selected_text(look.title());
    let shown = combo.show_ui(ui, |ui| {
        for choice in Look::ALL {
            if ui
                .selectable_label(choice == look, choice.title())
                .clicked()
            {
                commands.push(Command::SetLook(choice));
            }
        }
    });
    let name = format!("Light or dark: {}", look.title());
    shown.response.accessible_name(name);
    commands
}
