//! A finished drawing as SVG (SVG 1.1, attributes alone, no style sheet), for a page or a file of its own.

mod course;
mod look;
mod words;

use course::course;
pub use look::Look;
use look::hex;
use words::{Words, put};

use super::escape::escaped;
use crate::data::drawing::{Drawing, Panel};
use crate::data::text::harmless;
use crate::data::{drawing, role_colours};

/// Size and looks of a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Picture {
    /// Width, in pixels of CSS at scale 1.
    pub width: f64,
    /// Height in the same; the panels share it.
    pub height: f64,
    /// For a light or a dark ground.
    pub look: Look,
}

/// Room left of the plot for the labels of its upward axis.
const LEFT: f64 = 64.0;
/// Room right of the plot.
const RIGHT: f64 = 14.0;
/// Room above each panel for its title.
const ABOVE: f64 = 20.0;
/// Room below the last panel for the labels of the axis across.
const BELOW: f64 = 34.0;
/// Longest name shown in a picture.
const NAME: usize = 60;

/// Where values stand.
struct Place {
    left: f64,
    top: f64,
    width: f64,
    height: f64,
    across: (f64, f64),
    up: (f64, f64),
}

impl Place {
    fn x(&self, value: f64) -> f64 {
        let share = (value - self.across.0) / (self.across.1 - self.across.0);
        self.left + self.width * share.clamp(0.0, 1.0)
    }

    fn y(&self, value: f64) -> f64 {
        let share = (value - self.up.0) / (self.up.1 - self.up.0);
        self.top + self.height * (1.0 - share.clamp(0.0, 1.0))
    }
}

/// The drawing as an `svg` element with title and description. `id` makes the ids in it different from
/// those of other pictures on the page: letters, digits and hyphens.
pub fn svg(drawn: &Drawing, picture: &Picture, id: &str) -> String {
    let (width, height) = (picture.width.max(200.0), picture.height.max(120.0));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" \
role=\"img\" aria-labelledby=\"{id}-t {id}-d\" font-family=\"sans-serif\" font-size=\"11\">\n\
<title id=\"{id}-t\">{}</title>\n<desc id=\"{id}-d\">{}</desc>\n",
        escaped(&drawn.title),
        escaped(&drawn.described)
    );
    let look = picture.look;
    rect(&mut out, (0.0, 0.0, width, height), look.sheet());
    let count = drawn.panels.len().max(1) as f64;
    let each = ((height - BELOW) / count).max(ABOVE + 10.0);
    for (number, panel) in drawn.panels.iter().enumerate() {
        let place = Place {
            left: LEFT,
            top: number as f64 * each + ABOVE,
            width: width - LEFT - RIGHT,
            height: each - ABOVE - 4.0,
            across: drawn.across.ends,
            up: panel.up.ends,
        };
        of_panel(&mut out, drawn, panel, &place, look);
        if number + 1 == drawn.panels.len() {
            axis_across(&mut out, &drawn.across, &place, look);
        }
    }
    out.push_str("</svg>\n");
    out
}

fn of_panel(out: &mut String, drawn: &Drawing, panel: &Panel, place: &Place, look: Look) {
    let hue = look.hue(role_colours::hues(panel.role));
    let mut words = Words::new(place.left, place.top, place.width, place.height);
    heading(out, panel, place, look, hue);
    let plot = (place.left, place.top, place.width, place.height);
    bands(out, drawn, panel, place, look);
    for tick in &panel.up.ticks {
        let y = place.y(tick.at);
        line(
            out,
            (place.left, y, place.left + place.width, y),
            look.rule(),
            "",
        );
        text(
            out,
            (place.left - 5.0, y + 3.8),
            "end",
            look.quiet(),
            &tick.text,
        );
    }
    for tick in &drawn.across.ticks {
        let x = place.x(tick.at);
        line(
            out,
            (x, place.top, x, place.top + place.height),
            look.rule(),
            "",
        );
    }
    let (left, top, width, height) = plot;
    out.push_str(&format!(
        "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"none\" stroke=\"{}\"/>\n",
        hex(look.edge())
    ));
    for upright in drawn.uprights.iter().chain(&panel.uprights) {
        let x = place.x(upright.at);
        let dashes = if upright.broken { "2 3" } else { "" };
        line(
            out,
            (x, place.top, x, place.top + place.height),
            look.ink(),
            dashes,
        );
    }
    for drawn_line in &panel.lines {
        let path = course(&drawn_line.reaches, |v| place.x(v), |v| place.y(v));
        if !path.is_empty() {
            let dashes = if drawn_line.broken {
                " stroke-dasharray=\"5 3\""
            } else {
                ""
            };
            out.push_str(&format!(
                "<path d=\"{path}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.3\" stroke-linejoin=\"round\"{dashes}/>\n",
                hex(hue)
            ));
        }
    }
    named(out, drawn, panel, place, (&mut words, look));
}

