//! Profiles of the user's own: what they add, what they replace, what was skipped.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::load::{Loaded, load};
use super::{ControllerError, Inner, Library};
use crate::data::limit::OWN_PROFILE;

impl Library {
    /// This library with the profiles of one more file; a profile of an id that is already there
    /// takes its place. The sources of its values say that they come from this file.
    ///
    /// # Errors
    /// [`ControllerError::Malformed`] with `file` (as given), line and key.
    pub fn with_file(&self, file: &str, text: &str) -> Result<Library, ControllerError> {
        let mut inner = Inner::clone(&self.inner);
        inner.add(marked(load(file, text)?, file));
        Ok(Library {
            inner: Arc::new(inner),
        })
    }

    /// This library with all `*.toml` of a folder, in order of name; folders inside are left out.
    /// A file that can't be used is skipped and named in [`Library::told`] and
    /// [`Library::problems`].
    ///
    /// # Errors
    /// [`ControllerError::Unreadable`] when the folder can't be read.
    pub fn with_folder(&self, folder: &Path) -> Result<Library, ControllerError> {
        let mut inner = Inner::clone(&self.inner);
        let mut ids = Vec::new();
        for path in profile_files(folder)? {
            match own_file(&path) {
                Ok(loaded) => {
                    ids.extend(loaded.profiles.iter().map(|p| p.id.clone()));
                    inner.add(loaded);
                }
                Err(problem) => inner.problems.push(problem),
            }
        }
        inner.told.push(added(self, folder, &ids));
        let skipped = |problem| format!("Skipped, the built-in profiles stay: {problem}.");
        inner.told.extend(inner.problems.iter().map(skipped));
        Ok(Library {
            inner: Arc::new(inner),
        })
    }

    /// Files of the user's own that were skipped, each with what is wrong with it.
    pub fn problems(&self) -> &[ControllerError] {
        &self.inner.problems
    }
}

fn profile_files(folder: &Path) -> Result<Vec<PathBuf>, ControllerError> {
    let wrong = |error: std::io::Error| unreadable(folder, &error);
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(wrong)? {
        let path = entry.map_err(wrong)?.path();
        let ending = path.extension();
        if path.is_file() && ending.is_some_and(|e| e.eq_ignore_ascii_case("toml")) {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}

fn own_file(path: &Path) -> Result<Loaded, ControllerError> {
    let text = std::fs::read_to_string(path).map_err(|error| unreadable(path, &error))?;
    let name = path.file_name().unwrap_or(path.as_os_str());
    let name = name.to_string_lossy();
    Ok(marked(load(&name, &text)?, &name))
}

fn unreadable(path: &Path, error: &std::io::Error) -> ControllerError {
    ControllerError::Unreadable {
        path: path.display().to_string(),
        why: error.to_string(),
    }
}

/// The same with the file named in every profile and in the source of every value.
fn marked(mut loaded: Loaded, file: &str) -> Loaded {
    let own = |cite: &str| format!("{OWN_PROFILE} {file}: {cite}");
    for profile in &mut loaded.profiles {
        profile.own_file = Some(file.to_owned());
        for limit in profile.values.values_mut() {
            limit.source = own(&limit.source);
        }
    }
    for source in &mut loaded.sources {
        source.cite = own(&source.cite);
    }
    loaded
}

/// The sentence on the profiles of a folder: which are new, and which take a known one's place.
fn added(before: &Library, folder: &Path, ids: &[String]) -> String {
    let known = |id: &String| before.profiles().iter().any(|p| p.id == *id);
    let each: Vec<String> = ids
        .iter()
        .map(|id| match known(id) {
            true => format!("{id} (in place of the built-in one)"),
            false => format!("{id} (new)"),
        })
        .collect();
    let list = match each.is_empty() {
        true => "none".to_owned(),
        false => each.join(", "),
    };
    format!("Own profiles from {}: {list}.", folder.display())
}
