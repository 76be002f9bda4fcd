//! The middle: lanes or loop, and the controls of the time axis and the span.

use egui::{ComboBox, DragValue, RichText, Ui};

use super::{
    Commands, before, below, budget_sheet, compared, controller_sheet, events, job_sheet, lanes,
    loop_view, plan, steps,
};
use crate::app::commands::Command;
use crate::app::models::events::EventsModel;
use crate::app::models::lanes::LanesModel;
use crate::app::models::ticks::seconds;
use crate::app::models::vcc_loop::LoopModel;
use crate::app::models::{Middle, PanelModel};
use crate::app::theme;
use crate::data::text::engineering;
use crate::data::{Role, Unit};

/// The middle of the window.
pub fn middle_ui(ui: &mut Ui, model: &PanelModel) -> Commands {
    let mut commands = Commands::new();
    if !model.view.is_sheet() {
        ui.horizontal_wrapped(|ui| match &model.middle {
            Middle::Lanes(lanes) => commands.extend(axis_ui(ui, lanes, model.events.as_ref())),
            Middle::Loop(model) => commands.extend(choice_ui(ui, model)),
            _ => {}
        });
    }
    if matches!(model.middle, Middle::Lanes(_) | Middle::Loop(_)) {
        commands.extend(below::below_ui(ui, model));
    }
    match &model.middle {
        Middle::Lanes(lanes) => commands.extend(lanes::lanes_ui(ui, lanes)),
        Middle::Loop(model) => loop_view::loop_ui(ui, model),
        Middle::Before => before::before_ui(ui, &model.before),
        Middle::Plan(sheet) => commands.extend(plan::plan_ui(ui, sheet)),
        Middle::Job(sheet) => commands.extend(job_sheet::job_ui(ui, sheet)),
        Middle::Compare(sheet) => commands.extend(compared::compared_ui(ui, sheet)),
        Middle::Steps(sheet) => commands.extend(steps::steps_ui(ui, sheet)),
        Middle::Controller(sheet) => {
            commands.extend(controller_sheet::controller_ui(ui, sheet));
        }
        Middle::Budget(sheet) => commands.extend(budget_sheet::budget_ui(ui, sheet)),
        Middle::Empty(text) => {
            ui.add_space(0.3 * ui.available_height());
            ui.vertical_centered(|ui| ui.label(RichText::new(text).font(theme::large())));
        }
    }
    commands
}

fn axis_ui(ui: &mut Ui, lanes: &LanesModel, walk: Option<&EventsModel>) -> Commands {
    let mut commands = Commands::new();
    let (from, to) = lanes.shown_s;
    let at_s = 0.5 * (from + to);
    if ui.button("+").accessible_name("Zoom in").clicked() {
        commands.push(Command::Zoom { at_s, factor: 0.5 });
    }
    if ui.button("−").accessible_name("Zoom out").clicked() {
        commands.push(Command::Zoom { at_s, factor: 2.0 });
    }
    if ui.button("Show all").clicked() {
        commands.push(Command::ShowAll);
    }
    if let Some(walk) = walk {
        // before the span, which the walk marks: its buttons stay where they are
        ui.separator();
        commands.extend(events::events_ui(ui, walk));
    }
    ui.separator();
    commands.extend(span_ui(ui, lanes));
    commands
}

/// Two fields for the marked span; the lanes themselves cannot be reached without a pointer.
fn span_ui(ui: &mut Ui, lanes: &LanesModel) -> Commands {
    let mut commands = Commands::new();
    let shown = lanes.shown_s;
    let (mut from, mut to) = lanes.span.as_ref().map_or(shown, |span| span.span_s);
    let speed = (shown.1 - shown.0) / 500.0;
    ui.label("Span");
    let mut changed = false;
    for (name, value) in [("Span from", &mut from), ("Span to", &mut to)] {
        let field = DragValue::new(value)
            .speed(speed)
            .custom_formatter(|value, _| engineering(value, Unit::Second, 5))
            .custom_parser(seconds)
            .range(lanes.full_s.0..=lanes.full_s.1);
        changed |= ui.add(field).accessible_name(name).changed();
    }
    if changed {
        commands.push(Command::MarkSpan(Some((from, to))));
    }
    if let Some(span) = &lanes.span {
        if ui.button("Copy").accessible_name("Copy the span").clicked() {
            commands.push(Command::Copy(span.copied.clone()));
        }
        if ui
            .button("Clear")
            .accessible_name("Clear the span")
            .clicked()
        {
            commands.push(Command::MarkSpan(None));
        }
        ui.label(RichText::new(&span.length).font(theme::figures()));
    }
    commands
}

fn choice_ui(ui: &mut Ui, model: &LoopModel) -> Commands {
    let mut commands = Commands::new();
    const EVERY: &str = "every pin";
    ui.label("VCC across, up");
    let title = |role: Option<Role>| role.map_or(EVERY.to_owned(), Role::title_with_pin);
    let combo = ComboBox::from_id_salt("loop").selected_text(title(model.chosen));
    let shown = combo.show_ui(ui, |ui| {
        let each = model.choices.iter().copied().map(Some);
        for role in std::iter::once(None).chain(each) {
            let chosen = role == model.chosen;
            if ui.selectable_label(chosen, title(role)).clicked() {
                commands.push(Command::LoopRole(role));
            }
        }
    });
    shown.response.accessible_name("Pin shown upward");
    commands
}
