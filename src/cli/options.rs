//! Options shared by the commands, and what they become.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use clap::Args;

use super::choices::{self, Group, Named, NamedPart};
use crate::data::options::{Accuracy, ChannelChoice, MeterPoint, RoleChoice};
use crate::data::{Options, ReferenceLevels, Setup, Source, VoltageStep};
use crate::inspect::{Layouts, Library, ReadOptions, StepsError};

/// How files are understood.
#[derive(Debug, Clone, Args)]
pub(super) struct LayoutArgs {
    /// How to understand a file, for instance separator=semicolon, decimal=comma or first-row=12 (read shows every decision); repeat for more
    #[arg(long = "layout", value_name = "KEY=VALUE", value_parser = choices::layout)]
    layout: Vec<(String, String)>,
    /// A folder of remembered layouts (*.toml), for instance layouts/: a file of a form that is remembered there is read as remembered, and says so; --layout goes before. Without it none is used in the terminal
    #[arg(long = "layouts", value_name = "DIR")]
    layouts: Option<PathBuf>,
}

impl LayoutArgs {
    /// What was told by `--layout`.
    pub(super) fn told(&self) -> ReadOptions {
        let mut read = ReadOptions::default();
        read.layout.extend(self.layout.iter().cloned());
        read
    }

    /// What was told, whatever is remembered.
    pub(super) fn alone(&self) -> Reading {
        Reading {
            told: self.told(),
            layouts: None,
        }
    }

    /// The folder of `--layouts`.
    pub(super) fn folder(&self) -> Option<&Path> {
        self.layouts.as_deref()
    }

    /// What was told and, beneath it, what the folder remembers. A file there that can't be used is
    /// named beside the result.
    ///
    /// # Errors
    /// When the folder is not there or can't be listed.
    pub(super) fn reading(&self) -> anyhow::Result<Reading> {
        let mut reading = self.alone();
        if let Some(folder) = &self.layouts {
            let option = || format!("--layouts {}", super::shown(folder));
            if !folder.is_dir() {
                bail!("{}: there is no such folder", option());
            }
            reading.layouts = Some(layouts(folder).with_context(option)?);
        }
        Ok(reading)
    }
}

/// The layouts of a folder; what can't be used is named beside the result.
pub(super) fn layouts(folder: &Path) -> anyhow::Result<Layouts> {
    let layouts = Layouts::open(folder)?;
    for problem in layouts.problems() {
        super::deliver::remark(&problem.to_string());
    }
    Ok(layouts)
}

/// How files are read.
#[derive(Debug, Clone, Default)]
pub(super) struct Reading {
    told: ReadOptions,
    layouts: Option<Layouts>,
}

impl Reading {
    /// Whether files with one channel each and equal times are one shot, where that was told.
    pub(super) fn shot(&self) -> Option<&str> {
        self.told.layout.get("shot").map(String::as_str)
    }

    /// What is told and remembered about one file.
    pub(super) fn of(&self, source: &dyn Source) -> ReadOptions {
        match &self.layouts {
            Some(layouts) => layouts.applied(&self.told, source),
            None => self.told.clone(),
        }
    }
}

/// Profiles of the user's own.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct LibraryArgs {
    /// A folder of controller profiles (*.toml) to use beside the built-in ones, for instance profiles/; an id that is built in is replaced. Without it none is used
    #[arg(long = "controllers", value_name = "DIR")]
    folder: Option<PathBuf>,
}

impl LibraryArgs {
    /// The built-in profiles, and those of the folder where one is named.
    ///
    /// # Errors
    /// When the folder can't be used. A profile in it that can't is named beside the result.
    pub(super) fn library(&self) -> anyhow::Result<Library> {
        let library = Library::built_in()?;
        let Some(folder) = &self.folder else {
            return Ok(library);
        };
        let problem = || format!("--controllers {}", super::shown(folder));
        let own = library.with_folder(folder).with_context(problem)?;
        for skipped in own.problems() {
            super::deliver::remark(&format!("skipped: {skipped}"));
        }
        if !has_profiles(folder) {
            bail!("{}: there is no profile (*.toml) in it", problem());
        }
        Ok(own)
    }
}

fn has_profiles(folder: &Path) -> bool {
    let is_toml = |entry: std::io::Result<std::fs::DirEntry>| {
        entry.is_ok_and(|e| {
            let ending = e.path().extension().map(|x| x.to_ascii_lowercase());
            ending.is_some_and(|x| x == "toml")
        })
    };
    std::fs::read_dir(folder).is_ok_and(|mut entries| entries.any(is_toml))
}

