//! What readers of text share: encodings, numbers, cells, and units in words.

pub mod cell;
pub mod encoding;
pub mod number;
pub mod unit;
