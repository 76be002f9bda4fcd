//! Two or more sides set against the first, in the terminal.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;

use super::deliver::Delivery;
use super::options::{Reading, RunArgs};
use super::record::{self, OneJob};
use super::{choices, clean, load, shown};
use crate::data::{AlignBy, CompareOptions, Compared, Inspection, Options};
use crate::inspect::{self, Library};
use crate::job::is_job;
use crate::report::{json, text};

/// Options of `compare`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  firstpulse compare\n  firstpulse compare before.csv after.csv --controller UC3844 --setup mains\n  firstpulse compare cold.csv warm.csv sprayed.csv --align start\n  firstpulse compare good-unit/ bad-unit/ --json --out compared.json\n  firstpulse compare job/"
)]
pub struct CompareArgs {
    /// Before, then after: captures, or folders whose files are the shots of one run; more sides are each set against the first. One job (a folder with job.toml): its runs marked before and after; of several jobs the first run of each. Without, the built-in example before and after its repair
    #[arg(value_name = "SIDE")]
    sides: Vec<PathBuf>,
    /// How captures are laid over each other: start, edge, correlation, or by hand a time by which the same happens later in the second, for instance 1.5ms
    #[arg(long, value_name = "HOW", value_parser = choices::align, default_value = "auto", allow_hyphen_values = true)]
    align: AlignBy,
    /// The same scope inputs, probes, ranges and meter were used on all sides: their errors leave a change as far as they are one error
    #[arg(long)]
    same_instruments: bool,
    #[command(flatten)]
    run: RunArgs,
    #[command(flatten)]
    delivery: Delivery,
}

pub(super) fn run(args: &CompareArgs) -> anyhow::Result<u8> {
    args.run.check()?;
    args.delivery.check(&args.run.inputs(&args.sides))?;
    let library = args.run.library()?;
    let (read, told) = (args.run.reading()?, args.run.options()?);
    let options = CompareOptions {
        align: args.align,
        same_instruments: args.same_instruments,
    };
    let mut inputs = args.run.inputs(&args.sides);
    let compared = match args.sides.as_slice() {
        [one] if is_job(one) => {
            let job = record::open(Some(one), &read, &told, &library)?;
            inputs.extend(job.inputs.iter().cloned());
            within(one, &job, &options)?
        }
        [one] => bail!(
            "{}: a comparison needs two sides, before and after; this is one",
            shown(one)
        ),
        [] => against_first(built_in(&read, &told, &library)?, &options),
        all => {
            let side = |side: &PathBuf| of_path(side, &read, &told, &library, &mut inputs);
            let sides = all.iter().map(side).collect::<Result<_, _>>()?;
            against_first(sides, &options)
        }
    };
    args.delivery.check(&inputs)?;
    if args.delivery.json {
        args.delivery.object(&json::compared(&compared), &inputs)?;
    } else {
        let page = text::compared(&compared, args.delivery.ascii());
        args.delivery.text(&page, &inputs)?;
    }
    Ok(0)
}

type Sides = Vec<(String, Inspection)>;

/// Each side set against the first.
fn against_first(sides: Sides, options: &CompareOptions) -> Vec<Compared> {
    let Some(((base, before), others)) = sides.split_first() else {
        return Vec::new();
    };
    let one = |(title, after): &(String, Inspection)| Compared {
        before: base.clone(),
        after: title.clone(),
        comparison: inspect::compare(before, after, options),
    };
    others.iter().map(one).collect()
}

/// The runs of one job marked before and after.
fn within(folder: &Path, job: &OneJob, options: &CompareOptions) -> anyhow::Result<Vec<Compared>> {
    let compared = job.found.before_and_after(options);
    if compared.is_empty() {
        bail!(
            "{}: the record needs a run marked before and one marked after (when = \"before\", when = \"after\" under [[runs]]) that can be inspected; or give two sides",
            shown(folder)
        );
    }
    Ok(compared)
}

fn built_in(read: &Reading, told: &Options, library: &Library) -> anyhow::Result<Sides> {
    let case = load::case(&[], read, told)?;
    let inspections = load::examine(&case, library)?;
    let titles = case.groups.iter().map(|group| group.title.clone());
    Ok(titles.zip(inspections).collect())
}

/// One side: a job, of which the first run decides, a file, or a folder whose files are the shots of one run.
fn of_path(
    path: &Path,
    read: &Reading,
    told: &Options,
    library: &Library,
    inputs: &mut Vec<PathBuf>,
) -> anyhow::Result<(String, Inspection)> {
    if is_job(path) {
        let job = record::open(Some(path), read, told, library)?;
        inputs.extend(job.inputs.iter().cloned());
        return deciding(path, job);
    }
    let files = if path.is_dir() {
        load::folder(path)?.files
    } else {
        vec![path.to_owned()]
    };
    let case = load::case(&files, read, told)?;
    let Some(inspection) = load::examine(&case, library)?.into_iter().next() else {
        bail!("{}: there is no capture in it", shown(path));
    };
    let name = path.file_name().unwrap_or(path.as_os_str());
    Ok((shown(Path::new(name)), inspection))
}

/// The run of a job that decides.
fn deciding(folder: &Path, job: OneJob) -> anyhow::Result<(String, Inspection)> {
    let name = job.name;
    let Some((number, inspection)) = job.found.runs.into_iter().next() else {
        bail!("{}: no run of it could be inspected", shown(folder));
    };
    let run = job.found.loaded.job.runs.get(number);
    let title = run.map_or(String::new(), |run| clean(&run.title));
    Ok((format!("{name}: {title}"), inspection))
}
