//! Controller profiles from `assets/controllers/`, lookup by marking, timing formulas.
//!
//! A profile is what one maker publishes about one part or grade, each number with its condition,
//! source and status. [`Library::find`] leads from a marking to the candidates,
//! [`Library::expected`] from candidates to a limit, [`timing`] from RT and CT to the oscillator,
//! [`ceilings`] to what a bench supply must not exceed.
//! Nothing here judges a measured value.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, OnceLock};

use crate::data::{ControllerChoice, Limit};

mod built_in;
mod ceilings;
mod choice;
mod disagreements;
mod error;
mod find;
mod keys;
mod load;
mod rank;
mod raw;
mod spelling;
pub mod timing;
pub mod usual;
mod widest;

pub use ceilings::ceilings;
pub use disagreements::Disagreement;
pub use error::ControllerError;
pub use find::{Found, MatchKind};
pub use keys::{KEYS, Key, key_of};
pub use load::SourceDocument;
pub use rank::Ranked;

/// One controller as published by one maker.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Stable id.
    pub id: String,
    /// Title shown.
    pub title: String,
    /// Family, for instance `bipolar 384x`.
    pub family: String,
    /// Maker.
    pub maker: String,
    /// Part names that the document covers.
    pub parts: Vec<String>,
    /// Further markings of the same part (package suffix, top mark).
    pub markings: Vec<String>,
    /// Other makers' parts of the same class.
    pub same_class: Vec<String>,
    /// Pin number to pin name.
    pub pins: BTreeMap<u8, String>,
    /// Oscillator cycles for each OUT cycle: 1 or 2.
    pub divide: u32,
    /// Published values by key, in SI base units.
    pub values: BTreeMap<String, Limit>,
    /// Notes of the profile.
    pub notes: String,
}

/// The profiles at hand. Copies share their content.
#[derive(Debug, Clone, Default)]
pub struct Library {
    inner: Arc<Inner>,
}

#[derive(Debug, Clone, Default)]
struct Inner {
    profiles: Vec<Profile>,
    sources: Vec<SourceDocument>,
    notes: BTreeMap<(String, String), String>,
    disagreements: Vec<Disagreement>,
    told: Vec<String>,
}

impl Library {
    /// The profiles that come with the program; read once.
    ///
    /// # Errors
    /// When a built-in profile is malformed, which a test excludes.
    pub fn built_in() -> Result<Library, ControllerError> {
        static BUILT_IN: OnceLock<Result<Library, ControllerError>> = OnceLock::new();
        BUILT_IN.get_or_init(Library::read_built_in).clone()
    }

    fn read_built_in() -> Result<Library, ControllerError> {
        let mut inner = Inner {
            disagreements: disagreements::built_in()?,
            ..Inner::default()
        };
        for (file, text) in built_in::PROFILE_FILES {
            inner.add(file, text)?;
        }
        Ok(Library {
            inner: Arc::new(inner),
        })
    }

