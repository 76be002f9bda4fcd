//! The terminal face: what was typed becomes an [`Action`]; a [`Command`] does its job here, a
//! window or a picture is for the other face, which `main` calls.
//!
//! The contract with scripts (commands, options, objects, exit codes) lives here. This room
//! measures nothing and judges nothing.

mod args;
mod budget;
mod choices;
mod compare;
mod controllers;
mod deliver;
mod do_not_exceed;
mod inspect;
mod job;
mod load;
mod options;
mod picture;
mod pinout;
mod profile;
mod ranked;
mod read;
mod record;
mod report;
mod simulate;
mod values;

pub use args::{Action, Command, parse};
pub use job::WindowJob;
pub use picture::{PictureJob, View};

pub use crate::data::text::error_chain;

/// A text that may quote a file made fit for a terminal.
fn clean(text: &str) -> String {
    crate::data::text::harmless(text, usize::MAX)
}

/// A path made fit for a terminal.
fn shown(path: &std::path::Path) -> String {
    clean(&path.to_string_lossy())
}

/// The worst of two exit codes, in the order 2, 1, 3, 0.
fn worst(a: u8, b: u8) -> u8 {
    let rank = |code: u8| match code {
        0 => 0,
        3 => 1,
        1 => 2,
        _ => 3,
    };
    if rank(b) > rank(a) { b } else { a }
}
