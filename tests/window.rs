//! The window, tested by name and key, without a display.

#[path = "window/banner.rs"]
mod banner;
#[path = "window/budget_sheet.rs"]
mod budget_sheet;
#[path = "window/compared.rs"]
mod compared;
#[path = "window/controller_sheet.rs"]
mod controller_sheet;
#[path = "window/example.rs"]
mod example;
#[path = "window/import_model.rs"]
mod import_model;
#[path = "window/import_sheet.rs"]
mod import_sheet;
#[path = "window/job.rs"]
mod job;
#[path = "window/keys.rs"]
mod keys;
#[path = "window/known.rs"]
mod known;
#[path = "window/loops.rs"]
mod loops;
#[path = "window/meter.rs"]
mod meter;
#[path = "window/models.rs"]
mod models;
#[path = "window/pictures.rs"]
mod pictures;
#[path = "window/plan.rs"]
mod plan;
#[path = "window/remarks.rs"]
mod remarks;
#[path = "window/report.rs"]
mod report;
#[path = "window/steps.rs"]
mod steps;
#[path = "window/use_it.rs"]
mod use_it;
#[path = "window/view.rs"]
mod view;
#[path = "window/walk.rs"]
mod walk;
