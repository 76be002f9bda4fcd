//! What can be typed.

use std::path::PathBuf;

use clap::{ArgGroup, Args, Parser, Subcommand, ValueEnum};

use super::budget::BudgetArgs;
use super::deliver::Delivery;
use super::job::WindowJob;
use super::options::RunArgs;
use super::picture::{PictureArgs, PictureJob};
use super::{budget, choices, compare, controllers, inspect, read, simulate};
use crate::data::Stage;
use crate::data::options::Accuracy;

/// What the caller has to do.
#[derive(Debug)]
pub enum Action {
    /// Something that the terminal does by itself.
    Run(Command),
    /// Open the window.
    Window(WindowJob),
    /// Draw a picture.
    Picture(PictureJob),
    /// Try whether the window works.
    WindowCheck,
}

#[derive(Debug, Parser)]
#[command(
    name = "firstpulse",
    version,
    about = "Measures how a switch-mode supply's controller wakes, and says which stage is dead or weak and what to check next.",
    long_about = "Measures how a switch-mode supply's controller wakes, sets it against the data sheet, and says \
which stage is dead or weak and what to check next.\n\nGive it oscilloscope captures taken around the controller. \
Without a command it opens the window; without a file it shows the built-in example, an invented unit that ticks \
and never starts.",
    args_conflicts_with_subcommands = true,
    subcommand_negates_reqs = true,
    after_help = "Exit codes: 0 nothing wrong in what was tested; 1 something is outside its limits, marginal or dead; \
3 something can't be said; 2 the job could not be done.\n\nMains and charged capacitors can kill. Local rules and \
licensed practice come before anything this program writes."
)]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,

    /// Captures to open, in order, or a folder of them
    #[arg(value_name = "FILE")]
    files: Vec<PathBuf>,

    #[command(flatten)]
    run: RunArgs,
}

/// A command that the terminal does by itself, or hands to the window.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Inspect captures as the shots of one run
    Inspect(InspectArgs),
    /// Show how each file was understood
    Read(ReadArgs),
    /// Set captures or runs before and after against each other
    Compare(compare::CompareArgs),
    /// Write a job as a page to print, or its measured values as a table
    Report(super::report::ReportArgs),
    /// Write the captures of a modelled unit with a fault
    Simulate(SimulateArgs),
    /// Draw the window's view into a PNG file, or its lanes or loop into an SVG
    Picture(PictureArgs),
    /// List the controllers, or show one
    Controllers(ControllersArgs),
    /// Compute what the start-up parts allow, and what RT and CT promise
    Budget(BudgetArgs),
    /// Open a window, draw it and close it
    #[command(hide = true)]
    WindowCheck,
}

/// Options of `inspect`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  firstpulse inspect\n  firstpulse inspect sweep.csv --controller UC3844 --setup injected --role 1=vcc --role 2=vref\n  firstpulse inspect --steps steps.txt --controller UC3843 --setup injected\n  firstpulse inspect shelf/ --json --out shelf.json\n  firstpulse inspect sweep.csv --controller UC3844 --save-job job/ && firstpulse inspect job/"
)]
pub struct InspectArgs {
    /// Shots of one run, in order; or one folder: with a job's record (job.toml) in it that job, else its files, each on its own; without, the steps of --steps alone, else the built-in example
    #[arg(value_name = "FILE")]
    pub(super) files: Vec<PathBuf>,
    /// Under the report, the definition of each value and its uncertainty budget, term by term (the JSON object has them always)
    #[arg(long)]
    pub(super) budget: bool,
    /// Keep the captures and all that was told as a new job in this folder, for instance job/: copies of the captures and a record (job.toml) to edit; made if it is not there, a record in it is never replaced
    #[arg(long = "save-job", value_name = "DIR")]
    pub(super) save_job: Option<PathBuf>,
    #[command(flatten)]
    pub(super) run: RunArgs,
    #[command(flatten)]
    pub(super) delivery: Delivery,
}

/// Options of `read`.
#[derive(Debug, Args)]
#[command(after_help = read::help(), group(ArgGroup::new("replaces").multiple(true)))]
pub struct ReadArgs {
    /// Files to read
    #[arg(value_name = "FILE", required = true)]
    pub(super) files: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) layout: super::options::LayoutArgs,
    /// Keep what --layout says under this name, for files like FILE: a new layout in the folder of --layouts, for instance 'old logger'
    #[arg(long, value_name = "NAME", requires = "layouts", group = "replaces")]
    pub(super) remember: Option<String>,
    #[command(flatten)]
    pub(super) delivery: Delivery,
}

/// Options of `simulate`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  firstpulse simulate --fault aux-path-open --seed 7 --out practice/"
)]
pub struct SimulateArgs {
    /// The fault, for instance aux-path-open; a word that is not known lists them
    #[arg(long, value_name = "CAUSE")]
    pub(super) fault: String,
    /// Number that fixes noise and tolerances, for instance 7: the same seed writes the same files
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// Folder to write into, for instance practice/; made if it is not there
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub(super) out: PathBuf,
    /// Replace files that are there already
    #[arg(long)]
    pub(super) force: bool,
}

