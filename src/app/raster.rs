//! Triangles to pixels on the processor: what a graphics card would do with egui's meshes, so that
//! a picture needs neither display nor graphics card and comes out the same everywhere.
//!
//! Colours are premultiplied and blended as they are stored, without linearising, as egui defines
//! it. Corners lie on a grid of 1/256 pixel, so that two triangles that share an edge neither
//! leave a gap nor paint a pixel twice.

use std::collections::HashMap;

use egui::epaint::textures::TexturesDelta;
use egui::epaint::{ClippedPrimitive, ColorImage, ImageData, Mesh, Primitive, Vertex};
use egui::{Color32, Rect, TextureId};

/// Textures that meshes refer to, kept up to date by the changes that each frame brings.
#[derive(Default)]
pub struct Textures {
    images: HashMap<TextureId, ColorImage>,
}

impl Textures {
    /// Applies the changes of one frame. A patch for a texture that is not there, or that reaches
    /// past its edge, is left out as far as it does not fit.
    pub fn apply(&mut self, delta: &TexturesDelta) {
        let mut changes: Vec<_> = delta.set.iter().collect();
        changes.sort_by_key(|(id, _)| format!("{id:?}"));
        for (id, deltas) in changes {
            for delta in deltas {
                let ImageData::Color(image) = &delta.image;
                match delta.pos {
                    None => {
                        self.images.insert(*id, ColorImage::clone(image));
                    }
                    Some(at) => self.patch(*id, at, image),
                }
            }
        }
    }

    fn patch(&mut self, id: TextureId, at: [usize; 2], patch: &ColorImage) {
        let Some(image) = self.images.get_mut(&id) else {
            return;
        };
        let [width, height] = image.size;
        let columns = patch.size[0].min(width.saturating_sub(at[0]));
        let rows = patch.size[1].min(height.saturating_sub(at[1]));
        for row in 0..rows {
            let from = row * patch.size[0];
            let to = (at[1] + row) * width + at[0];
            image.pixels[to..to + columns].copy_from_slice(&patch.pixels[from..from + columns]);
        }
    }
}

/// Pixels with a known background.
pub struct Canvas {
    width: usize,
    height: usize,
    pixels: Vec<[f32; 4]>,
}

impl Canvas {
    /// A canvas filled with an opaque colour.
    pub fn new(width: usize, height: usize, ground: Color32) -> Self {
        Self {
            width,
            height,
            pixels: vec![unit(ground); width * height],
        }
    }

    /// Paints meshes in their order, `pixels_per_point` pixels a point. Callbacks that ask for a
    /// graphics card are left out; this window has none.
    pub fn paint(
        &mut self,
        primitives: &[ClippedPrimitive],
        textures: &Textures,
        pixels_per_point: f32,
    ) {
        for clipped in primitives {
            if let Primitive::Mesh(mesh) = &clipped.primitive {
                let clip = self.clip(clipped.clip_rect, pixels_per_point);
                let texture = textures.images.get(&mesh.texture_id);
                self.mesh(mesh, texture, clip, pixels_per_point);
            }
        }
    }

    /// Red, green, blue for each pixel, row by row.
    pub fn into_rgb(self) -> Vec<u8> {
        let byte = |value: f32| (value.clamp(0.0, 1.0) * 255.0).round() as u8;
        self.pixels
            .iter()
            .flat_map(|pixel| [byte(pixel[0]), byte(pixel[1]), byte(pixel[2])])
            .collect()
    }

    fn clip(&self, rect: Rect, pixels_per_point: f32) -> [usize; 4] {
        let edge = |value: f32, most: usize| {
            let pixel = (value * pixels_per_point).round();
            if pixel.is_nan() || pixel <= 0.0 {
                0
            } else {
                (pixel as usize).min(most)
            }
        };
        [
            edge(rect.min.x, self.width),
            edge(rect.min.y, self.height),
            edge(rect.max.x, self.width),
            edge(rect.max.y, self.height),
        ]
    }

    fn mesh(&mut self, mesh: &Mesh, texture: Option<&ColorImage>, clip: [usize; 4], scale: f32) {
        for corners in mesh.indices.chunks_exact(3) {
            let corner = |k: usize| mesh.vertices.get(corners[k] as usize);
            if let (Some(a), Some(b), Some(c)) = (corner(0), corner(1), corner(2)) {
                self.triangle([a, b, c], texture, clip, scale);
            }
        }
    }