/// What the user tells about a run.
#[derive(Debug, Clone, Args)]
pub(super) struct RunArgs {
    /// What is printed on the controller, for instance UC3844AN
    #[arg(long, value_name = "MARKING")]
    controller: Option<String>,
    /// The marking may be wrong (remarked, replaced, half worn off): all parts of its class are candidates, the widest limits apply
    #[arg(long = "marking-not-trusted")]
    marking_not_trusted: bool,
    /// How the unit was fed: cold, injected, low-bulk or mains; for instance injected
    #[arg(long, value_name = "SETUP", value_parser = choices::setup)]
    setup: Option<Setup>,
    /// The pin a channel is on, for instance 2=vref, 1:1=vcc@pin (first capture, first channel); repeat for more
    #[arg(long = "role", value_name = "[N:]CH=ROLE[@PLACE]", value_parser = choices::role)]
    roles: Vec<RoleChoice>,
    /// A part's value, with its tolerance if known, for instance vcc-capacitor=47u, rt='13k 1%', ct=102 or start-resistor=82k+82k; repeat for more
    #[arg(long = "part", value_name = "NAME=VALUE", value_parser = choices::part)]
    parts: Vec<NamedPart>,
    /// A reading taken by hand, for instance standby-current=0.4mA or bulk=0V; repeat for more
    #[arg(long = "reading", value_name = "NAME=VALUE", value_parser = choices::reading)]
    readings: Vec<Named>,
    /// A file of voltage steps, the supply set by hand, one a line, for instance 8.8 V works up or 8.53;dead;down;11.5mA (# begins a comment)
    #[arg(long, value_name = "FILE")]
    steps: Option<PathBuf>,
    /// A probe's factor that the file does not already contain, for instance 1=10; repeat for more
    #[arg(long = "probe", value_name = "[N:]CH=FACTOR", value_parser = choices::probe)]
    probes: Vec<(ChannelChoice, f64)>,
    /// A channel's accuracy, for instance 1=1%+20mV; repeat for more
    #[arg(long = "accuracy", value_name = "[N:]CH=1%+20mV", value_parser = choices::accuracy)]
    accuracies: Vec<(ChannelChoice, Accuracy)>,
    /// The bandwidth of scope, probe and limiter together, for instance 1=20MHz: rise times are corrected for it; repeat for more
    #[arg(long = "bandwidth", value_name = "[N:]CH=20MHz", value_parser = choices::bandwidth)]
    bandwidths: Vec<(ChannelChoice, f64)>,
    /// Reference levels of pulses and edges, in percent of the amplitude, for instance 20,50,80
    #[arg(long = "reference-levels", value_name = "10,50,90", value_parser = choices::reference_levels)]
    reference_levels: Option<ReferenceLevels>,
    /// The multimeter's accuracy, for instance 0.5%+10mV
    #[arg(long, value_name = "0.5%+10mV", value_parser = choices::meter)]
    meter: Option<Accuracy>,
    /// A flat piece of a channel and what the multimeter read of it, for instance 1@0.2=15.02V (as far as the record is flat around that instant) or 1@0.1..0.4=5.01V: one reading corrects that level, readings at two levels gain and offset; repeat for more
    #[arg(long = "set-to-meter", value_name = "[N:]CH@TIME=VOLTS", value_parser = choices::meter_point, allow_hyphen_values = true)]
    meter_points: Vec<MeterPoint>,
    /// Channels that went through one scope input on one range, for instance 1,2: what corrects one corrects all; repeat for more groups
    #[arg(long = "same-range", value_name = "CH,CH", value_parser = choices::same_range)]
    same_range: Vec<Group>,
    /// Channels of the scope at hand, for instance 4: the shots to take are planned for them. Without it the most that a capture of the run has, and at least 2
    #[arg(long = "scope-channels", value_name = "N", value_parser = choices::scope_channels)]
    scope_channels: Option<usize>,
    #[command(flatten)]
    library: LibraryArgs,
    #[command(flatten)]
    layout: LayoutArgs,
}

impl RunArgs {
    /// How files are understood.
    pub(super) fn layout(&self) -> &LayoutArgs {
        &self.layout
    }

    /// As [`LayoutArgs::reading`].
    ///
    /// # Errors
    /// As there.
    pub(super) fn reading(&self) -> anyhow::Result<Reading> {
        self.layout.reading()
    }

    /// The profiles to judge by.
    ///
    /// # Errors
    /// As [`LibraryArgs::library`].
    pub(super) fn library(&self) -> anyhow::Result<Library> {
        self.library.library()
    }

    /// What was told, in the form that the inspection takes.
    ///
    /// # Errors
    /// When the file of `--steps` can't be used; each bad line is named.
    pub(super) fn options(&self) -> anyhow::Result<Options> {
        Ok(Options {
            steps: self.steps.as_deref().map_or(Ok(Vec::new()), steps)?,
            ..self.typed_options()
        })
    }

