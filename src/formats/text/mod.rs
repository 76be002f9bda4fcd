//! What readers of text share: encodings, numbers, cells, and units in words.

pub mod cell;
pub mod cell_number;
pub mod clock;
pub mod encoding;
pub mod number;
pub mod odd;
pub mod source;
pub mod unit;
