//! Limits, stages, suspects, the three lines, cautions: what measured values mean.
//!
//! Never reads a sample. Start reading at [`judge()`], then [`stages`].

pub mod cautions;
pub mod compare;
pub mod judge;
pub mod lines;
pub mod shot_list;
pub mod soft;
pub mod stages;
pub mod step_currents;
pub mod steps;
pub mod suspects;
pub mod view;

pub use judge::judge;
pub use view::View;
