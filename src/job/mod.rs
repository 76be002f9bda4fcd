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
mod inspected;
mod load;
mod lock;
mod one;
mod out;
mod photo;
mod place;
mod problem;
mod recent;
mod store;
pub mod text;

pub use built_in::{built_in_record, demo};
pub use disk::{Disk, RealDisk};
pub use error::JobError;
pub use history::History;
pub use inspected::Inspected;
pub use load::{Loaded, Told, has_something, load, load_from};
pub use lock::{Holder, LOCK};
pub use out::{OutError, may_write, write_whole};
pub use photo::{Photo, photos};
pub use problem::{Problem, ProblemKind, problems};
pub use recent::{Listed, jobs};
pub use store::{BACKUP, Opened, RECORD, Store, files_of, is_job, read, read_backup};
