//! Where makers, or two pages of one maker, contradict each other, and what was not read.

use serde::Deserialize;

use super::ControllerError;
use super::built_in::DISAGREEMENTS;
use super::load::{Place, SCHEMA};

/// One contradiction between documents.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disagreement {
    /// Stable id.
    pub id: String,
    /// Keys of the values concerned; empty when it concerns no single value.
    pub keys: Vec<String>,
    /// Ids of the profiles concerned.
    pub profiles: Vec<String>,
    /// Who says what.
    pub text: String,
}

/// Something that the profiles do not hold.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gap {
    /// Stable id.
    pub id: String,
    /// Parts that have no profile; `x` stands for any sign. Empty when profiles are meant.
    pub parts: Vec<String>,
    /// Ids of the profiles concerned; empty with empty `parts` when it concerns all.
    pub profiles: Vec<String>,
    /// What is missing, and why.
    pub text: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    schema: u32,
    disagreement: Vec<Disagreement>,
    gap: Vec<Gap>,
}

/// Both lists.
type Lists = (Vec<Disagreement>, Vec<Gap>);

/// The lists that come with the program.
pub(super) fn built_in() -> Result<Lists, ControllerError> {
    let (file, text) = DISAGREEMENTS;
    let raw: RawFile = toml::from_str(text).map_err(|error| Place { file, text }.syntax(&error))?;
    if raw.schema == SCHEMA {
        return Ok((raw.disagreement, raw.gap));
    }
    Err(ControllerError::Malformed {
        file: file.to_owned(),
        line: 1,
        key: "schema".to_owned(),
        what: format!("schema {} is not known, only {SCHEMA}", raw.schema),
    })
}
