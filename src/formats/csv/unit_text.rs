//! Units as a property tells them: `V`, `Volts (V)`, `"mV"`.

use crate::formats::text::cell;
use crate::formats::text::unit::{self, Scaled};

/// The unit that a property's value names.
pub(super) fn parse(text: &str) -> Option<Scaled> {
    let text = cell::bare(text);
    unit::parse(text).or_else(|| unit::split_name(text).unit)
}
