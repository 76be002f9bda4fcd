//! The window's view as a picture: everything but the drawing, which is the other face's.

use std::path::PathBuf;

use anyhow::bail;
use clap::{Args, ValueEnum};

use super::args::StageArg;
use super::options::RunArgs;
use super::{choices, deliver, load};
use crate::data::drawing::Drawing;
use crate::data::typed;
use crate::data::{Inspection, Stage};
use crate::inspect::{Case, Library, drawing};
use crate::report::svg::{Look, Picture, svg};

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Theme {
    Light,
    Dark,
}

/// What the middle of the window shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum View {
    /// The channels of one shot over time
    Lanes,
    /// All sweeps over VCC
    Loop,
    /// Shots still to take, with pins and settings
    Shots,
    /// Works-or-dead readings on a line of volts
    Steps,
    /// The first two runs set against each other
    Compare,
    /// One controller: pins, ceilings, published values
    Controller,
    /// What the start-up parts allow
    Budget,
    /// The record of the job
    Job,
    /// What to know before connecting
    Before,
}

/// Options of `picture`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  firstpulse picture sweep.csv --controller UC3844 --out sweep.png\n  firstpulse picture --view loop --out loop.svg"
)]
pub struct PictureArgs {
    /// Shots of one run, in order; without, the built-in example
    #[arg(value_name = "FILE")]
    files: Vec<PathBuf>,
    /// The file to write, for instance view.png; an ending .svg draws the lanes of the shot, or the loop, alone
    #[arg(long, value_name = "PATH")]
    out: PathBuf,
    /// Width and height in pixels, for instance 1366x768
    #[arg(long, value_name = "WxH", default_value = "1366x768", value_parser = choices::size)]
    size: (u32, u32),
    /// How large letters and lines are drawn, for instance 1.5
    #[arg(long, value_name = "FACTOR", default_value = "1", value_parser = choices::scale)]
    scale: f32,
    /// Light or dark
    #[arg(long, value_enum, default_value = "light")]
    theme: Theme,
    /// The stage in focus
    #[arg(long, value_enum)]
    stage: Option<StageArg>,
    /// Which run of the unit, counted from 1, for instance 2
    #[arg(long, value_name = "N", default_value_t = 1)]
    group: usize,
    /// Which shot of the run, counted from 1, for instance 3
    #[arg(long, value_name = "N", default_value_t = 1)]
    shot: usize,
    /// What stands in the middle
    #[arg(long, value_enum, default_value = "lanes")]
    view: View,
    /// The supply's own input, for --view budget, for instance 230ac, 85..265ac or 48dc
    #[arg(long, value_name = "230ac|48dc", value_parser = input)]
    input: Option<String>,
    /// Replace the file if it is there already
    #[arg(long)]
    force: bool,
    #[command(flatten)]
    run: RunArgs,
}

/// An input that the budget understands, as typed.
fn input(text: &str) -> Result<String, String> {
    typed::feed(text).map(|_| text.to_owned())
}

/// A picture to be drawn.
#[derive(Debug)]
pub struct PictureJob {
    args: PictureArgs,
}

impl PictureJob {
    pub(super) fn new(args: PictureArgs) -> Self {
        Self { args }
    }

    /// Reads and inspects what the picture shows.
    ///
    /// # Errors
    /// When it can't be read or inspected, or the picture may not be written.
    pub fn load(&self) -> anyhow::Result<(Case, Vec<Inspection>)> {
        let args = &self.args;
        args.run.check()?;
        self.check_svg()?;
        deliver::check(&args.out, args.force, &args.run.inputs(&args.files))?;
        let case = load::case(&args.files, &args.run.reading()?, &args.run.options()?)?;
        if args.group == 0 || args.group > case.groups.len() {
            bail!(
                "--group {}: there are {} to choose from, counted from 1",
                args.group,
                case.groups.len()
            );
        }
        let shots = case.groups[args.group - 1].shots.len();
        if args.shot == 0 || args.shot > shots {
            bail!(
                "--shot {}: there are {shots} to choose from, counted from 1",
                args.shot
            );
        }
        let library = args.run.library()?;
        library.told().iter().for_each(|what| deliver::remark(what));
        let inspections = load::examine(&case, &library)?;
        Ok((case, inspections))
    }

    /// Does the name of the file ask for an SVG?
    pub fn is_svg(&self) -> bool {
        deliver::ending(&self.args.out) == "svg"
    }

    /// Refuses early what an SVG does not hold.
    fn check_svg(&self) -> anyhow::Result<()> {
        if !self.is_svg() {
            return Ok(());
        }
        let drawn = matches!(self.args.view, View::Lanes | View::Loop);
        if !drawn {
            bail!(
                "an SVG holds the lanes or the loop: use --view lanes or --view loop, or a name that ends with .png"
            );
        }
        if self.args.stage.is_some() {
            bail!(
                "--stage: an SVG shows no stage in focus; leave it out, or use a name that ends with .png"
            );
        }
        Ok(())
    }

    /// Draws the lanes or the loop as an SVG and writes it.
    ///
    /// # Errors
    /// When there is nothing of the kind to draw, or the file can't be written.
    pub fn write_svg(&self, case: &Case, inspections: &[Inspection]) -> anyhow::Result<()> {
        let Some(drawn) = self.drawing(case, inspections) else {
            match self.args.view {
                View::Loop => {
                    bail!("the loop needs a sweep with VCC and one more pin in the same shot")
                }
                _ => bail!("this capture has no time axis to draw on"),
            }
        };
        let (width, height) = self.args.size;
        let scale = f64::from(self.args.scale);
        let picture = Picture {
            width: f64::from(width) / scale,
            height: f64::from(height) / scale,
            look: if self.dark() { Look::Dark } else { Look::Light },
        };
        let text = svg(&drawn, &picture, "view");
        self.write(text.as_bytes())
    }

    fn drawing(&self, case: &Case, inspections: &[Inspection]) -> Option<Drawing> {
        let group = case.groups.get(self.group())?;
        let found = inspections.get(self.group())?;
        if self.args.view == View::Loop {
            return drawing::over_vcc(&group.shots, found);
        }
        let shot = group.shots.get(self.shot())?;
        drawing::lanes(shot, found, self.shot(), self.args.size.0 as usize)
    }

    /// Width and height in pixels.
    pub fn size(&self) -> (u32, u32) {
        self.args.size
    }

    /// Pixels for each point of the drawing.
    pub fn scale(&self) -> f32 {
        self.args.scale
    }

    /// Dark instead of light?
    pub fn dark(&self) -> bool {
        self.args.theme == Theme::Dark
    }

    /// Index of the group shown.
    pub fn group(&self) -> usize {
        self.args.group.saturating_sub(1)
    }

    /// Index of the shot shown.
    pub fn shot(&self) -> usize {
        self.args.shot.saturating_sub(1)
    }

    /// What stands in the middle.
    pub fn view(&self) -> View {
        self.args.view
    }

    /// The supply's own input as typed; empty where it was not told.
    pub fn input(&self) -> String {
        self.args.input.clone().unwrap_or_default()
    }

    /// The profiles that the run is judged by.
    ///
    /// # Errors
    /// When they can't be read.
    pub fn library(&self) -> anyhow::Result<Library> {
        self.args.run.library()
    }

    /// The stage in focus.
    pub fn focus(&self) -> Option<Stage> {
        self.args.stage.map(|stage| stage.0)
    }

    /// Writes the picture.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn write(&self, png: &[u8]) -> anyhow::Result<()> {
        deliver::write(&self.args.out, png, self.args.force, &self.args.files)
    }
}
