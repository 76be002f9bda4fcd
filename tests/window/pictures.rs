//! Pictures of the window, the rasteriser behind them, and the colours.

use egui::epaint::{ClippedPrimitive, Mesh, Primitive, Vertex};
use egui::{Color32, Rect, pos2, vec2};
use firstpulse::app::meter::MeterForm;
use firstpulse::app::raster::{Canvas, Textures};
use firstpulse::app::state::{Below, Explained};
use firstpulse::app::theme::{Palette, contrast};
use firstpulse::app::{self, MiddleView, PictureError, PictureRequest};
use firstpulse::data::options::{ChannelChoice, MeterPoint};
use firstpulse::data::{Inspection, Role, Stage};
use firstpulse::inspect::Case;

use super::example;

/// The same request gives the same bytes. With `FIRSTPULSE_PICTURES` set to a folder, a set of
/// pictures is written there for a person to look at.
#[test]
fn pictures_come_out_the_same_twice() {
    let case = example::case();
    let inspections = example::inspections(&case);
    let small = PictureRequest {
        width: 900,
        height: 600,
        ..PictureRequest::default()
    };
    let once = app::picture(&case, &inspections, &small).unwrap();
    let twice = app::picture(&case, &inspections, &small).unwrap();
    assert_eq!(once, twice);
    assert_eq!(&once[1..4], b"PNG");
    let Some(folder) = std::env::var_os("FIRSTPULSE_PICTURES") else {
        return;
    };
    let (tied_case, tied_inspections) = tied();
    for (name, request) in gallery(small.clone()).into_iter().chain(further(small)) {
        let bytes = if request.below.is_some() {
            app::picture(&tied_case, &tied_inspections, &request).unwrap()
        } else {
            app::picture(&case, &inspections, &request).unwrap()
        };
        std::fs::write(
            std::path::Path::new(&folder).join(format!("{name}.png")),
            bytes,
        )
        .unwrap();
    }
}

/// The example with VCC of its first shot set to a meter reading.
fn tied() -> (Case, Vec<Inspection>) {
    let mut case = example::case();
    let mut inspections = example::inspections(&case);
    case.groups[0].options.meter_points.push(MeterPoint {
        channel: ChannelChoice {
            capture: Some(1),
            channel: "1".to_owned(),
        },
        from_s: 0.5,
        to_s: 1.5,
        volts: 15.02,
    });
    inspections[0].captures[0].channels[0].set_to_meter = Some(super::remarks::tied());
    (case, inspections)
}

/// The form of the meter, with a reading that was not taken.
fn form() -> MeterForm {
    MeterForm {
        reading: "15V".to_owned(),
        wrong: Some(
            "Not set: channel '1' can't be set to the meter at 2 s to 3 s: it moves by 2.667 V; point at a piece in which the voltage stands still.".to_owned(),
        ),
        ..MeterForm::default()
    }
}

fn gallery(small: PictureRequest) -> Vec<(&'static str, PictureRequest)> {
    let base = PictureRequest::default();
    vec![
        ("light-found", base.clone()),
        (
            "dark-found",
            PictureRequest {
                dark: true,
                shot: 3,
                ..base.clone()
            },
        ),
        (
            "light-supply",
            PictureRequest {
                focus: Some(Stage::Supply),
                explained: Some(Explained::Measured(4)),
                span_s: Some((2.0, 3.0)),
                ..base.clone()
            },
        ),
        (
            "dark-run",
            PictureRequest {
                dark: true,
                focus: Some(Stage::Oscillator),
                shot: 2,
                ..base.clone()
            },
        ),
        (
            "light-loop",
            PictureRequest {
                view: MiddleView::Loop,
                ..base.clone()
            },
        ),
        (
            "light-after",
            PictureRequest {
                group: 1,
                ..base.clone()
            },
        ),
        ("small", small),
        (
            "dark-double",
            PictureRequest {
                width: 2560,
                height: 1600,
                pixels_per_point: 2.0,
                dark: true,
                ..base
            },
        ),
    ]
}

/// The loop, the form and the walk, in both sizes.
fn further(small: PictureRequest) -> Vec<(&'static str, PictureRequest)> {
    let base = PictureRequest::default();
    vec![
        (
            "small-dark-loop",
            PictureRequest {
                dark: true,
                view: MiddleView::Loop,
                ..small.clone()
            },
        ),
        (
            "small-meter",
            PictureRequest {
                below: Some(Below::Meter),
                meter: form(),
                ..small.clone()
            },
        ),
        (
            "dark-meter",
            PictureRequest {
                dark: true,
                below: Some(Below::Meter),
                meter: form(),
                span_s: Some((2.0, 3.0)),
                ..base.clone()
            },
        ),
        (
            "small-dark-event",
            PictureRequest {
                dark: true,
                explained: Some(Explained::Event(1)),
                ..small
            },
        ),
        (
            "light-event",
            PictureRequest {
                explained: Some(Explained::Event(1)),
                ..base
            },
        ),
    ]
}

