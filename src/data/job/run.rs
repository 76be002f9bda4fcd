//! Runs of a job: shots that belong together, and what was told about them.

use std::collections::{BTreeMap, BTreeSet};

use super::Job;
use super::words::{ChangeOver, Heat, When};
use crate::data::options::{Accuracy, ChannelChoice, MeterPoint, RoleChoice};
use crate::data::typed::{self, MarkedPart};
use crate::data::{Options, ReferenceLevels, Setup, ShotKind, VoltageStep};

/// A capture as it came, kept in the job's folder.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CaptureFile {
    /// Path in the job's folder, with `/`: `captures/sweep.csv`.
    pub file: String,
    /// SHA-256 of the file, 64 hexadecimal digits (FIPS 180-4); empty where it was never taken.
    pub sha256: String,
    /// Import decisions told, as `--layout KEY=VALUE` takes them.
    pub layout: BTreeMap<String, String>,
}

/// One shot of a run.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RunShot {
    /// The capture file.
    pub file: String,
    /// Number of the capture in the file, from 1; `None` means the first.
    pub capture: Option<usize>,
    /// Further files with one channel each that were saved of the same shot.
    pub with: Vec<String>,
    /// How the unit was fed, where it differs from that of the run.
    pub setup: Option<Setup>,
    /// What the shot shows, where the user said.
    pub kind: Option<ShotKind>,
}

/// The condition of the unit during a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Condition {
    /// Cold or warm.
    pub heat: Option<Heat>,
    /// Minutes that it had run.
    pub minutes: Option<f64>,
    /// Which part was sprayed with cold spray; empty for none.
    pub sprayed: String,
    /// Free text.
    pub note: String,
}

