//! Opening the window.

use std::path::PathBuf;

use super::dialog::DesktopDialog;
use super::job::recent;
use super::layouts_folder::layouts_folder;
use super::shell::Shell;
use super::state::AppState;
use super::theme;
use crate::data::Options;
use crate::inspect::{Library, ReadOptions};

/// What the window starts with.
#[derive(Debug, Clone, Default)]
pub struct WindowRequest {
    /// Captures to open; none opens the built-in unit.
    pub files: Vec<PathBuf>,
    /// How they are read.
    pub read: ReadOptions,
    /// The folder of remembered layouts; the one of this desktop when none is named.
    pub layouts: Option<PathBuf>,
    /// What is told about them.
    pub options: Options,
    /// The profiles judged by; the built-in ones when there are none.
    pub library: Option<Library>,
}

/// Why the window did not open, or did not stay.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WindowError {
    /// The desktop or the graphics refused.
    #[error("the window could not open: {0}")]
    Refused(String),
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`WindowError::Refused`] when the desktop or the graphics refuse.
pub fn run(request: WindowRequest) -> Result<(), WindowError> {
    let viewport = egui::ViewportBuilder::default()
        .with_title("firstpulse")
        .with_app_id("firstpulse")
        .with_icon(egui::IconData::default())
        .with_inner_size([1280.0, 800.0])
        .with_min_inner_size([900.0, 600.0])
        .with_drag_and_drop(true);
    let options = eframe::NativeOptions {
        viewport,
        ..eframe::NativeOptions::default()
    };
    let created = eframe::run_native(
        "firstpulse",
        options,
        Box::new(move |creation| {
            let ctx = &creation.egui_ctx;
            theme::install(ctx);
            let mut state = AppState::empty(request.read, request.options);
            state.layouts = request.layouts.or_else(layouts_folder);
            state.job.recent = recent::recent();
            let mut shell = Shell::new(state, Box::new(DesktopDialog));
            shell.remembers = true;
            if let Some(library) = request.library {
                shell.judge_by(library);
            }
            shell.begin(ctx, request.files);
            Ok(Box::new(shell))
        }),
    );
    created.map_err(|error| WindowError::Refused(error.to_string()))
}
