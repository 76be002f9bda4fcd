//! A folder with a record is a job: its runs inspected; and a run kept as a new job.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use anyhow::{Context, bail};

use super::deliver::{Delivery, remark};
use super::load::Read;
use super::options::{Reading, over};
use super::shown;
use crate::data::job::{CaptureFile, Job, Run, RunShot, date};
use crate::data::{Options, Progress, Source};
use crate::inspect::Library;
use crate::job::{self, Inspected, Store};
use crate::report::{JobReport, json, text};

/// A job, read and inspected.
pub(super) struct OneJob {
    /// The folder's name, or that of the built-in example.
    pub(super) name: String,
    /// The record with its captures and inspected runs.
    pub(super) found: Inspected,
    /// Files of the job that nothing may overwrite.
    pub(super) inputs: Vec<PathBuf>,
}

impl OneJob {
    /// The job as both renderings take it.
    pub(super) fn report(&self) -> JobReport<'_> {
        JobReport::of(&self.found, &self.name)
    }
}

/// Reads and inspects the job of a folder, or the built-in one; files and runs that can't be used are named
/// beside the result.
///
/// # Errors
/// When the record can't be read, or none of its runs can be inspected.
pub(super) fn open(
    folder: Option<&Path>,
    read: &Reading,
    told: &Options,
    library: &Library,
) -> anyhow::Result<OneJob> {
    if !told.steps.is_empty() {
        bail!("--steps: a job keeps its voltage steps in its record; write them there");
    }
    let reading = |source: &dyn Source| read.of(source);
    let loaded = match folder {
        Some(folder) => job::load(folder, &reading, &Progress::new())?,
        None => job::demo(&reading, &Progress::new())?,
    };
    let inputs = folder.map_or_else(Vec::new, |folder| job::files_of(folder, &loaded.job));
    let found = Inspected::of(loaded, &|of_run| over(of_run, told), library);
    for problem in &found.loaded.problems {
        remark(&format!("{}: {}", problem.file, problem.text));
    }
    for (number, why) in &found.failed {
        remark(&format!("run {}: {why}", number + 1));
    }
    if found.runs.is_empty() {
        let record = folder.map_or_else(|| job::RECORD.into(), |folder| folder.join(job::RECORD));
        bail!(
            "{}: no run of the record could be inspected; it needs one with a capture, a reading or a voltage step",
            shown(&record)
        );
    }
    Ok(OneJob {
        name: folder.map_or_else(|| "built-in example".to_owned(), name_of),
        found,
        inputs,
    })
}

fn name_of(folder: &Path) -> String {
    let name = folder.canonicalize().ok();
    let name = name.as_deref().and_then(Path::file_name).map(Path::new);
    shown(name.unwrap_or(folder))
}

/// Inspects the job of a folder, each run.
pub(super) fn inspect_job(
    folder: &Path,
    read: &Reading,
    told: &Options,
    library: &Library,
    delivery: &Delivery,
    budget: bool,
) -> anyhow::Result<u8> {
    let one = open(Some(folder), read, told, library)?;
    delivery.check(&one.inputs)?;
    let report = one.report();
    if delivery.json {
        delivery.object(&json::job(&report), &one.inputs)?;
    } else {
        let mut page = text::job(&report, delivery.ascii());
        for (number, run) in one.found.runs.iter().filter(|_| budget) {
            let title = report.run(*number).map(|run| run.title.as_str());
            page.push_str(&text::budgets(title, run, delivery.ascii()));
        }
        delivery.text(&page, &one.inputs)?;
    }
    Ok(report.exit_code())
}

/// Refuses early a folder in which no new job can be kept.
pub(super) fn check_new(folder: &Path, files: &[PathBuf], told: &Options) -> anyhow::Result<()> {
    if files.is_empty() && told.steps.is_empty() || files.iter().any(|file| file.is_dir()) {
        bail!("--save-job: captures or --steps are needed to keep");
    }
    if job::is_job(folder) {
        bail!(
            "--save-job {}: there is a record in it already, which is not replaced",
            shown(folder)
        );
    }
    Ok(())
}

/// Keeps what was read and told as a new job: copies of the captures, and one run.
pub(super) fn keep(
    folder: &Path,
    files: &[PathBuf],
    read: &Read,
    told: &Options,
) -> anyhow::Result<()> {
    let problem = || format!("--save-job {}", shown(folder));
    let now = now();
    let mut store = Store::create(folder, &now).with_context(problem)?;
    let mut captures: Vec<CaptureFile> = Vec::new();
    let mut paths: Vec<String> = Vec::new();
    for (file, layout) in files.iter().zip(&read.layouts) {
        let capture = store.add_capture(file, layout).with_context(problem)?;
        paths.push(capture.file.clone());
        if !captures.iter().any(|known| known.file == capture.file) {
            captures.push(capture);
        }
    }
    let run = Run {
        title: "as given".to_owned(),
        date: now.clone(),
        shots: shots(read, &paths),
        ..Run::default()
    };
    let mut record = Job {
        opened: now.clone(),
        changed: now,
        captures,
        runs: vec![run],
        ..Job::default()
    };
    record.tell(0, told);
    store.save(&record).with_context(problem)?;
    remark(&format!(
        "the job is kept in {}; its record {} may be edited",
        shown(folder),
        job::RECORD
    ));
    Ok(())
}

fn shots(read: &Read, paths: &[String]) -> Vec<RunShot> {
    let path = |shot: &usize| {
        let file = read.origins.get(*shot).map(|origin| origin.0);
        file.and_then(|file| paths.get(file))
            .cloned()
            .unwrap_or_default()
    };
    let whole = read.parts.iter().filter_map(|part| {
        let (first, others) = part.split_first()?;
        let (file, number) = *read.origins.get(*first)?;
        let several = read
            .origins
            .iter()
            .filter(|origin| origin.0 == file)
            .count()
            > 1;
        Some(RunShot {
            file: path(first),
            capture: several.then_some(number),
            with: others.iter().map(path).collect(),
            ..RunShot::default()
        })
    });
    whole.collect()
}

pub(super) fn now() -> String {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    date::from_unix_seconds(since.map_or(0, |since| since.as_secs()))
}
