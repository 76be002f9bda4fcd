//! A picture of the window, without a window: the same views, drawn by our own rasteriser.

use std::sync::Arc;

use egui::{Context, RawInput, Rect, ViewportId, pos2, vec2};

use super::budget_sheet::BudgetCommand;
use super::commands;
use super::compare::{self, Made};
use super::meter::MeterForm;
use super::models::PanelModel;
use super::raster::{Canvas, Textures};
use super::sheet::Sheet;
use super::state::{AppState, Below, Explained, Look, MiddleView};
use super::theme::{self, Palette};
use super::views;
use super::{budget_sheet, controller_sheet};
use crate::data::{Inspection, Options, Stage};
use crate::inspect::{Case, Library, ReadOptions};

/// What the picture shows.
#[derive(Debug, Clone)]
pub struct PictureRequest {
    /// Width in pixels, 64 to 8192.
    pub width: u32,
    /// Height in pixels, 64 to 8192.
    pub height: u32,
    /// Pixels a point: 1 is the size of a usual screen; 0.5 to 4.
    pub pixels_per_point: f32,
    /// For a dark room?
    pub dark: bool,
    /// 0-based group.
    pub group: usize,
    /// 0-based shot in the group.
    pub shot: usize,
    /// Stage in focus; `None` takes the first that is dead, else the first.
    pub focus: Option<Stage>,
    /// Lanes or loop.
    pub view: MiddleView,
    /// What the bottom line explains.
    pub explained: Option<Explained>,
    /// Marked span, in seconds.
    pub span_s: Option<(f64, f64)>,
    /// What is unfolded below the middle.
    pub below: Option<Below>,
    /// What stands in the form that sets a channel to the meter.
    pub meter: MeterForm,
    /// The supply's own input on the sheet of the budget, `230ac`.
    pub input: String,
    /// The profiles that the sheets of controller and budget show; `None` takes the built-in ones.
    pub library: Option<Library>,
    /// The import sheet in front, where one is to be shown.
    pub sheet: Option<Sheet>,
}

impl Default for PictureRequest {
    fn default() -> Self {
        Self {
            width: 1366,
            height: 768,
            pixels_per_point: 1.0,
            dark: false,
            group: 0,
            shot: 0,
            focus: None,
            view: MiddleView::Lanes,
            explained: None,
            span_s: None,
            below: None,
            meter: MeterForm::default(),
            input: String::new(),
            library: None,
            sheet: None,
        }
    }
}

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PictureError {
    /// Too small, too large, or no number.
    #[error(
        "a picture of {width} × {height} pixels at {scale} pixels a point can't be made; 64 to 8192 pixels and a scale of 0.5 to 4 can"
    )]
    Size {
        /// Width asked for.
        width: u32,
        /// Height asked for.
        height: u32,
        /// Pixels a point asked for.
        scale: f32,
    },
    /// There is no such group or shot.
    #[error("there is no {what} {number}; there are {count}")]
    Missing {
        /// `group` or `shot`.
        what: &'static str,
        /// 1-based number asked for.
        number: usize,
        /// How many there are.
        count: usize,
    },
    /// The pixels could not be written as PNG.
    #[error("the picture could not be written as PNG: {0}")]
    Png(#[from] png::EncodingError),
}

/// Most frames that a picture is given to settle.
const MOST_FRAMES: usize = 10;

/// The window on a case as PNG; `inspections` belong to the groups of the case, in their order. The
/// same request gives the same bytes; no display is needed.
///
/// # Errors
/// [`PictureError`].
pub fn picture(
    case: &Case,
    inspections: &[Inspection],
    request: &PictureRequest,
) -> Result<Vec<u8>, PictureError> {
    check(case, request)?;
    let mut state = state_of(case, inspections, request);
    let ctx = Context::default();
    theme::install(&ctx);
    ctx.set_theme(if request.dark {
        egui::Theme::Dark
    } else {
        egui::Theme::Light
    });
    let mut textures = Textures::default();
    let kept = super::kept::Kept::default();
    let mut frame = 0;
    let (shapes, scale) = loop {
        let mut asked = Vec::new();
        let model = PanelModel::with(&state, None, &kept);
        let mut output = ctx.run_ui(input(request, frame), |ui| asked = views::show(ui, &model));
        textures.apply(&output.textures_delta);
        output.textures_delta.clear();
        frame += 1;
        let settled = asked.is_empty() && frame >= 4;
        for command in asked {
            // work that would follow has no place in a picture
            let _ = commands::apply(&mut state, command);
        }
        if settled || frame >= MOST_FRAMES {
            break (output.shapes, output.pixels_per_point);
        }
    };
    let primitives = ctx.tessellate(shapes, scale);
    let ground = Palette::of(request.dark).ground;
    let mut canvas = Canvas::new(request.width as usize, request.height as usize, ground);
    canvas.paint(&primitives, &textures, scale);
    encode(request, &canvas.into_rgb())
}

