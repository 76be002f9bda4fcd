//! Two or more sides set against the first, in the terminal.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;

use super::deliver::Delivery;
use super::options::{Reading, RunArgs};
use super::{choices, load, shown};
use crate::data::{AlignBy, CompareOptions, Inspection, Options};
use crate::inspect::{self, Library};
use crate::report::{Compared, json, text};

/// Options of `compare`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  firstpulse compare\n  firstpulse compare before.csv after.csv --controller UC3844 --setup mains\n  firstpulse compare cold.csv warm.csv sprayed.csv --align start\n  firstpulse compare good-unit/ bad-unit/ --json --out compared.json"
)]
pub struct CompareArgs {
    /// Before, then after: captures, or folders whose files are the shots of one run; more sides are each set against the first. Without, the built-in example before and after its repair
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
    let sides = match args.sides.as_slice() {
        [] => built_in(&read, &told, &library)?,
        [one] => bail!(
            "{}: a comparison needs two sides, before and after; this is one",
            shown(one)
        ),
        all => all
            .iter()
            .map(|side| of_path(side, &read, &told, &library))
            .collect::<Result<_, _>>()?,
    };
    let options = CompareOptions {
        align: args.align,
        same_instruments: args.same_instruments,
    };
    let Some(((base, before), others)) = sides.split_first() else {
        bail!("there is nothing to compare");
    };
    let compared: Vec<Compared> = others
        .iter()
        .map(|(title, after)| Compared {
            before: base.clone(),
            after: title.clone(),
            comparison: inspect::compare(before, after, &options),
        })
        .collect();
    if args.delivery.json {
        args.delivery
            .object(&json::compared(&compared), &args.sides)?;
    } else {
        let page = text::compared(&compared, args.delivery.ascii());
        args.delivery.text(&page, &args.sides)?;
    }
    Ok(0)
}

type Sides = Vec<(String, Inspection)>;

fn built_in(read: &Reading, told: &Options, library: &Library) -> anyhow::Result<Sides> {
    let case = load::case(&[], read, told)?;
    let inspections = load::examine(&case, library)?;
    let titles = case.groups.iter().map(|group| group.title.clone());
    Ok(titles.zip(inspections).collect())
}

/// One side: a file, or a folder whose files are the shots of one run.
fn of_path(
    path: &Path,
    read: &Reading,
    told: &Options,
    library: &Library,
) -> anyhow::Result<(String, Inspection)> {
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
