//! A job as a page to print, as a table, or as an object.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::{Args, ValueEnum};

use super::deliver::Delivery;
use super::options::RunArgs;
use super::record::{self, OneJob};
use super::{choices, shown};
use crate::data::CompareOptions;
use crate::data::drawing::Drawing;
use crate::inspect::drawing;
use crate::job;
use crate::report::html::{Photo, Sheet, page};
use crate::report::{csv, json};

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

/// Most bytes of a photo that is shown, and of all of them.
const MOST_PHOTO: u64 = 2_000_000;
const MOST_PHOTOS: u64 = 16_000_000;
/// Pixel columns of a lane.
const COLUMNS: usize = 640;

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
    match format {
        Format::Json => args
            .delivery
            .object(&json::job(&one.report()), &one.inputs)?,
        Format::Csv => args
            .delivery
            .text(&csv::measured(&one.report()), &one.inputs)?,
        Format::Html => args.delivery.text(&written(args, &one), &one.inputs)?,
    }
    Ok(if one.report().exit_code() == 2 { 2 } else { 0 })
}

fn format_of(args: &ReportArgs) -> anyhow::Result<Format> {
    let told = match (args.format, args.delivery.json) {
        (Some(Format::Json) | None, true) => Some(Format::Json),
        (Some(_), true) => bail!("--json and --format ask for different things"),
        (told, false) => told,
    };
    let by_ending = match args.delivery.ending().as_str() {
        "csv" => Format::Csv,
        "json" => Format::Json,
        _ => Format::Html,
    };
    Ok(told.unwrap_or(by_ending))
}

fn written(args: &ReportArgs, one: &OneJob) -> String {
    let today = || record::now().chars().take(10).collect();
    let date: String = args.date.clone().unwrap_or_else(today);
    let photos = args
        .job
        .as_deref()
        .map_or_else(Vec::new, |folder| photos(folder, one));
    page(&Sheet {
        report: &one.report(),
        compared: &one.before_and_after(&CompareOptions::default()),
        drawings: &drawings(one),
        photos: &photos,
        date: &date,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// Lanes and loop of each run that was inspected.
fn drawings(one: &OneJob) -> Vec<(usize, Vec<Drawing>)> {
    let of = |(number, found): &(usize, crate::data::Inspection)| {
        let index = one.loaded.runs.iter().position(|run| run == number)?;
        let group = one.loaded.case.groups.get(index)?;
        let shots = group.shots.iter().enumerate();
        let lanes = shots.filter_map(|(shot, raw)| drawing::lanes(raw, found, shot, COLUMNS));
        let all = lanes.chain(drawing::over_vcc(&group.shots, found));
        Some((*number, all.collect()))
    };
    one.runs.iter().filter_map(of).collect()
}

fn photos(folder: &Path, one: &OneJob) -> Vec<Photo> {
    let mut left = MOST_PHOTOS;
    let pictures = one.loaded.job.pictures.iter();
    let one = pictures.map(|picture| {
        let content = job::photo(folder, picture, MOST_PHOTO.min(left));
        if let Ok((_, bytes)) = &content {
            left = left.saturating_sub(bytes.len() as u64);
        }
        Photo {
            file: picture.file.clone(),
            title: picture.title.clone(),
            content,
        }
    });
    one.collect()
}
