//! A case from its description: which captures, in which groups, with what the user knows of them.
//!
//! The built-in unit is such a description with its captures, embedded; nothing else about it is
//! known to the program.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::Deserialize;

use crate::data::{MemorySource, Options, Progress, Setup, Source};
use crate::formats::ReadOptions;

use super::{Case, Group, InspectError, load};

/// The embedded description and its captures, by file name.
const DESCRIPTION: &str = include_str!("../../captures/gv24/case.toml");
const CAPTURES: [(&str, &[u8]); 5] = [
    (
        "01-sweep-vcc-vref.csv",
        include_bytes!("../../captures/gv24/01-sweep-vcc-vref.csv"),
    ),
    (
        "02-sweep-vcc-rtct.csv",
        include_bytes!("../../captures/gv24/02-sweep-vcc-rtct.csv"),
    ),
    (
        "03-running-rtct-out.csv",
        include_bytes!("../../captures/gv24/03-running-rtct-out.csv"),
    ),
    (
        "04-mains-start-before.csv",
        include_bytes!("../../captures/gv24/04-mains-start-before.csv"),
    ),
    (
        "05-mains-start-after.csv",
        include_bytes!("../../captures/gv24/05-mains-start-after.csv"),
    ),
];

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Description {
    title: String,
    controller: Option<String>,
    #[serde(default)]
    parts: BTreeMap<String, f64>,
    #[serde(default)]
    readings: BTreeMap<String, f64>,
    groups: Vec<GroupDescription>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct GroupDescription {
    title: String,
    shots: Vec<ShotDescription>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct ShotDescription {
    file: String,
    setup: Option<String>,
}

/// The built-in unit: captures, controller and parts that come with the program.
///
/// # Errors
/// As [`load`].
pub fn demo(progress: &Progress) -> Result<Case, InspectError> {
    let described: Description = toml::from_str(DESCRIPTION)
        .map_err(|error| InspectError::Option(format!("built-in unit: {error}")))?;
    let groups = described
        .groups
        .iter()
        .map(|group| read_group(group, &described, progress));
    Ok(Case {
        title: described.title.clone(),
        groups: groups.collect::<Result<_, _>>()?,
    })
}

fn read_group(
    group: &GroupDescription,
    unit: &Description,
    progress: &Progress,
) -> Result<Group, InspectError> {
    let mut options = Options {
        controller: unit.controller.clone(),
        parts: unit.parts.clone(),
        readings: unit.readings.clone(),
        ..Options::default()
    };
    let mut shots = Vec::new();
    for shot in &group.shots {
        let setup = shot.setup.as_deref().and_then(Setup::from_id);
        for one in load(&embedded(&shot.file)?, &ReadOptions::default(), progress)? {
            options
                .capture_setups
                .extend(setup.map(|s| (shots.len(), s)));
            shots.push(one);
        }
    }
    Ok(Group {
        title: group.title.clone(),
        shots,
        options,
    })
}

/// A capture of the built-in unit, by the name that its description and its record give it.
pub fn demo_capture(file: &str) -> Option<Arc<dyn Source>> {
    embedded(file).ok()
}

fn embedded(file: &str) -> Result<Arc<dyn Source>, InspectError> {
    let missing = || InspectError::Option(format!("built-in unit: no capture '{file}'"));
    let (name, bytes) = CAPTURES
        .iter()
        .find(|(name, _)| *name == file)
        .ok_or_else(missing)?;
    Ok(Arc::new(MemorySource::new(*name, *bytes)))
}
