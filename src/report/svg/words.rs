//! Words in a picture: none is written over another.

use super::look::{Look, hex};
use crate::report::escape::escaped;

/// Height of a line of words, and what a character takes on average, at the size of the picture's text.
const LINE: f64 = 13.0;
const LETTER: f64 = 5.9;

/// Words that stand in a panel already.
pub(super) struct Words {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
    taken: Vec<(f64, f64, f64, f64)>,
}

impl Words {
    pub(super) fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Self {
            left,
            top,
            right: left + width,
            bottom: top + height,
            taken: Vec::new(),
        }
    }

    /// About the width of a text.
    pub(super) fn width_of(&self, text: &str) -> f64 {
        LETTER * text.chars().count() as f64
    }

    /// The place of a text whose middle and base line stand there, kept within the panel; `None` where
    /// other words stand there already or it is wider than the panel.
    fn take(&mut self, (x, y): (f64, f64), text: &str) -> Option<(f64, f64)> {
        let half = 0.5 * self.width_of(text) + 2.0;
        if 2.0 * half > self.right - self.left || self.bottom - self.top < LINE {
            return None;
        }
        let x = x.clamp(self.left + half, self.right - half);
        let y = y.clamp(self.top + LINE - 2.0, self.bottom - 3.0);
        let own = (x - half, y - LINE + 2.0, x + half, y + 2.0);
        let over = |other: &(f64, f64, f64, f64)| {
            own.0 < other.2 && other.0 < own.2 && own.1 < other.3 && other.1 < own.3
        };
        if self.taken.iter().any(over) {
            return None;
        }
        self.taken.push(own);
        Some((x, y))
    }
}

/// Writes a text at the first of these places where it has room, on a ground of its own; nowhere if it has
/// none.
pub(super) fn put(
    out: &mut String,
    words: &mut Words,
    places: impl IntoIterator<Item = (f64, f64)>,
    (text, look): (&str, Look),
) {
    if text.is_empty() {
        return;
    }
    let found = places.into_iter().find_map(|place| words.take(place, text));
    if let Some((x, y)) = found {
        let width = words.width_of(text) + 4.0;
        out.push_str(&format!(
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{width:.1}\" height=\"{LINE}\" fill=\"{}\" fill-opacity=\"0.85\"/>\n\
<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\" fill=\"{}\">{}</text>\n",
            x - 0.5 * width,
            y - LINE + 3.0,
            hex(look.sheet()),
            hex(look.ink()),
            escaped(text)
        ));
    }
}
