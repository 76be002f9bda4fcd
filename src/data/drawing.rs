//! A finished drawing: what stands where on which axes, in the units of the axes. Who draws it needs to
//! know nothing of captures.

use super::role::Role;
use super::ticks::Tick;

/// Published limits drawn as a band.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Lower edge; the same as `high` for a typical value alone.
    pub low: f64,
    /// Upper edge.
    pub high: f64,
    /// What it is.
    pub text: String,
}

/// An axis.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Axis {
    /// What it shows: `time`, `VCC (7)`.
    pub title: String,
    /// Values at its two ends; `ends.0` lies below `ends.1`.
    pub ends: (f64, f64),
    /// Labelled places.
    pub ticks: Vec<Tick>,
}

/// What a line covers at one place across: from its lowest to its highest value there. A place where it is
/// not known has NaN, and the line is broken there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Place on the axis across.
    pub at: f64,
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
}

/// A line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line {
    /// Its course, in drawing order.
    pub reaches: Vec<Reach>,
    /// Drawn broken?
    pub broken: bool,
}

/// A place marked across the whole height.
#[derive(Debug, Clone, PartialEq)]
pub struct Upright {
    /// Where on the axis across.
    pub at: f64,
    /// What stands beside it; may be empty.
    pub text: String,
    /// Drawn broken?
    pub broken: bool,
}

/// One panel of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// What stands above it: `VREF (8)`.
    pub title: String,
    /// What else stands there: the channel's name in the file, as it came.
    pub note: String,
    /// The pin that gives it its colour.
    pub role: Role,
    /// Upward axis.
    pub up: Axis,
    /// Limits on the upward axis.
    pub bands: Vec<Band>,
    /// The lines.
    pub lines: Vec<Line>,
    /// Places marked in this panel alone.
    pub uprights: Vec<Upright>,
}

/// Panels below each other on one axis across.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What it is: `Shot 1: sweep`.
    pub title: String,
    /// The same in a sentence or two, for those who do not see it.
    pub described: String,
    /// The axis across.
    pub across: Axis,
    /// Limits on the axis across.
    pub bands: Vec<Band>,
    /// Places marked through all panels.
    pub uprights: Vec<Upright>,
    /// The panels, from the top.
    pub panels: Vec<Panel>,
}