fn check(case: &Case, request: &PictureRequest) -> Result<(), PictureError> {
    let sizes = 64..=8192;
    let fits = sizes.contains(&request.width) && sizes.contains(&request.height);
    if !fits || !(0.5..=4.0).contains(&request.pixels_per_point) {
        return Err(PictureError::Size {
            width: request.width,
            height: request.height,
            scale: request.pixels_per_point,
        });
    }
    let missing = |what, index: usize, count| PictureError::Missing {
        what,
        number: index + 1,
        count,
    };
    let group = case
        .groups
        .get(request.group)
        .ok_or_else(|| missing("group", request.group, case.groups.len()))?;
    if request.shot > 0 && request.shot >= group.shots.len() {
        return Err(missing("shot", request.shot, group.shots.len()));
    }
    Ok(())
}

fn state_of(case: &Case, inspections: &[Inspection], request: &PictureRequest) -> AppState {
    let mut state = AppState::empty(ReadOptions::default(), Options::default());
    state.take_case(case.clone(), false);
    for (place, inspection) in state.inspections.iter_mut().zip(inspections) {
        *place = Some(Arc::new(inspection.clone()));
    }
    state.select_group(request.group);
    state.select_shot(request.shot);
    let scale = request.pixels_per_point;
    let guess = 0.4 * request.width as f32 / scale;
    state.lane_columns = guess.max(1.0) as usize;
    state.view = request.view;
    if request.view == MiddleView::Compare {
        let options = state.compare.options();
        state.compared = compare::sides(&state).map(|sides| Made::of(sides, options));
    }
    fill(&mut state, request);
    state.explained = request.explained;
    state.span_s = request.span_s;
    state.below = request.below;
    state.meter.clone_from(&request.meter);
    state.sheet.clone_from(&request.sheet);
    state.look = if request.dark {
        Look::Dark
    } else {
        Look::Light
    };
    let dead = state.inspection().and_then(super::state::first_dead);
    state.focus = request.focus.or(dead).unwrap_or(Stage::Supply);
    state
}

/// Fills the sheet in front, where it shows what the library holds.
fn fill(state: &mut AppState, request: &PictureRequest) {
    let view = request.view;
    if !matches!(view, MiddleView::Controller | MiddleView::Budget) {
        return;
    }
    if !request.input.is_empty() {
        let input = BudgetCommand::EditInput(request.input.clone());
        budget_sheet::apply(state, input);
        budget_sheet::apply(state, BudgetCommand::EnterInput);
    }
    let library = request.library.clone();
    // a test holds that the built-in one can be read
    if let Some(library) = library.or_else(|| Library::built_in().ok()) {
        controller_sheet::refresh(state, &library);
        budget_sheet::refresh(state, &library);
    }
}

fn input(request: &PictureRequest, frame: usize) -> RawInput {
    let scale = request.pixels_per_point;
    let size = vec2(request.width as f32 / scale, request.height as f32 / scale);
    let mut input = RawInput {
        screen_rect: Some(Rect::from_min_size(pos2(0.0, 0.0), size)),
        time: Some(frame as f64 * 0.1),
        focused: true,
        max_texture_side: Some(8192),
        ..RawInput::default()
    };
    if let Some(viewport) = input.viewports.get_mut(&ViewportId::ROOT) {
        viewport.native_pixels_per_point = Some(scale);
    }
    input
}

fn encode(request: &PictureRequest, rgb: &[u8]) -> Result<Vec<u8>, PictureError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, request.width, request.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(rgb)?;
    writer.finish()?;
    Ok(bytes)
}
