//! The record of a job on disk: what was wrong, what was changed, before and after.
//!
//! A job is a folder with one text file, `job.toml`, and copies of its captures and pictures. This
//! room owns the only files that firstpulse writes on its own account. It knows no clock: dates come
//! from outside. Start reading at [`text`] (record and text), then [`Store`] (saves, lock),
//! [`load()`] (what is inspected), [`gates`] (what has to be entered first).

mod attach;
mod built_in;
mod disk;
mod draft;
mod error;
mod form;
pub mod gates;
mod hash;
mod history;
mod load;
mod lock;
mod one;
mod photo;
mod place;
mod problem;
mod recent;
mod store;
pub mod text;

pub use built_in::demo;
pub use disk::{Disk, RealDisk};
pub use error::JobError;
pub use history::History;
pub use load::{Loaded, Told, load, load_from};
pub use lock::{Holder, LOCK};
pub use photo::photo;
pub use problem::{Problem, ProblemKind, problems};
pub use recent::{Listed, jobs};
pub use store::{BACKUP, Opened, RECORD, Store, is_job, read, read_backup};
