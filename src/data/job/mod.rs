//! A job: one unit on the bench from the complaint to the soak, as plain data.
//!
//! Everything that a person entered and the names of the files that belong to it; no sample, no
//! path outside the job's folder, no clock. Room `job` keeps it on disk.

pub mod date;
mod readings;
mod repair;
mod run;
mod words;

use std::collections::BTreeMap;

pub use readings::{ColdReading, OutputReading, PartCheck, PinReading};
pub use repair::{MainsCheck, MainsChecks, Picture, Replaced, Soak, Work};
pub use run::{CaptureFile, Condition, Run, RunShot};
pub use words::{ChangeOver, Heat, When};

use super::options::Accuracy;
use super::typed::Input;

/// The unit on the bench, as its owner and its label name it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct JobUnit {
    /// What it is: `GV-24`.
    pub name: String,
    /// Who made it, free text.
    pub maker: String,
    /// Serial number, free text.
    pub serial: String,
}

/// What is printed on the controller.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Marking {
    /// As read from the part; empty where it was not read.
    pub marking: String,
    /// Whether it is trusted (not sanded off, not replaced by an unknown hand); `None` where nobody said.
    pub trusted: Option<bool>,
}

/// All that was entered about a job. Empty texts, `None` and empty lists are what nobody entered.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Job {
    /// The unit.
    pub unit: JobUnit,
    /// What its owner says is wrong.
    pub complaint: String,
    /// When the job was opened, ISO 8601 ([`date::is_date`]); empty where nobody said.
    pub opened: String,
    /// When it was changed last, ISO 8601.
    pub changed: String,
    /// The controller.
    pub controller: Marking,
    /// What feeds the unit.
    pub input: Option<Input>,
    /// Channels of the scope at hand.
    pub scope_channels: Option<usize>,
    /// Part values in SI base units, by the names of [`super::typed::PARTS`].
    pub parts: BTreeMap<String, f64>,
    /// The same parts as they are marked, with tolerances: `4k7 5%`; those that were typed so.
    pub marks: BTreeMap<String, String>,
    /// Accuracy of the multimeter.
    pub meter: Option<Accuracy>,
    /// Capture files of the job, each once.
    pub captures: Vec<CaptureFile>,
    /// Runs, in order of time.
    pub runs: Vec<Run>,
    /// Resistances and diode voltages, unpowered.
    pub cold: Vec<ColdReading>,
    /// Voltages of pins.
    pub pins: Vec<PinReading>,
    /// Output voltages against what they should be.
    pub outputs: Vec<OutputReading>,
    /// Parts that were taken out or measured in circuit.
    pub checked: Vec<PartCheck>,
    /// What was replaced.
    pub replaced: Vec<Replaced>,
    /// Checks entered before mains.
    pub mains: MainsChecks,
    /// Soak runs.
    pub soaks: Vec<Soak>,
    /// Photos and scope pictures.
    pub pictures: Vec<Picture>,
    /// Estimate, hours and cost.
    pub work: Work,
    /// Whatever else should be known.
    pub notes: String,
}

impl Job {
    /// The capture file of this path in the job's folder.
    pub fn capture(&self, file: &str) -> Option<&CaptureFile> {
        self.captures.iter().find(|capture| capture.file == file)
    }
}