#[test]
fn focus_theme_view_and_size_change_the_picture_and_nonsense_is_refused() {
    let case = example::case();
    let inspections = example::inspections(&case);
    let base = PictureRequest {
        width: 900,
        height: 600,
        ..PictureRequest::default()
    };
    let draw = |request: &PictureRequest| app::picture(&case, &inspections, request);
    let plain = draw(&base).unwrap();
    for other in [
        PictureRequest {
            dark: true,
            ..base.clone()
        },
        PictureRequest {
            focus: Some(Stage::Drive),
            ..base.clone()
        },
        PictureRequest {
            view: MiddleView::Loop,
            ..base.clone()
        },
        PictureRequest {
            shot: 1,
            ..base.clone()
        },
    ] {
        assert_ne!(plain, draw(&other).unwrap(), "{other:?}");
    }
    let tiny = PictureRequest {
        width: 3,
        ..base.clone()
    };
    assert!(matches!(draw(&tiny), Err(PictureError::Size { .. })));
    let none = PictureRequest { group: 7, ..base };
    assert!(matches!(draw(&none), Err(PictureError::Missing { .. })));
}

const WHITE: Color32 = Color32::WHITE;

fn mesh(corners: &[(f32, f32)], indices: &[u32], color: Color32) -> Vec<ClippedPrimitive> {
    let vertices = corners
        .iter()
        .map(|(x, y)| Vertex {
            pos: pos2(*x, *y),
            uv: pos2(0.0, 0.0),
            color,
        })
        .collect();
    vec![ClippedPrimitive {
        clip_rect: Rect::from_min_size(pos2(0.0, 0.0), vec2(16.0, 16.0)),
        primitive: Primitive::Mesh(Mesh {
            indices: indices.to_vec(),
            vertices,
            texture_id: egui::TextureId::default(),
        }),
    }]
}

fn painted(primitives: &[ClippedPrimitive]) -> Vec<u8> {
    let mut canvas = Canvas::new(16, 16, WHITE);
    canvas.paint(primitives, &Textures::default(), 1.0);
    canvas.into_rgb().chunks(3).map(|pixel| pixel[0]).collect()
}

#[test]
fn a_rectangle_of_two_triangles_covers_its_pixels_once() {
    let half = Color32::from_black_alpha(128);
    let square = [(2.0, 3.0), (10.0, 3.0), (10.0, 9.0), (2.0, 9.0)];
    // the second triangle runs the other way round: order must not matter
    for indices in [[0, 1, 2, 0, 2, 3], [0, 1, 2, 0, 3, 2]] {
        let pixels = painted(&mesh(&square, &indices, half));
        for (index, pixel) in pixels.iter().enumerate() {
            let (x, y) = (index % 16, index / 16);
            let inside = (2..10).contains(&x) && (3..9).contains(&y);
            let wanted = if inside { 127 } else { 255 };
            assert_eq!(*pixel, wanted, "at {x}, {y}");
        }
    }
}

#[test]
fn a_triangle_covers_the_pixels_whose_middle_it_holds_and_clips() {
    let black = Color32::BLACK;
    let mut primitives = mesh(&[(0.0, 0.0), (12.0, 0.0), (0.0, 12.0)], &[0, 1, 2], black);
    let inside = |x: usize, y: usize| (x as f32 + 0.5) + (y as f32 + 0.5) < 12.0;
    for (index, pixel) in painted(&primitives).iter().enumerate() {
        let (x, y) = (index % 16, index / 16);
        if x + y != 11 {
            assert_eq!(*pixel == 0, inside(x, y), "at {x}, {y}");
        }
    }
    primitives[0].clip_rect = Rect::from_min_max(pos2(0.0, 0.0), pos2(4.0, 2.0));
    let dark = painted(&primitives).iter().filter(|p| **p == 0).count();
    assert_eq!(dark, 8);
    let nonsense = mesh(
        &[(f32::NAN, 0.0), (1e30, 0.0), (0.0, -1e30)],
        &[0, 1, 2, 9],
        black,
    );
    painted(&nonsense);
}

#[test]
fn text_has_contrast_4_5_and_graphics_3() {
    assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
    assert!((contrast(Color32::from_rgb(0x76, 0x76, 0x76), Color32::WHITE) - 4.5422).abs() < 1e-3);
    for dark in [false, true] {
        let palette = Palette::of(dark);
        let grounds = [
            ("ground", palette.ground),
            ("sheet", palette.sheet),
            ("raised", palette.raised),
            ("band", palette.band),
            ("marked", palette.marked),
        ];
        for (name, ground) in grounds {
            for (what, text) in [("ink", palette.ink), ("quiet", palette.quiet)] {
                let found = contrast(text, ground);
                assert!(found >= 4.5, "{what} on {name}, dark {dark}: {found:.2}");
            }
        }
        assert!(contrast(palette.on_banner, palette.banner) >= 4.5);
        for role in Role::ALL {
            for (name, ground) in [("sheet", palette.sheet), ("band", palette.band)] {
                let found = contrast(palette.role(role), ground);
                assert!(found >= 3.0, "{role:?} on {name}, dark {dark}: {found:.2}");
            }
        }
        assert!(contrast(palette.edge, palette.sheet) >= 3.0, "dark {dark}");
        assert!(contrast(palette.edge, palette.ground) >= 3.0, "dark {dark}");
    }
}
