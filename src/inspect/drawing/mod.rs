//! Finished drawings of a run, for pages and pictures: the lanes of a shot, and the threshold loop.

mod lanes;
mod over_vcc;

pub use lanes::lanes;
pub use over_vcc::over_vcc;
