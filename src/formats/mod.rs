//! One reader for each file format behind one probe; every decision is data.
//!
//! A reader sees a [`Source`] with positioned reads, never a path and never a whole-file buffer.
//! Nothing here measures a waveform. Start reading at [`read`], then [`probe`], then [`csv`].

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::data::{Capture, ImportPreview, Progress, Runner, Source};

pub mod csv;
mod error;
mod file_source;
mod layout;
mod limits;
pub mod probe;
mod remembered;
mod signature;
pub mod steps_file;
pub mod text;

pub use error::FormatError;
pub use file_source::FileSource;
pub use layout::{LAYOUT_KEYS, LayoutKey, entry as layout_entry};
pub use limits::Limits;
pub use remembered::{Layouts, Remembered, RememberedError};
pub use signature::signature;
pub use steps_file::StepsError;

/// What the user decided about a file, and the limits that reading keeps.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadOptions {
    /// Import decisions by key, as in `--layout KEY=VALUE`; the keys are in [`LAYOUT_KEYS`].
    pub layout: BTreeMap<String, String>,
    /// Decisions remembered for files of this layout; what is in `layout` goes before them.
    pub remembered: BTreeMap<String, String>,
    /// Name of the remembered layout that `remembered` comes from.
    pub remembered_as: String,
    /// Bounds that keep a hostile file from taking all memory.
    pub limits: Limits,
}

impl ReadOptions {
    /// Options with one more import decision.
    #[must_use]
    pub fn with(mut self, key: &str, value: &str) -> Self {
        self.layout.insert(key.to_owned(), value.to_owned());
        self
    }
}

/// Reads a source: asks all readers, takes the one that fits best, and returns its captures.
///
/// The work is spread through `runner`; `progress` counts bytes of the file.
///
/// # Errors
/// [`FormatError`], with file, line and what to do; [`FormatError::Ask`] where the file can be
/// understood in more than one way; [`FormatError::Cancelled`].
pub fn read(
    source: &Arc<dyn Source>,
    options: &ReadOptions,
    runner: &dyn Runner,
    progress: &Progress,
) -> Result<Vec<Capture>, FormatError> {
    layout::check_keys(source.name(), options)?;
    let reader = probe::choose(source.as_ref(), options)?;
    let mut captures = reader.read(source.as_ref(), options, runner, progress)?;
    for capture in &mut captures {
        layout::say_remembered(options, &mut capture.decisions);
    }
    Ok(captures)
}

/// Understands the first lines of a source without reading the rest, for the user to see and change.
///
/// Never fails: what stands in the way is in [`ImportPreview::question`] or
/// [`ImportPreview::refused`], with whatever could be understood before it.
pub fn preview(source: &Arc<dyn Source>, options: &ReadOptions) -> ImportPreview {
    let mut preview = ImportPreview {
        file: source.name().to_owned(),
        signature: signature(source.as_ref()),
        ..ImportPreview::default()
    };
    let outcome = layout::check_keys(source.name(), options)
        .and_then(|()| probe::choose(source.as_ref(), options))
        .and_then(|reader| {
            preview.format = reader.id().to_owned();
            reader.preview(source.as_ref(), options, &mut preview)
        });
    layout::say_remembered(options, &mut preview.decisions);
    match outcome {
        Ok(()) => {}
        Err(FormatError::Ask { question, .. }) => preview.question = Some(question),
        Err(error) => preview.refused = Some(error.to_string()),
    }
    preview
}
