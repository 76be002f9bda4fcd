//! The desktop window: shows an inspection and computes nothing.
//!
//! `state` holds what is shown and chosen, `models` make finished text and shapes of it, `views`
//! draw those and return [`commands::Command`]s, which are applied after drawing. Reading and
//! inspecting run in [`task::Task`]s. No view reads a file, a clock or a sample.
//! Start reading at [`window`], then [`shell`].

pub mod budget_sheet;
pub mod check;
pub mod commands;
pub mod compare;
pub mod controller_sheet;
pub mod dialog;
pub mod events;
pub mod group_edits;
pub mod job;
pub mod kept;
pub mod layouts_folder;
pub mod meter;
pub mod models;
pub mod open;
pub mod picture;
pub mod places;
pub mod plan;
pub mod raster;
pub mod sheet;
pub mod shell;
pub mod state;
pub mod steps;
pub mod task;
pub mod theme;
pub mod told;
pub mod views;
pub mod window;
pub mod zoom;

pub use check::{can_open, window_check};
pub use picture::{PictureError, PictureRequest, picture};
pub use state::MiddleView;
pub use window::{WindowError, WindowRequest, run};