    fn triangle(
        &mut self,
        mut corners: [&Vertex; 3],
        texture: Option<&ColorImage>,
        clip: [usize; 4],
        scale: f32,
    ) {
        let mut at = corners.map(|vertex| on_grid(vertex, scale));
        let mut area = edge(at[0], at[1], at[2]);
        if area == 0 {
            return;
        }
        if area < 0 {
            corners.swap(1, 2);
            at.swap(1, 2);
            area = -area;
        }
        let colors = corners.map(|vertex| unit(vertex.color));
        let bounds = bounds(&at, clip);
        for y in bounds[1]..bounds[3] {
            for x in bounds[0]..bounds[2] {
                let pixel = [x as i64 * GRID + GRID / 2, y as i64 * GRID + GRID / 2];
                let weights = [
                    edge(at[1], at[2], pixel),
                    edge(at[2], at[0], pixel),
                    edge(at[0], at[1], pixel),
                ];
                let inside = (0..3).all(|k| {
                    weights[k] > 0
                        || (weights[k] == 0 && owns_edge(at[(k + 1) % 3], at[(k + 2) % 3]))
                });
                if !inside {
                    continue;
                }
                let share = weights.map(|weight| weight as f32 / area as f32);
                let mut color = mixed(&colors, share);
                if let Some(image) = texture {
                    let u = mix(corners.map(|vertex| vertex.uv.x), share);
                    let v = mix(corners.map(|vertex| vertex.uv.y), share);
                    let texel = sample(image, u, v);
                    for (part, factor) in color.iter_mut().zip(texel) {
                        *part *= factor;
                    }
                }
                self.blend(x, y, color);
            }
        }
    }

    fn blend(&mut self, x: usize, y: usize, color: [f32; 4]) {
        if let Some(pixel) = self.pixels.get_mut(y * self.width + x) {
            for (below, above) in pixel.iter_mut().zip(color) {
                *below = above + *below * (1.0 - color[3]);
            }
        }
    }
}

/// Steps of the corner grid in a pixel.
const GRID: i64 = 256;

fn on_grid(vertex: &Vertex, scale: f32) -> [i64; 2] {
    // far-away corners are held, so that products stay within range
    let snap = |value: f32| {
        let held = f64::from(value * scale).clamp(-1e6, 1e6);
        (held * GRID as f64).round() as i64
    };
    [snap(vertex.pos.x), snap(vertex.pos.y)]
}

fn edge(a: [i64; 2], b: [i64; 2], p: [i64; 2]) -> i64 {
    (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
}

/// Does a triangle own the pixels whose middle lies just on this edge? Of two neighbours, which
/// walk their shared edge in opposite ways, just one does.
fn owns_edge(from: [i64; 2], to: [i64; 2]) -> bool {
    to[1] < from[1] || (to[1] == from[1] && to[0] > from[0])
}

fn bounds(at: &[[i64; 2]; 3], clip: [usize; 4]) -> [usize; 4] {
    let low = |axis: usize| at.iter().map(|p| p[axis]).min().unwrap_or(0);
    let high = |axis: usize| at.iter().map(|p| p[axis]).max().unwrap_or(0);
    let floor = |value: i64| usize::try_from(value.div_euclid(GRID)).unwrap_or(0);
    [
        floor(low(0)).max(clip[0]),
        floor(low(1)).max(clip[1]),
        (floor(high(0)) + 1).min(clip[2]),
        (floor(high(1)) + 1).min(clip[3]),
    ]
}

fn unit(color: Color32) -> [f32; 4] {
    color.to_array().map(|byte| f32::from(byte) / 255.0)
}

fn mix(values: [f32; 3], share: [f32; 3]) -> f32 {
    values[0] * share[0] + values[1] * share[1] + values[2] * share[2]
}

fn mixed(colors: &[[f32; 4]; 3], share: [f32; 3]) -> [f32; 4] {
    std::array::from_fn(|part| mix(colors.map(|color| color[part]), share))
}

/// The texture at `u`, `v` (0 to 1), between its four nearest texels.
fn sample(image: &ColorImage, u: f32, v: f32) -> [f32; 4] {
    let [width, height] = image.size;
    let place = |share: f32, size: usize| {
        let at = (share * size as f32 - 0.5).clamp(0.0, size.saturating_sub(1) as f32);
        let low = at.floor() as usize;
        (low, (low + 1).min(size.saturating_sub(1)), at - at.floor())
    };
    let (x0, x1, fx) = place(u, width);
    let (y0, y1, fy) = place(v, height);
    let texel = |x: usize, y: usize| {
        let color = image.pixels.get(y * width + x);
        color.map_or([1.0; 4], |color| unit(*color))
    };
    let (a, b, c, d) = (texel(x0, y0), texel(x1, y0), texel(x0, y1), texel(x1, y1));
    std::array::from_fn(|part| {
        let upper = a[part] + fx * (b[part] - a[part]);
        let lower = c[part] + fx * (d[part] - c[part]);
        upper + fy * (lower - upper)
    })
}
