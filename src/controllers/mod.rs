//! Controller profiles from `assets/controllers/`, lookup by marking, timing formulas.
//!
//! A profile is what one maker publishes about one part or grade, each number with its condition,
//! source and status. [`Library::find`] leads from a marking to the candidates,
//! [`Library::expected`] from candidates to a limit, [`timing`] from RT and CT to the oscillator,
//! [`ceilings`] to what a bench supply must not exceed.
//! Nothing here judges a measured value.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::data::{ControllerChoice, ControllerFits, Limit};

mod built_in;
mod ceilings;
mod choice;
mod disagreements;
mod error;
mod find;
mod keys;
mod load;
mod oscillator;
mod own;
mod pins;
mod rank;
mod raw;
mod same_class;
mod spelling;
pub mod timing;
pub mod usual;
mod widest;

pub use ceilings::{ceiling_figures, ceilings};
pub use disagreements::{Disagreement, Gap};
pub use error::ControllerError;
pub use find::{Found, MatchKind};
pub use keys::{KEYS, Key, key_of};
pub use load::SourceDocument;
pub use oscillator::{TimingKind, TimingModel};
pub use pins::{PinSheet, pin_sheet};
pub use rank::{RANKED_BY, Ranked, RankedBy, Seen};

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
    /// The package that `pins` belong to; empty where all packages have the same.
    pub package: String,
    /// Pin number to pin name; empty where they were not read.
    pub pins: BTreeMap<u8, String>,
    /// Pins of other packages, by package.
    pub packages: BTreeMap<String, BTreeMap<u8, String>>,
    /// Oscillator cycles for each OUT cycle: 1 or 2; `None` where a pin of the part sets it.
    pub divide: Option<u32>,
    /// What sets the frequency, as far as it is known.
    pub timing: Option<TimingModel>,
    /// Published values by key, in SI base units.
    pub values: BTreeMap<String, Limit>,
    /// Notes of the profile.
    pub notes: String,
    /// The user's file that it comes from; `None` for a built-in one.
    pub own_file: Option<String>,
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
    gaps: Vec<Gap>,
    told: Vec<String>,
    problems: Vec<ControllerError>,
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
        let (disagreements, gaps) = disagreements::built_in()?;
        let mut inner = Inner {
            disagreements,
            gaps,
            ..Inner::default()
        };
        for (file, text) in built_in::PROFILE_FILES {
            inner.add(load::load(file, text)?);
        }
        Ok(Library {
            inner: Arc::new(inner),
        })
    }

    /// The documents that the values of a profile rest on, each once: citation, document, and how it was
    /// read. Empty where the profile has no value.
    pub fn cited(&self, profile: &Profile) -> Vec<String> {
        let used = |cite: &str| profile.values.values().any(|limit| limit.source == cite);
        let mut said: Vec<String> = Vec::new();
        for source in self.sources().iter().filter(|s| used(&s.cite)) {
            let document = match source.document.is_empty() {
                true => String::new(),
                false => format!("{}; ", source.document),
            };
            let text = format!("{}: {document}{}", source.cite, source.read);
            if !said.contains(&text) {
                said.push(text);
            }
        }
        said
    }

    /// Names of the built-in profile files.
    pub fn built_in_files() -> impl Iterator<Item = &'static str> {
        built_in::PROFILE_FILES.iter().map(|(name, _)| *name)
    }

    /// A commented profile to copy from.
    pub fn template() -> &'static str {
        built_in::TEMPLATE
    }

    /// What was added to the built-in profiles, in words, a sentence for each folder and each file
    /// that was skipped: no result may rest on own profiles without saying so. Empty for the
    /// built-in library.
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

    /// What the profiles do not hold.
    pub fn gaps(&self) -> &[Gap] {
        &self.inner.gaps
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

    /// As [`Library::find`], and all parts of the same class beside them: for a marking that is not
    /// trusted. The widest limits then apply.
    ///
    /// The class is what makers' lists of replacements join: same pins, same thresholds, same
    /// ratio of oscillator to OUT.
    ///
    /// # Errors
    /// As [`Library::find`].
    pub fn find_class(&self, marking: &str) -> Result<Found<'_>, ControllerError> {
        same_class::widen(self, self.find(marking)?, marking)
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
    /// are for them: the heaviest class first, in each the best, the shares adding up to 1.
    ///
    /// Where only a typical value is published, the widest limits of others are assumed around it and
    /// said. Empty when nothing fits, and for values that are not finite.
    pub fn rank(&self, start_v: f64, stop_v: f64, u_v: f64) -> Vec<Ranked<'_>> {
        let seen = |key, value| Seen { key, value, u: u_v };
        self.rank_by(&[seen("vcc_start", start_v), seen("vcc_stop", stop_v)])
    }

    /// As [`Library::rank`], by any of the figures in [`RANKED_BY`]. Others are left out; where
    /// several have one key, the first counts.
    ///
    /// What a profile does not publish is taken from others of its class. A profile of which no
    /// threshold is known is left out where one was seen; any other figure that nobody of its class
    /// publishes neither helps nor hurts it.
    pub fn rank_by(&self, seen: &[Seen]) -> Vec<Ranked<'_>> {
        rank::rank(self.profiles(), seen, &[])
    }

    /// Which controllers fit what was measured, with what speaks against the named ones (ids), and
    /// what would tell apart those that fit. `None` where nothing that was seen bears on it.
    pub fn fits(&self, seen: &[Seen], named: &[String]) -> Option<ControllerFits> {
        rank::fits(self.profiles(), seen, named)
    }

    /// What a marking stands for, ready for an inspection.
    ///
    /// # Errors
    /// As [`Library::lookup`].
    pub fn choice(&self, marking: &str) -> Result<ControllerChoice, ControllerError> {
        self.find(marking).map(|found| found.choice(marking))
    }
}

impl Inner {
    fn add(&mut self, loaded: load::Loaded) {
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
    }
}
