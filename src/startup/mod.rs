//! The behavioural model of a start-up, what the start-up parts allow, and captures written by it.
//!
//! A unit is a set of part values ([`unit::UnitParts`]), a fault a change of them ([`faults`]), a
//! run an event-driven, piecewise exponential [`timeline::Timeline`] made by [`mains`] or
//! [`injected`]. [`record`] turns that into what a scope would have written, [`shots`] into the
//! captures of a whole visit. [`charge`] and [`holdup`] hold the closed forms by themselves.
//!
//! This room never reads a file, a clock or a capture, and never judges.

pub mod budget;
pub mod charge;
pub mod curve;
mod demo;
mod engine;
mod error;
pub mod faults;
pub mod holdup;
pub mod injected;
pub mod mains;
pub mod noise;
pub mod ramp;
pub mod record;
pub mod shots;
pub mod timeline;
mod truth;
pub mod unit;

pub use error::SimulateError;
