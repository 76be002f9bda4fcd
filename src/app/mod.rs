//! STAND-IN for the window, so that the program can be put together: it opens nothing and says so.
//! The room with the real window has the same five public items.

use std::path::PathBuf;

use crate::data::{Inspection, Options, Stage};
use crate::inspect::{Case, ReadOptions};

/// What the window opens with.
#[derive(Debug, Clone, Default)]
pub struct WindowRequest {
    /// Captures, in order; none means the built-in demo.
    pub files: Vec<PathBuf>,
    /// Import decisions.
    pub read: ReadOptions,
    /// What the user told.
    pub options: Options,
}

/// What a picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureRequest {
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Pixels for each point of the drawing.
    pub pixels_per_point: f32,
    /// Dark instead of light?
    pub dark: bool,
    /// Index of the group shown.
    pub group: usize,
    /// The stage in focus.
    pub focus: Option<Stage>,
}

/// Why there is no window or picture.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct WindowError(pub String);

/// Opens the window and stays until it is closed.
///
/// # Errors
/// When the system refuses a window.
pub fn run(request: WindowRequest) -> Result<(), WindowError> {
    drop(request);
    can_open().map_err(WindowError)
}

/// Can a window be opened here?
///
/// # Errors
/// Why not, in words.
pub fn can_open() -> Result<(), String> {
    Err("this build has no window".to_owned())
}

/// Opens a window, draws a few frames and closes it; the exit code says how it went.
pub fn window_check() -> i32 {
    2
}

/// A picture of the window as PNG.
///
/// # Errors
/// When it can't be drawn.
pub fn picture(
    case: &Case,
    inspections: &[Inspection],
    request: &PictureRequest,
) -> Result<Vec<u8>, WindowError> {
    let _ = (case, inspections, request);
    Err(WindowError("this build draws no pictures".to_owned()))
}
