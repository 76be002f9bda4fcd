//! Colours and sizes of the window. Hues belong to roles and come from the Okabe-Ito palette
//! (Color Universal Design, 2008), darkened on paper and lightened at night where the plain hue
//! stays below the 3:1 that WCAG 2.2 (1.4.11) asks of graphics. States and verdicts have no hue:
//! they differ by shape and word.

use egui::{Color32, FontFamily, FontId, Stroke, TextStyle, Visuals};

use crate::data::role_colours::hues;
use crate::data::{Role, Stage, TakenFor};

/// What the window is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// Is it for a dark room?
    pub dark: bool,
    /// Behind everything.
    pub ground: Color32,
    /// Cards, lanes, fields.
    pub sheet: Color32,
    /// Under the pointer, and what is chosen.
    pub raised: Color32,
    /// Text and shapes that matter.
    pub ink: Color32,
    /// Text that helps.
    pub quiet: Color32,
    /// Lines that part things.
    pub rule: Color32,
    /// Edges of fields and cards: 3:1 against what is beside them.
    pub edge: Color32,
    /// Limits drawn as a band.
    pub band: Color32,
    /// Ground of the banner.
    pub banner: Color32,
    /// Text on the banner.
    pub on_banner: Color32,
    /// A marked span.
    pub marked: Color32,
}

const PAPER: Palette = Palette {
    dark: false,
    ground: Color32::from_rgb(0xF1, 0xEE, 0xE6),
    sheet: Color32::from_rgb(0xFD, 0xFC, 0xF9),
    raised: Color32::from_rgb(0xE4, 0xDF, 0xD2),
    ink: Color32::from_rgb(0x24, 0x26, 0x2A),
    quiet: Color32::from_rgb(0x57, 0x57, 0x56),
    rule: Color32::from_rgb(0xD3, 0xCD, 0xBF),
    edge: Color32::from_rgb(0x80, 0x7C, 0x72),
    band: Color32::from_rgb(0xE6, 0xE2, 0xD8),
    banner: Color32::from_rgb(0x2E, 0x2C, 0x28),
    on_banner: Color32::from_rgb(0xFA, 0xF5, 0xE8),
    marked: Color32::from_rgb(0xD9, 0xD3, 0xC2),
};

const NIGHT: Palette = Palette {
    dark: true,
    ground: Color32::from_rgb(0x1B, 0x1A, 0x19),
    sheet: Color32::from_rgb(0x23, 0x22, 0x20),
    raised: Color32::from_rgb(0x38, 0x35, 0x31),
    ink: Color32::from_rgb(0xE0, 0xDA, 0xCD),
    quiet: Color32::from_rgb(0xB4, 0xAE, 0xA2),
    rule: Color32::from_rgb(0x3E, 0x3B, 0x37),
    edge: Color32::from_rgb(0x80, 0x7A, 0x70),
    band: Color32::from_rgb(0x36, 0x33, 0x2F),
    banner: Color32::from_rgb(0x5A, 0x50, 0x3C),
    on_banner: Color32::from_rgb(0xF6, 0xEF, 0xDD),
    marked: Color32::from_rgb(0x44, 0x40, 0x38),
};

impl Palette {
    /// The palette of a dark or of a light window.
    pub fn of(dark: bool) -> Palette {
        if dark { NIGHT } else { PAPER }
    }

    /// The palette that fits what `ui` is drawn in.
    pub fn in_ui(ui: &egui::Ui) -> Palette {
        Palette::of(ui.visuals().dark_mode)
    }

    /// The hue of a role.
    pub fn role(&self, role: Role) -> Color32 {
        let (paper, night) = hues(role);
        rgb(if self.dark { night } else { paper })
    }

    /// The ground of a cell of a file, by what it was taken for: pale, so that it is not mistaken for
    /// the hue of a role, and never alone: a word stands at the head of column and line.
    pub fn cell(&self, taken_for: TakenFor) -> Color32 {
        let (paper, night) = match taken_for {
            TakenFor::Time => (0xECDDBB, 0x4A3F27),
            TakenFor::Channel(_) => (0xD6DEE8, 0x2E3A48),
            TakenFor::Name | TakenFor::Unit => (0xE9D5D2, 0x4B3536),
            TakenFor::Key | TakenFor::Value => (0xDCE4C9, 0x394227),
            TakenFor::Missing | TakenFor::BeyondRange => (0xFDFCF9, 0x232220),
            TakenFor::Count | TakenFor::LeftOut | TakenFor::Comment | TakenFor::Nothing => {
                (0xE6E2D8, 0x36332F)
            }
        };
        rgb(if self.dark { night } else { paper })
    }