    /// What was told, and the captures: files that nothing may overwrite.
    pub(super) fn inputs(&self, files: &[PathBuf]) -> Vec<PathBuf> {
        files.iter().chain(&self.steps).cloned().collect()
    }

    /// Whether a file of voltage steps is named.
    pub(super) fn has_steps(&self) -> bool {
        self.steps.is_some()
    }

    /// What was told without a file.
    pub(super) fn typed_options(&self) -> Options {
        Options {
            controller: self.controller.clone(),
            marking_not_trusted: self.marking_not_trusted,
            setup: self.setup,
            roles: self.roles.clone(),
            parts: values_of(&self.parts),
            marks: self.parts.iter().cloned().collect(),
            readings: self.readings.iter().cloned().collect(),
            probes: self.probes.clone(),
            accuracies: self.accuracies.clone(),
            meter: self.meter,
            bandwidths: self.bandwidths.clone(),
            meter_points: self.meter_points.clone(),
            same_range: self.same_range.iter().map(|g| g.0.clone()).collect(),
            reference_levels: self.reference_levels.unwrap_or_default(),
            scope_channels: self.scope_channels,
            ..Options::default()
        }
    }

    /// Refuses two different values for one thing.
    pub(super) fn check(&self) -> anyhow::Result<()> {
        twice("--part", self.parts.iter().cloned())?;
        twice(
            "--reading",
            self.readings.iter().map(|p| (p.0.clone(), p.1)),
        )?;
        twice("--probe", self.probes.iter().map(|p| (named(&p.0), p.1)))?;
        twice(
            "--role",
            self.roles
                .iter()
                .map(|r| (named(&r.channel), (r.role, r.place.clone()))),
        )?;
        twice(
            "--accuracy",
            self.accuracies.iter().map(|a| (named(&a.0), a.1)),
        )?;
        twice(
            "--bandwidth",
            self.bandwidths.iter().map(|b| (named(&b.0), b.1)),
        )
    }
}

/// The voltage steps of a file; all its bad lines are named, the last one as the error.
fn steps(path: &Path) -> anyhow::Result<Vec<VoltageStep>> {
    crate::inspect::read_steps(path).map_err(|mut errors| {
        let last = errors.pop();
        let remark = |error: &StepsError| super::deliver::remark(&error.to_string());
        errors.iter().for_each(remark);
        last.map_or_else(|| anyhow::anyhow!("--steps: nothing was read"), Into::into)
    })
}

fn named(channel: &ChannelChoice) -> String {
    match channel.capture {
        Some(capture) => format!("{capture}:{}", channel.channel),
        None => channel.channel.clone(),
    }
}

/// The values alone.
pub(super) fn values_of(parts: &[NamedPart]) -> BTreeMap<String, f64> {
    let one = |(name, part): &NamedPart| (name.clone(), part.value());
    parts.iter().map(one).collect()
}

pub(super) fn twice<T: PartialEq>(
    option: &str,
    given: impl Iterator<Item = (String, T)>,
) -> anyhow::Result<()> {
    let mut seen: BTreeMap<String, T> = BTreeMap::new();
    for (name, value) in given {
        if seen.get(&name).is_some_and(|before| *before != value) {
            bail!(
                "{option} gives '{}' twice, with different values",
                super::clean(&name)
            );
        }
        seen.insert(name, value);
    }
    Ok(())
}

/// What the user told on top of what is known already: the user's word replaces.
pub(super) fn over(base: &Options, told: &Options) -> Options {
    let mut all = base.clone();
    all.controller = told.controller.clone().or(all.controller);
    all.marking_not_trusted |= told.marking_not_trusted;
    if told.setup.is_some() {
        all.setup = told.setup;
        all.capture_setups.clear();
    }
    all.parts.extend(told.parts.clone());
    all.marks.extend(told.marks.clone());
    all.readings.extend(told.readings.clone());
    all.roles
        .retain(|r| !told.roles.iter().any(|t| t.channel == r.channel));
    all.roles.extend(told.roles.iter().cloned());
    all.probes
        .retain(|p| !told.probes.iter().any(|t| t.0 == p.0));
    all.probes.extend(told.probes.iter().cloned());
    all.accuracies
        .retain(|p| !told.accuracies.iter().any(|t| t.0 == p.0));
    all.accuracies.extend(told.accuracies.iter().cloned());
    all.bandwidths
        .retain(|p| !told.bandwidths.iter().any(|t| t.0 == p.0));
    all.bandwidths.extend(told.bandwidths.iter().cloned());
    all.meter_points.extend(told.meter_points.iter().cloned());
    all.same_range.extend(told.same_range.iter().cloned());
    if told.reference_levels != Options::default().reference_levels {
        all.reference_levels = told.reference_levels;
    }
    all.meter = told.meter.or(all.meter);
    all.scope_channels = told.scope_channels.or(all.scope_channels);
    all
}
