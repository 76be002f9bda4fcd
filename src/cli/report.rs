//! A job as a page to print, as a table, or as an object.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::{Args, ValueEnum};

use super::deliver::Delivery;
use super::options::RunArgs;
use super::record;
use super::{choices, shown};
use crate::job;
use crate::report::{Format as Written, written};

/// What is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// A page to print, with pictures, in one file
    Html,
    /// The measured values of all runs, a row each
    Csv,
    /// The object of `inspect JOB --json`
    Json,
}

/// Options of `report`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  firstpulse report --out page.html\n  firstpulse report job/ --out page.html\n  firstpulse report job/ --out measured.csv\n\nA photo of up to 2 MB is shown on the page, up to 16 MB of them; others are named."
)]
pub struct ReportArgs {
    /// The folder of the job, with its record (job.toml); without, the built-in example
    #[arg(value_name = "JOB")]
    job: Option<PathBuf>,
    /// What to write; without, by the ending of --out, else the page
    #[arg(long, value_enum)]
    format: Option<Format>,
    /// The date on the page, for instance 2026-11-26; without, today's
    #[arg(long, value_name = "DATE", value_parser = choices::date)]
    date: Option<String>,
    #[command(flatten)]
    run: RunArgs,
    #[command(flatten)]
    delivery: Delivery,
}

pub(super) fn run(args: &ReportArgs) -> anyhow::Result<u8> {
    args.run.check()?;
    args.delivery.check(&args.run.inputs(&[]))?;
    let format = format_of(args)?;
    let folder = args.job.as_deref();
    if let Some(folder) = folder
        && !job::is_job(folder)
    {
        bail!(
            "{}: there is no record (job.toml) in it; inspect FILE… --save-job DIR makes one",
            shown(folder)
        );
    }
    let library = args.run.library()?;
    let one = record::open(folder, &args.run.reading()?, &args.run.options()?, &library)?;
    args.delivery.check(&one.inputs)?;
    let of_folder = |folder: &Path| job::photos(folder, &one.found.loaded.job);
    let photos = folder.filter(|_| format == Written::Page);
    let photos = photos.map_or_else(Vec::new, of_folder);
    let today = || record::now().chars().take(10).collect();
    let date: String = args.date.clone().unwrap_or_else(today);
    let text = written(&one.found, &one.name, &photos, &date, format);
    args.delivery.text(&text, &one.inputs)?;
    Ok(if one.report().exit_code() == 2 { 2 } else { 0 })
}

fn format_of(args: &ReportArgs) -> anyhow::Result<Written> {
    let told = match (args.format, args.delivery.json) {
        (Some(Format::Json) | None, true) => Some(Written::Object),
        (Some(_), true) => bail!("--json and --format ask for different things"),
        (Some(Format::Json), false) => Some(Written::Object),
        (Some(Format::Csv), false) => Some(Written::Table),
        (Some(Format::Html), false) => Some(Written::Page),
        (None, false) => Written::by_ending(&args.delivery.ending()),
    };
    Ok(told.unwrap_or(Written::Page))
}
