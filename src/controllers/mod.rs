//! Controller profiles from `assets/controllers/`, lookup by marking, timing formulas.

use std::collections::BTreeMap;

use crate::data::{ControllerChoice, Limit};

mod error;
pub use error::ControllerError;

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

/// The profiles at hand.
#[derive(Debug, Clone, Default)]
pub struct Library {
    profiles: Vec<Profile>,
}

impl Library {
    /// The profiles that come with the program.
    ///
    /// # Errors
    /// When a built-in profile is malformed, which a test excludes.
    pub fn built_in() -> Result<Library, ControllerError> {
        Ok(Library::default())
    }

    /// All profiles, in order of id.
    pub fn profiles(&self) -> &[Profile] {
        &self.profiles
    }

    /// The profiles that a marking may stand for (spelling, case, package suffix set aside).
    ///
    /// # Errors
    /// [`ControllerError::Unknown`] with the nearest markings.
    pub fn lookup(&self, marking: &str) -> Result<Vec<&Profile>, ControllerError> {
        Err(ControllerError::Unknown {
            marking: marking.to_owned(),
            near: Vec::new(),
        })
    }

    /// A value, the widest over all candidates that publish it; `None` when one of them does not,
    /// or when none does.
    pub fn widest(candidates: &[&Profile], key: &str) -> Option<Limit> {
        let _ = (candidates, key);
        None
    }

    /// What a marking stands for, ready for an inspection.
    ///
    /// # Errors
    /// As [`Library::lookup`].
    pub fn choice(&self, marking: &str) -> Result<ControllerChoice, ControllerError> {
        self.lookup(marking).map(|_| unreachable!())
    }
}
