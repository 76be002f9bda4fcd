//! Facts that cost a pass over the samples, and the level, pulse, ramp and line algorithms on them.
//!
//! Never knows a role, a controller or a probe factor: everything here is about raw numbers, so
//! that facts stay true whatever the user changes. Start reading at [`facts::of_channel`].

pub mod bandwidth;
pub mod correlate;
pub mod exponential;
pub mod facts;
pub mod fold;
pub mod histogram;
mod kept;
pub mod levels;
pub mod line;
pub mod noise;
pub mod overlay;
mod parabola;
pub mod period;
pub mod pulses;
pub mod pyramid;
pub mod repeated;
pub mod resolution;
pub mod scatter;
pub mod shared_tone;
pub mod stats;
pub mod tone;
pub mod transitions;
pub mod turning;

pub use facts::of_channel;
pub use line::Line;
pub use period::Period;
pub use transitions::{
    Aberrations, MeanEdge, Transition, aberrations, mean_edge, transition, transition_of,
};
