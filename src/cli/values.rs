//! Values as the trade types them; the reading itself is shared with the window.

pub(super) use crate::data::typed::{PARTS, READINGS, spread, value};