/// Options of `controllers`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  firstpulse controllers\n  firstpulse controllers UC3844AN\n  firstpulse controllers 'ST UC3844BN 0712' --part zener=18V\n  firstpulse controllers --start 15.9V --stop 9.9V --ratio 2\n  firstpulse controllers --template --out profiles/own.toml"
)]
pub struct ControllersArgs {
    /// What is printed on the part, all lines if you like, for instance UC3844AN, or an id from the list
    #[arg(value_name = "MARKING", conflicts_with_all = ["seen", "template"])]
    pub(super) marking: Option<String>,
    /// The marking may be wrong (remarked, replaced, half worn off): all parts of its class
    #[arg(long, requires = "marking")]
    pub(super) marking_not_trusted: bool,
    /// A zener on VCC, for instance zener=18V: counts for what not to exceed; other parts change nothing here
    #[arg(long = "part", value_name = "NAME=VALUE", requires = "marking", value_parser = choices::part)]
    pub(super) parts: Vec<choices::NamedPart>,
    #[command(flatten)]
    pub(super) seen: super::ranked::SeenArgs,
    /// How well voltages and current were read, for instance 0.5%+10mV; without, the usual 2% of a bench scope
    #[arg(long, value_name = "0.5%+10mV", requires = "seen", value_parser = choices::meter)]
    pub(super) meter: Option<Accuracy>,
    /// Write a commented profile to start your own from
    #[arg(long, conflicts_with_all = ["seen", "json", "folder"])]
    pub(super) template: bool,
    #[command(flatten)]
    pub(super) library: super::options::LibraryArgs,
    #[command(flatten)]
    pub(super) delivery: Delivery,
}

/// A stage, as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct StageArg(pub(super) Stage);

impl ValueEnum for StageArg {
    fn value_variants<'a>() -> &'a [Self] {
        const ALL: [StageArg; 6] = [
            StageArg(Stage::Supply),
            StageArg(Stage::Reference),
            StageArg(Stage::Oscillator),
            StageArg(Stage::Drive),
            StageArg(Stage::CurrentSense),
            StageArg(Stage::OwnSupply),
        ];
        &ALL
    }

    fn to_possible_value(&self) -> Option<clap::builder::PossibleValue> {
        Some(clap::builder::PossibleValue::new(self.0.id()))
    }
}

impl Command {
    /// Does the job and gives the exit code.
    ///
    /// # Errors
    /// When the job can't be done, with the reason.
    pub fn run(self) -> anyhow::Result<u8> {
        match self {
            Command::Inspect(args) => inspect::run(args),
            Command::Read(args) => read::run(args),
            Command::Compare(args) => compare::run(&args),
            Command::Report(args) => super::report::run(&args),
            Command::Simulate(args) => simulate::run(&args),
            Command::Controllers(args) => controllers::run(&args),
            Command::Budget(args) => budget::run(&args),
            Command::Picture(_) | Command::WindowCheck => {
                anyhow::bail!("this is for the window")
            }
        }
    }
}

/// What was typed on the command line. Help, version and mistakes in typing end the program here,
/// with 0 or 2.
pub fn parse() -> Action {
    action(Cli::parse())
}

fn action(cli: Cli) -> Action {
    match cli.command {
        None => Action::Window(WindowJob::new(cli.files, cli.run)),
        Some(Command::Picture(args)) => Action::Picture(PictureJob::new(args)),
        Some(Command::WindowCheck) => Action::WindowCheck,
        Some(command) => Action::Run(command),
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn what_can_be_typed_is_consistent_and_every_option_has_an_example() {
        let mut whole = Cli::command();
        whole.build();
        whole.clone().debug_assert();
        for command in whole.get_subcommands().chain([&whole]) {
            for arg in command.get_arguments().filter(|a| a.get_long().is_some()) {
                let takes_a_value = arg.get_action().takes_values();
                let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
                let long = arg.get_long_help().map_or(help, ToString::to_string);
                assert!(
                    !takes_a_value
                        || long.contains("for instance")
                        || !arg.get_possible_values().is_empty(),
                    "{} {arg}: {long}",
                    command.get_name()
                );
            }
        }
    }

    #[test]
    fn files_without_a_command_are_for_the_window() {
        let cli =
            Cli::try_parse_from(["firstpulse", "a.csv", "b.csv", "--setup", "mains"]).unwrap();
        let Action::Window(job) = action(cli) else {
            panic!("a window was expected");
        };
        assert_eq!(job.files.len(), 2);
        assert_eq!(job.options.setup, Some(crate::data::Setup::Mains));
    }
}
