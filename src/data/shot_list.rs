//! Which shots a run still needs, with pins and scope settings: plain data.

use super::role::Role;
use super::setup::{Setup, ShotKind};

/// Vertical divisions of the screen that settings are made for (common practice).
pub const DIVISIONS_UP: f64 = 8.0;
/// Divisions across (common practice).
pub const DIVISIONS_ACROSS: f64 = 10.0;

/// One channel of a planned shot.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedChannel {
    /// The pin or node.
    pub role: Role,
    /// Where on the net, if it matters: `pin`.
    pub place: Option<String>,
    /// Volts a division at the tip of the probe.
    pub volts_per_division: f64,
    /// Where zero volts lie, in whole divisions above the bottom edge.
    pub zero_divisions: f64,
    /// Where zero lies so that nothing clips, and what the next finer setting would do, in words.
    pub position: String,
    /// Lowest and highest voltage expected, in volts; both lie within the divisions.
    pub range_v: (f64, f64),
    /// Which probe, in words.
    pub probe: String,
}

impl PlannedChannel {
    /// Voltages at the bottom and the top edge of the screen, in volts.
    pub fn screen_v(&self) -> (f64, f64) {
        let bottom = -self.zero_divisions * self.volts_per_division;
        (bottom, bottom + DIVISIONS_UP * self.volts_per_division)
    }
}

/// A shot of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedShot {
    /// Its pins, ready to show: `VCC (7) + VREF (8)`.
    pub title: String,
    /// What it answers, as a sentence.
    pub why: String,
    /// How the unit is fed.
    pub setup: Setup,
    /// What it shows.
    pub kind: ShotKind,
    /// Scope channels in order; never more than the list's `channels`.
    pub channels: Vec<PlannedChannel>,
    /// Time base, in seconds a division.
    pub seconds_per_division: f64,
    /// How to take it, as sentences.
    pub how: Vec<String>,
    /// What to beware of, as sentences.
    pub cautions: Vec<String>,
    /// Does the run already hold these pins in this kind of shot?
    pub done: bool,
    /// Index of the capture that holds them.
    pub taken_as: Option<usize>,
}

impl PlannedShot {
    /// Channel (0-based), role and place of each channel, in order.
    pub fn roles(&self) -> Vec<PlannedRole> {
        let channels = self.channels.iter().enumerate();
        channels
            .map(|(channel, planned)| PlannedRole {
                channel,
                role: planned.role,
                place: planned.place.clone(),
            })
            .collect()
    }
}

/// The role that a channel of the next file is to have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedRole {
    /// 0-based index of the channel.
    pub channel: usize,
    /// Its role.
    pub role: Role,
    /// Where on the net.
    pub place: Option<String>,
}

/// The shots that fit the set-up and the scope at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotList {
    /// The set-up to work in: that of the first shot not done; of the last shot where all are.
    pub setup: Setup,
    /// Scope channels that it is made for, at least 1.
    pub channels: usize,
    /// The shots in order, of every set-up that occurs in the run; none for `cold`.
    pub shots: Vec<PlannedShot>,
    /// Readings to take by hand, as sentences.
    pub readings: Vec<String>,
    /// What to take once this is done, as sentences.
    pub later: Vec<String>,
}

impl ShotList {
    /// The shots that the run does not hold yet.
    pub fn open(&self) -> impl Iterator<Item = &PlannedShot> {
        self.shots.iter().filter(|shot| !shot.done)
    }
}
