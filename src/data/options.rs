//! What the user told: set-up, controller, roles, parts, readings, probes, accuracies.

use std::collections::BTreeMap;

use super::role::Role;
use super::setup::{Setup, ShotKind};
use super::typed::{MarkedPart, Tolerance};
use super::voltage_steps::VoltageStep;

/// DC accuracy of a channel or a meter: rectangular half-widths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Share of the reading; 0.01 is 1 %.
    pub gain: f64,
    /// Part that does not depend on the reading, in volts (or the reading's unit).
    pub offset: f64,
}

/// A channel, by its 1-based number or its exact name, in one capture (1-based) or in all.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct ChannelChoice {
    /// 1-based number of the capture; `None` means every capture that has such a channel.
    pub capture: Option<usize>,
    /// Number or name as typed.
    pub channel: String,
}

/// Reference levels between the two states of a pulse, as shares of the amplitude above the lower
/// state (IEEE 181: 10 %, 50 % and 90 % unless others are stated).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceLevels {
    /// Proximal: where a rise is taken to begin.
    pub low: f64,
    /// Mesial: where pulse duration and period are taken.
    pub middle: f64,
    /// Distal: where a rise is taken to end.
    pub high: f64,
}

impl Default for ReferenceLevels {
    fn default() -> Self {
        Self {
            low: 0.1,
            middle: 0.5,
            high: 0.9,
        }
    }
}

/// The role that the user gave a channel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoleChoice {
    /// Which channel.
    pub channel: ChannelChoice,
    /// Its role.
    pub role: Role,
    /// Where on the net, for instance `pin` or `capacitor`.
    pub place: Option<String>,
}

/// A flat piece of a channel, and what a multimeter read of it.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterPoint {
    /// Which channel.
    pub channel: ChannelChoice,
    /// Begin of the piece, in seconds on the capture's axis.
    pub from_s: f64,
    /// Its end; the same as `from_s` where only an instant was pointed at: the piece then reaches as far
    /// as the record is flat.
    pub to_s: f64,
    /// The reading, in volts.
    pub volts: f64,
}

/// All that a user can say about a run, apart from the captures themselves.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Options {
    /// Marking of the controller, as typed.
    pub controller: Option<String>,
    /// The marking may be wrong (remarked, replaced, half worn off): all parts of its class are
    /// candidates, and the widest limits apply.
    pub marking_not_trusted: bool,
    /// Set-up for every capture of the run; `None` leaves it to the program to propose.
    pub setup: Option<Setup>,
    /// Set-up that the next shots are planned for; says nothing about those that are there.
    pub next_setup: Option<Setup>,
    /// Set-up of single captures by 0-based index; stronger than `setup`.
    pub capture_setups: BTreeMap<usize, Setup>,
    /// Kind of single captures by 0-based index.
    pub capture_kinds: BTreeMap<usize, ShotKind>,
    /// Roles given.
    pub roles: Vec<RoleChoice>,
    /// Part values in SI base units: `start-resistor`, `vcc-capacitor`, `rt`, `ct` …
    pub parts: BTreeMap<String, f64>,
    /// The same parts as they were marked, with tolerances: those that were typed with `--part`.
    pub marks: BTreeMap<String, MarkedPart>,
    /// Hand readings in SI base units: `standby-current`, `run-current`, `bulk` …
    pub readings: BTreeMap<String, f64>,
    /// Attenuation factors of probes that the file does not already contain.
    pub probes: Vec<(ChannelChoice, f64)>,
    /// Accuracies of channels.
    pub accuracies: Vec<(ChannelChoice, Accuracy)>,
    /// Works-or-dead readings taken with a bench supply.
    pub steps: Vec<VoltageStep>,
    /// Accuracy of the multimeter behind hand readings.
    pub meter: Option<Accuracy>,
    /// Readings that channels are set to.
    pub meter_points: Vec<MeterPoint>,
    /// Groups of channels that share one scope input and range, so that one correction serves all.
    pub same_range: Vec<Vec<ChannelChoice>>,
    /// Bandwidths of channels, in hertz: scope, probe and limiter together.
    pub bandwidths: Vec<(ChannelChoice, f64)>,
    /// Reference levels for transitions and pulses.
    pub reference_levels: ReferenceLevels,
    /// Channels of the scope at hand, for which shots are planned; `None` leaves it to the captures.
    pub scope_channels: Option<usize>,
}

impl Options {
    /// The mark of a part. `None` where there is no such part, where it was told without a mark, and where
    /// its value was changed since.
    pub fn mark(&self, name: &str) -> Option<&MarkedPart> {
        let mark = self.marks.get(name)?;
        let value = *self.parts.get(name)?;
        ((mark.value() - value).abs() <= 1e-9 * value.abs()).then_some(mark)
    }

    /// The tolerance that was told with a part, over all of its members. `None` where there is no such
    /// part, where none was told, and where the part's value was changed since.
    pub fn tolerance(&self, name: &str) -> Option<Tolerance> {
        let mark = self.mark(name).filter(|m| m.has_tolerance())?;
        let value = *self.parts.get(name)?;
        let (low, high) = mark.range(Tolerance::both(0.0));
        Some(Tolerance {
            minus: 1.0 - low / value,
            plus: high / value - 1.0,
        })
    }
}