    /// Names of the built-in profile files.
    pub fn built_in_files() -> impl Iterator<Item = &'static str> {
        built_in::PROFILE_FILES.iter().map(|(name, _)| *name)
    }

    /// A commented profile to copy from.
    pub fn template() -> &'static str {
        built_in::TEMPLATE
    }

    /// This library with the profiles of one more file; a profile of an id that is already there
    /// takes its place.
    ///
    /// # Errors
    /// [`ControllerError::Malformed`] with `file` (as given), line and key.
    pub fn with_file(&self, file: &str, text: &str) -> Result<Library, ControllerError> {
        let mut inner = Inner::clone(&self.inner);
        inner.add(file, text)?;
        Ok(Library {
            inner: Arc::new(inner),
        })
    }

    /// This library with all `*.toml` of a folder, in order of name; folders inside are left out.
    ///
    /// # Errors
    /// [`ControllerError::Unreadable`] when the folder or a file can't be read or is not UTF-8,
    /// else as [`Library::with_file`].
    pub fn with_folder(&self, folder: &Path) -> Result<Library, ControllerError> {
        let unreadable = |path: &Path, error: &std::io::Error| ControllerError::Unreadable {
            path: path.display().to_string(),
            why: error.to_string(),
        };
        let wrong = |error: std::io::Error| unreadable(folder, &error);
        let mut paths = Vec::new();
        for entry in std::fs::read_dir(folder).map_err(wrong)? {
            let path = entry.map_err(wrong)?.path();
            if path.is_file()
                && path
                    .extension()
                    .is_some_and(|e| e.eq_ignore_ascii_case("toml"))
            {
                paths.push(path);
            }
        }
        paths.sort();
        let mut library = self.clone();
        let mut ids = Vec::new();
        for path in paths {
            let text = std::fs::read_to_string(&path).map_err(|error| unreadable(&path, &error))?;
            let name = path
                .file_name()
                .unwrap_or(path.as_os_str())
                .to_string_lossy();
            ids.extend(load::load(&name, &text)?.profiles.into_iter().map(|p| p.id));
            library = library.with_file(&name, &text)?;
        }
        let mut inner = Inner::clone(&library.inner);
        inner.told.push(own_profiles(self, folder, &ids));
        Ok(Library {
            inner: Arc::new(inner),
        })
    }

    /// What was added to the built-in profiles, in words, a sentence for each folder: no result
    /// may rest on own profiles without saying so. Empty for the built-in library.
    pub fn told(&self) -> &[String] {
        &self.inner.told
    }

    /// All profiles, in order of id.
    pub fn profiles(&self) -> &[Profile] {
        &self.inner.profiles
    }

    /// The documents that the profiles cite, in order of their short form.
    pub fn sources(&self) -> &[SourceDocument] {
        &self.inner.sources
    }

    /// The note on one value of a profile, if there is one.
    pub fn note(&self, profile_id: &str, key: &str) -> Option<&str> {
        let entry = (profile_id.to_owned(), key.to_owned());
        self.inner.notes.get(&entry).map(String::as_str)
    }

    /// Where makers, or two pages of one maker, contradict each other.
    pub fn disagreements(&self) -> &[Disagreement] {
        &self.inner.disagreements
    }

    /// The profiles that a marking may stand for, how they were found, and what to know about it.
    ///
    /// Case, spaces, hyphens and package suffixes are set aside. Tried in this order: id of a
    /// profile, part or marking, other makers' parts of the same class, class number. A bare class
    /// number (`3844`, `3844B`, `x844`) gives all of that class. A maker in brackets, as in
    /// `UC3844 (TI)`, narrows the choice.
    ///
    /// # Errors
    /// [`ControllerError::Unknown`] with the nearest markings (at most two changed letters).
    pub fn find(&self, marking: &str) -> Result<Found<'_>, ControllerError> {
        find::find(self, marking)
    }

    /// The profiles that a marking may stand for (spelling, case, package suffix set aside).
    ///
    /// # Errors
    /// [`ControllerError::Unknown`] with the nearest markings.
    pub fn lookup(&self, marking: &str) -> Result<Vec<&Profile>, ControllerError> {
        self.find(marking).map(|found| found.profiles)
    }

    /// A published value, the widest over the candidates that publish it: lowest minimum, highest
    /// maximum. `None` when none of them does.
    ///
    /// Candidates that publish no limits are named in the condition. The typical value stays where
    /// all that publish one agree. The status is the weaker of those that set minimum and maximum;
    /// among equal values the best known counts.
    pub fn widest(candidates: &[&Profile], key: &str) -> Option<Limit> {
        widest::published(candidates, key)
    }

    /// What a quantity is judged by: as [`Library::widest`], and two keys that no document has.
    /// `osc_to_out_divide` is the divide ratio ±2 % for counting, where all candidates agree;
    /// `vcc_hysteresis` is start minus stop, with the limits that follow from theirs.
    ///
    /// The oscillator frequency depends on RT and CT: [`timing::expected_frequency`].
    pub fn expected(candidates: &[&Profile], key: &str) -> Option<Limit> {
        widest::expected(candidates, key)
    }

    /// Ranks all profiles by how probable this start and stop (volts, standard uncertainty `u_v`)
    /// are for them: the best first, the shares adding up to 1.
    ///
    /// Where only a typical value is published, ±10 % is assumed and said. Empty when nothing
    /// fits, and for values that are not finite.
    pub fn rank(&self, start_v: f64, stop_v: f64, u_v: f64) -> Vec<Ranked<'_>> {
        rank::rank(self.profiles(), start_v, stop_v, u_v)
    }

    /// What a marking stands for, ready for an inspection.
    ///
    /// # Errors
    /// As [`Library::lookup`].
    pub fn choice(&self, marking: &str) -> Result<ControllerChoice, ControllerError> {
        self.find(marking).map(|found| choice::of(&found, marking))
    }
}

/// The sentence on the profiles of a folder: which are new, and which take a known one's place.
fn own_profiles(before: &Library, folder: &Path, ids: &[String]) -> String {
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

impl Inner {
    fn add(&mut self, file: &str, text: &str) -> Result<(), ControllerError> {
        let loaded = load::load(file, text)?;
        for profile in loaded.profiles {
            self.notes.retain(|(id, _), _| *id != profile.id);
            self.profiles.retain(|known| known.id != profile.id);
            self.profiles.push(profile);
        }
        self.notes.extend(loaded.notes);
        self.profiles.sort_by(|a, b| a.id.cmp(&b.id));
        for source in loaded.sources {
            if !self.sources.contains(&source) {
                self.sources.push(source);
            }
        }
        self.sources.sort_by(|a, b| a.cite.cmp(&b.cite));
        Ok(())
    }
}