/// Title with a swatch of the role's colour, and the channel's name.
fn heading(out: &mut String, panel: &Panel, place: &Place, look: Look, hue: u32) {
    let y = place.top - 6.0;
    rect(out, (place.left, y - 7.0, 14.0, 5.0), hue);
    out.push_str(&format!(
        "<text x=\"{:.1}\" y=\"{y:.1}\" fill=\"{}\"><tspan font-weight=\"bold\">{}</tspan> <tspan fill=\"{}\">{}</tspan></text>\n",
        place.left + 20.0,
        hex(look.ink()),
        escaped(&panel.title),
        hex(look.quiet()),
        escaped(&harmless(&panel.note, NAME)),
    ));
}

fn bands(out: &mut String, drawn: &Drawing, panel: &Panel, place: &Place, look: Look) {
    for band in &drawn.bands {
        let (left, right) = (place.x(band.low), place.x(band.high));
        rect(
            out,
            (left, place.top, (right - left).max(1.0), place.height),
            look.band(),
        );
    }
    for band in &panel.bands {
        let (top, bottom) = (place.y(band.high), place.y(band.low));
        rect(
            out,
            (place.left, top, place.width, (bottom - top).max(1.0)),
            look.band(),
        );
    }
}

/// What bands and uprights are, where there is room.
fn named(
    out: &mut String,
    drawn: &Drawing,
    panel: &Panel,
    place: &Place,
    (words, look): (&mut Words, Look),
) {
    let bottom = place.top + place.height;
    for band in &drawn.bands {
        let x = 0.5 * (place.x(band.low) + place.x(band.high));
        let rows = [bottom - 6.0, bottom - 20.0, bottom - 34.0];
        put(out, words, rows.map(|y| (x, y)), (&band.text, look));
    }
    for band in &panel.bands {
        let right = place.left + place.width - 0.5 * words.width_of(&band.text) - 6.0;
        let middle = 0.5 * (place.y(band.low) + place.y(band.high)) + 3.8;
        let left = place.left + 0.5 * words.width_of(&band.text) + 6.0;
        let places = [
            (right, middle),
            (left, middle),
            (right, middle - 13.0),
            (right, middle + 13.0),
        ];
        put(out, words, places, (&band.text, look));
    }
    let top = place.top + 11.0;
    for upright in &drawn.uprights {
        let half = 0.5 * words.width_of(&upright.text) + 4.0;
        let x = place.x(upright.at);
        put(
            out,
            words,
            [(x + half, top), (x - half, top)],
            (&upright.text, look),
        );
    }
    let middle = place.top + 0.5 * place.height;
    for upright in &panel.uprights {
        let half = 0.5 * words.width_of(&upright.text) + 5.0;
        let x = place.x(upright.at);
        let rows = [0.0, 15.0, -15.0, 30.0, -30.0, 45.0, -45.0];
        let places = rows.into_iter().flat_map(|row| {
            let near = if x > place.left + 0.5 * place.width {
                -half
            } else {
                half
            };
            [(x + near, middle + row), (x - near, middle + row)]
        });
        put(out, words, places, (&upright.text, look));
    }
}

fn axis_across(out: &mut String, axis: &drawing::Axis, place: &Place, look: Look) {
    let y = place.top + place.height;
    for tick in &axis.ticks {
        let x = place.x(tick.at);
        line(out, (x, y, x, y + 4.0), look.edge(), "");
        text(out, (x, y + 15.0), "middle", look.quiet(), &tick.text);
    }
    let middle = place.left + 0.5 * place.width;
    text(out, (middle, y + 28.0), "middle", look.ink(), &axis.title);
}

fn rect(out: &mut String, (x, y, width, height): (f64, f64, f64, f64), fill: u32) {
    out.push_str(&format!(
        "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{}\"/>\n",
        hex(fill)
    ));
}

fn line(out: &mut String, (x1, y1, x2, y2): (f64, f64, f64, f64), stroke: u32, dashes: &str) {
    let dashes = if dashes.is_empty() {
        String::new()
    } else {
        format!(" stroke-dasharray=\"{dashes}\"")
    };
    out.push_str(&format!(
        "<line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\" stroke=\"{}\"{dashes}/>\n",
        hex(stroke)
    ));
}

fn text(out: &mut String, (x, y): (f64, f64), anchor: &str, fill: u32, words: &str) {
    out.push_str(&format!(
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" fill=\"{}\">{}</text>\n",
        hex(fill),
        escaped(words)
    ));
}

#[cfg(test)]
mod tests;