impl Condition {
    /// In words: `warm, after 20 min, controller sprayed`; empty where nobody said anything.
    pub fn words(&self) -> String {
        let sprayed = (!self.sprayed.is_empty()).then(|| format!("{} sprayed", self.sprayed));
        let parts = [
            self.heat.map(|heat| heat.id().to_owned()),
            self.minutes.map(|minutes| format!("after {minutes} min")),
            sprayed,
            (!self.note.is_empty()).then(|| self.note.clone()),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// Shots that belong together, with what was told about them. Numbers of captures in the choices
/// count the shots of this run, from 1.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// Title: `as found`.
    pub title: String,
    /// Before or after the repair.
    pub when: Option<When>,
    /// When it was taken, ISO 8601; empty where nobody said.
    pub date: String,
    /// How the unit was fed.
    pub setup: Option<Setup>,
    /// Set-up that the next shots are planned for.
    pub next_setup: Option<Setup>,
    /// Condition of the unit.
    pub condition: Condition,
    /// The shots, in order.
    pub shots: Vec<RunShot>,
    /// Roles told.
    pub roles: Vec<RoleChoice>,
    /// Probe factors told.
    pub probes: Vec<(ChannelChoice, f64)>,
    /// Accuracies told.
    pub accuracies: Vec<(ChannelChoice, Accuracy)>,
    /// Bandwidths told, in hertz.
    pub bandwidths: Vec<(ChannelChoice, f64)>,
    /// Meter readings that channels are set to.
    pub meter_points: Vec<MeterPoint>,
    /// Channels that share one input and range.
    pub same_range: Vec<Vec<ChannelChoice>>,
    /// Reference levels of pulses and edges.
    pub reference_levels: ReferenceLevels,
    /// Hand readings in SI base units, by the names of [`crate::data::typed::READINGS`].
    pub readings: BTreeMap<String, f64>,
    /// Voltage steps; where a reading comes from is not kept, all are `Typed`.
    pub steps: Vec<VoltageStep>,
    /// Lines of the change-over list that were ticked before this run.
    pub change_over: BTreeSet<ChangeOver>,
}

impl Run {
    /// What was told about the run, without what stands in the job.
    pub fn told(&self) -> Options {
        let shots = || self.shots.iter().enumerate();
        Options {
            setup: self.setup,
            next_setup: self.next_setup,
            capture_setups: shots().filter_map(|(i, s)| Some((i, s.setup?))).collect(),
            capture_kinds: shots().filter_map(|(i, s)| Some((i, s.kind?))).collect(),
            roles: self.roles.clone(),
            readings: self.readings.clone(),
            probes: self.probes.clone(),
            accuracies: self.accuracies.clone(),
            steps: self.steps.clone(),
            meter_points: self.meter_points.clone(),
            same_range: self.same_range.clone(),
            bandwidths: self.bandwidths.clone(),
            reference_levels: self.reference_levels,
            ..Options::default()
        }
    }

    /// Takes over what options tell about the run; set-ups and kinds of shots go to the shots there are.
    pub fn tell(&mut self, options: &Options) {
        self.setup = options.setup;
        self.next_setup = options.next_setup;
        for (index, shot) in self.shots.iter_mut().enumerate() {
            shot.setup = options.capture_setups.get(&index).copied();
            shot.kind = options.capture_kinds.get(&index).copied();
        }
        self.roles.clone_from(&options.roles);
        self.readings.clone_from(&options.readings);
        self.probes.clone_from(&options.probes);
        self.accuracies.clone_from(&options.accuracies);
        self.meter_points.clone_from(&options.meter_points);
        self.same_range.clone_from(&options.same_range);
        self.bandwidths.clone_from(&options.bandwidths);
        self.reference_levels = options.reference_levels;
        let typed = |step: &VoltageStep| VoltageStep {
            place: crate::data::StepPlace::Typed,
            ..*step
        };
        self.steps = options.steps.iter().map(typed).collect();
    }

    /// The set-ups that occur in the run.
    pub fn setups(&self) -> BTreeSet<Setup> {
        let shots = self.shots.iter().filter_map(|shot| shot.setup);
        shots.chain(self.setup).collect()
    }
}

impl Job {
    fn told_marks(&self) -> BTreeMap<String, MarkedPart> {
        let read = |(name, text): (&String, &String)| {
            let mark = typed::marked_part(name, text).ok()?;
            Some((name.clone(), mark))
        };
        self.marks.iter().filter_map(read).collect()
    }

    /// All that was told about a run: what an inspection takes. `None` where there is no such run
    /// (counted from 0).
    pub fn options(&self, run: usize) -> Option<Options> {
        let marking = self.controller.marking.trim();
        Some(Options {
            controller: (!marking.is_empty()).then(|| marking.to_owned()),
            marking_not_trusted: self.controller.trusted == Some(false),
            parts: self.parts.clone(),
            marks: self.told_marks(),
            meter: self.meter,
            scope_channels: self.scope_channels,
            ..self.runs.get(run)?.told()
        })
    }

    /// Takes over what options tell about the job, and about one of its runs where that is there.
    pub fn tell(&mut self, run: usize, options: &Options) {
        self.controller.marking = options.controller.clone().unwrap_or_default();
        self.controller.trusted = match options.marking_not_trusted {
            true => Some(false),
            // that it is trusted was said by nobody, unless it was said before
            false => self.controller.trusted.filter(|trusted| *trusted),
        };
        self.parts.clone_from(&options.parts);
        self.marks = told_back(&options.marks);
        self.meter = options.meter;
        self.scope_channels = options.scope_channels;
        if let Some(run) = self.runs.get_mut(run) {
            run.tell(options);
        }
    }
}

/// Marks as texts that read back as the same marks; others are left to the plain values.
fn told_back(marks: &BTreeMap<String, MarkedPart>) -> BTreeMap<String, String> {
    let text = |(name, mark): (&String, &MarkedPart)| {
        let text = mark.shown();
        let same = typed::marked_part(name, &text).as_ref() == Ok(mark);
        same.then(|| (name.clone(), text))
    };
    marks.iter().filter_map(text).collect()
}