    /// The hue of a stage: that of the pin where it shows.
    pub fn stage(&self, stage: Stage) -> Color32 {
        self.role(match stage {
            Stage::Supply => Role::Vcc,
            Stage::Reference => Role::Vref,
            Stage::Oscillator => Role::RtCt,
            Stage::Drive => Role::Out,
            Stage::CurrentSense => Role::Cs,
            Stage::OwnSupply => Role::Aux,
        })
    }
}

fn rgb(code: u32) -> Color32 {
    let [_, red, green, blue] = code.to_be_bytes();
    Color32::from_rgb(red, green, blue)
}

/// Contrast of two opaque colours, 1 to 21 (WCAG 2.2, relative luminance).
pub fn contrast(a: Color32, b: Color32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn luminance(color: Color32) -> f64 {
    let linear = |byte: u8| {
        let c = f64::from(byte) / 255.0;
        if c <= 0.04045 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * linear(color.r()) + 0.7152 * linear(color.g()) + 0.0722 * linear(color.b())
}

/// Text of a paragraph.
pub fn body() -> FontId {
    FontId::new(14.0, FontFamily::Proportional)
}

/// Text that helps.
pub fn small() -> FontId {
    FontId::new(12.5, FontFamily::Proportional)
}

/// Names of stages, the banner.
pub fn large() -> FontId {
    FontId::new(17.0, FontFamily::Proportional)
}

/// Measured numbers: figures of one width.
pub fn figures() -> FontId {
    FontId::new(12.5, FontFamily::Monospace)
}

/// Gives `ctx` the fonts, spacing and colours of this window, for both themes.
pub fn install(ctx: &egui::Context) {
    for theme in [egui::Theme::Dark, egui::Theme::Light] {
        let palette = Palette::of(theme == egui::Theme::Dark);
        ctx.style_mut_of(theme, |style| {
            style.visuals = visuals(&palette);
            style.animation_time = 0.0;
            style.text_styles = [
                (TextStyle::Body, body()),
                (TextStyle::Button, body()),
                (TextStyle::Small, small()),
                (TextStyle::Heading, large()),
                (TextStyle::Monospace, figures()),
            ]
            .into();
            style.spacing.item_spacing = egui::vec2(6.0, 4.0);
            style.spacing.button_padding = egui::vec2(8.0, 3.0);
            style.spacing.interact_size.y = 24.0;
            style.spacing.scroll = egui::style::ScrollStyle::thin();
            style.spacing.scroll.fade.strength = 0.0;
        });
    }
}

fn visuals(palette: &Palette) -> Visuals {
    let mut visuals = if palette.dark {
        Visuals::dark()
    } else {
        Visuals::light()
    };
    visuals.override_text_color = None;
    visuals.weak_text_color = Some(palette.quiet);
    visuals.panel_fill = palette.ground;
    visuals.window_fill = palette.sheet;
    visuals.window_stroke = Stroke::new(1.0, palette.edge);
    visuals.extreme_bg_color = palette.sheet;
    visuals.text_edit_bg_color = Some(palette.sheet);
    visuals.faint_bg_color = palette.band;
    visuals.hyperlink_color = palette.ink;
    visuals.warn_fg_color = palette.ink;
    visuals.error_fg_color = palette.ink;
    visuals.selection.bg_fill = palette.raised;
    visuals.selection.stroke = Stroke::new(1.5, palette.ink);
    visuals.window_shadow = egui::Shadow::NONE;
    visuals.popup_shadow = egui::Shadow::NONE;
    let widgets = &mut visuals.widgets;
    for (state, fill, edge) in [
        (&mut widgets.noninteractive, palette.ground, palette.rule),
        (&mut widgets.inactive, palette.sheet, palette.edge),
        (&mut widgets.hovered, palette.raised, palette.ink),
        (&mut widgets.active, palette.raised, palette.ink),
        (&mut widgets.open, palette.raised, palette.edge),
    ] {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::new(1.0, edge);
        state.fg_stroke = Stroke::new(1.0, palette.ink);
        state.corner_radius = egui::CornerRadius::same(3);
        state.expansion = 0.0;
    }
    visuals
}
