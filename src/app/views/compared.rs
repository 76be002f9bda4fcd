//! The sheet of before and after.

use egui::{Align2, ComboBox, Grid, Label, RichText, ScrollArea, TextEdit, Ui};

use super::{Commands, keys, over_paint};
use crate::app::commands::Command;
use crate::app::compare::CompareCommand;
use crate::app::models::compared::{CompareModel, RowModel};
use crate::app::theme::{self, Palette};
use crate::data::AlignBy;

/// All of it, as large as the middle.
pub fn compared_ui(ui: &mut Ui, model: &CompareModel) -> Commands {
    let palette = Palette::in_ui(ui);
    let mut commands = Commands::new();
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Before and after").font(theme::large()));
        commands.extend(choices_ui(ui, model));
    });
    if let Some(wrong) = &model.form.wrong {
        ui.label(wrong);
    }
    if let Some(none) = &model.none {
        ui.add(Label::new(RichText::new(none).color(palette.quiet)).wrap());
        return commands;
    }
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let line = |ui: &mut Ui, text: &str, hue| {
            ui.add(Label::new(RichText::new(text).color(hue)).wrap());
        };
        let summary = RichText::new(&model.summary).font(theme::large());
        ui.add(Label::new(summary.color(palette.ink)).wrap());
        line(ui, &format!("{}.", model.stages.join("; ")), palette.quiet);
        if let Some(over) = &model.over {
            line(ui, &over.words, palette.quiet);
            if let Some(shift_s) = over_paint::over_ui(ui, over) {
                commands.push(Command::Compare(CompareCommand::Shift(shift_s)));
            }
        }
        ui.horizontal(|ui| {
            ui.label(RichText::new("All values").font(theme::large()));
            if ui.button("Copy table").clicked() {
                commands.push(Command::Copy(model.copied.clone()));
            }
        });
        table_ui(ui, &model.rows);
        for note in &model.notes {
            line(ui, note, palette.quiet);
        }
    });
    commands
}

fn choices_ui(ui: &mut Ui, model: &CompareModel) -> Commands {
    let mut commands = Commands::new();
    type Make = fn(usize) -> CompareCommand;
    let sides: [(&str, usize, Make); 2] = [
        ("before", model.form.before, CompareCommand::Before),
        ("after", model.form.after, CompareCommand::After),
    ];
    for (word, chosen, make) in sides {
        ui.label(word);
        let title = model.groups.get(chosen).map_or("–", String::as_str);
        let combo = ComboBox::from_id_salt(word).selected_text(title);
        let shown = combo.show_ui(ui, |ui| {
            for (index, group) in model.groups.iter().enumerate() {
                if ui.selectable_label(index == chosen, group).clicked() {
                    commands.push(Command::Compare(make(index)));
                }
            }
        });
        let name = format!("Run {word}: {title}");
        shown.response.accessible_name(name);
    }
    commands.extend(align_ui(ui, model));
    let mut same = model.form.same_instruments;
    let check = ui.checkbox(&mut same, "same scope, probes, ranges, meter");
    let hint = "Gain and offset errors are then one error on both sides and leave the change.";
    if check.on_hover_text(hint).changed() {
        commands.push(Command::Compare(CompareCommand::SameInstruments(same)));
    }
    if model.pairs.len() > 1 {
        let chosen = model.pairs.get(model.form.pair).map_or("", String::as_str);
        let combo = ComboBox::from_id_salt("pair").selected_text(chosen);
        let shown = combo.show_ui(ui, |ui| {
            for (index, pair) in model.pairs.iter().enumerate() {
                let same = index == model.form.pair;
                if ui.selectable_label(same, pair).clicked() {
                    commands.push(Command::Compare(CompareCommand::Pair(index)));
                }
            }
        });
        let name = format!("Captures drawn: {chosen}");
        shown.response.accessible_name(name);
    }
    commands
}

const ALIGNS: [(AlignBy, &str); 4] = [
    (AlignBy::Auto, "as fits"),
    (AlignBy::Start, "on the first start"),
    (AlignBy::Edge, "on the first edge"),
    (AlignBy::Correlation, "by correlation"),
];

fn align_ui(ui: &mut Ui, model: &CompareModel) -> Commands {
    let mut commands = Commands::new();
    let chosen = model.form.align;
    let word = ALIGNS.iter().find(|(by, _)| *by == chosen);
    let word = word.map_or("by hand", |(_, word)| word);
    ui.label("laid over");
    let combo = ComboBox::from_id_salt("align").selected_text(word);
    let shown = combo.show_ui(ui, |ui| {
        for (by, word) in ALIGNS {
            if ui.selectable_label(by == chosen, word).clicked() {
                commands.push(Command::Compare(CompareCommand::Align(by)));
            }
        }
    });
    let name = format!("Laid over each other {word}");
    shown.response.accessible_name(name);
    let mut text = model.form.shift.clone();
    let edit = TextEdit::singleline(&mut text)
        .id_salt("shift")
        .desired_width(88.0)
        .char_limit(40)
        .hint_text("e.g. 1.5ms");
    let field = ui.add(edit).accessible_name("Later by, by hand");
    let field = field.on_hover_text("By hand: how much later the same happens in the run after.");
    if field.changed() {
        commands.push(Command::Compare(CompareCommand::EditShift(text)));
    }
    if keys::entered(ui, &field) {
        commands.push(Command::Compare(CompareCommand::EnterShift));
    }
    commands
}

fn table_ui(ui: &mut Ui, rows: &[RowModel]) {
    let palette = Palette::in_ui(ui);
    let head = |ui: &mut Ui, text: &str| {
        ui.label(RichText::new(text).color(palette.quiet));
    };
    Grid::new("compared")
        .num_columns(6)
        .spacing([18.0, 4.0])
        .show(ui, |ui| {
            for title in ["", "before", "after", "change", "", "verdicts"] {
                head(ui, title);
            }
            ui.end_row();
            for row in rows {
                let hue = if row.stands_out {
                    palette.ink
                } else {
                    palette.quiet
                };
                let title = ui.label(RichText::new(row.title).color(hue));
                for cell in &row.cells {
                    ui.label(RichText::new(cell).font(theme::figures()).color(hue));
                }
                mark_ui(ui, row, &palette);
                ui.label(RichText::new(&row.verdicts).color(hue));
                if !row.remark.is_empty() {
                    title.on_hover_text(&row.remark);
                    ui.label(
                        RichText::new(&row.remark)
                            .font(theme::small())
                            .color(palette.quiet),
                    );
                }
                ui.end_row();
            }
        });
}

/// A full triangle before what changed, so that no colour is needed.
fn mark_ui(ui: &mut Ui, row: &RowModel, palette: &Palette) {
    let text = RichText::new(row.word);
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(egui::vec2(8.0, 12.0), egui::Sense::hover());
        if row.stands_out {
            let points = vec![rect.left_top(), rect.right_center(), rect.left_bottom()];
            let shape = egui::Shape::convex_polygon(points, palette.ink, egui::Stroke::NONE);
            ui.painter().add(shape);
        }
        ui.label(text.color(if row.stands_out {
            palette.ink
        } else {
            palette.quiet
        }));
    });
}

/// Words in the corner of a lane.
pub(super) fn corner(ui: &Ui, at: egui::Pos2, align: Align2, text: &str) {
    let palette = Palette::in_ui(ui);
    ui.painter()
        .text(at, align, text, theme::small(), palette.quiet);
}
