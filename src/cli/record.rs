//! A folder with a record is a job: its runs inspected; and a run kept as a new job.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use anyhow::{Context, bail};

use super::deliver::{Delivery, remark};
use super::load::Read;
use super::options::{Reading, over};
use super::{error_chain, shown};
use crate::data::job::{CaptureFile, Job, Run, RunShot, date};
use crate::data::{Inspection, Options, Progress};
use crate::inspect::{self, Library};
use crate::job::{self, Loaded, Store};
use crate::report::{JobReport, json, text};

/// Inspects the job of a folder, each run.
pub(super) fn inspect_job(
    folder: &Path,
    read: &Reading,
    told: &Options,
    library: &Library,
    delivery: &Delivery,
    budget: bool,
) -> anyhow::Result<u8> {
    if !told.steps.is_empty() {
        bail!("--steps: a job keeps its voltage steps in its record; write them there");
    }
    let loaded = job::load(folder, &|source| read.of(source), &Progress::new())?;
    let inputs = inputs(folder, &loaded.job);
    delivery.check(&inputs)?;
    let (runs, failed) = examine(&loaded, told, library);
    for problem in &loaded.problems {
        remark(&format!("{}: {}", problem.file, problem.text));
    }
    for (number, why) in &failed {
        remark(&format!("run {}: {why}", number + 1));
    }
    if runs.is_empty() {
        bail!(
            "{}: no run of the record could be inspected; it needs one with a capture, a reading or a voltage step",
            shown(&folder.join(job::RECORD))
        );
    }
    let name = folder.canonicalize().ok();
    let name = name.as_deref().and_then(Path::file_name).map(Path::new);
    let name = shown(name.unwrap_or(folder));
    let report = JobReport {
        job: &loaded.job,
        folder: &name,
        runs: &runs,
        failed: &failed,
        problems: &loaded.problems,
    };
    if delivery.json {
        delivery.object(&json::job(&report), &inputs)?;
    } else {
        let mut page = text::job(&report, delivery.ascii());
        for (number, run) in runs.iter().filter(|_| budget) {
            let title = report.run(*number).map(|run| run.title.as_str());
            page.push_str(&text::budgets(title, run, delivery.ascii()));
        }
        delivery.text(&page, &inputs)?;
    }
    Ok(report.exit_code())
}

type Inspected = (Vec<(usize, Inspection)>, Vec<(usize, String)>);

/// The runs that could be inspected, and those that could not, by their number in the record.
fn examine(loaded: &Loaded, told: &Options, library: &Library) -> Inspected {
    let (mut runs, mut failed) = (Vec::new(), Vec::new());
    for (number, group) in loaded.runs.iter().zip(&loaded.case.groups) {
        match inspect::examine(&group.shots, &over(&group.options, told), library) {
            Ok(mut inspection) => {
                job::gates::settle(&loaded.job, &mut inspection);
                runs.push((*number, inspection));
            }
            Err(error) => failed.push((*number, error_chain(&error))),
        }
    }
    (runs, failed)
}

/// Files of the job that nothing may overwrite.
fn inputs(folder: &Path, record: &Job) -> Vec<PathBuf> {
    let captures = record.captures.iter().map(|capture| capture.file.as_str());
    let pictures = record.pictures.iter().map(|picture| picture.file.as_str());
    let own = [job::RECORD, job::BACKUP, job::LOCK];
    let all = own.into_iter().chain(captures).chain(pictures);
    all.map(|file| folder.join(file)).collect()
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

fn now() -> String {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    date::from_unix_seconds(since.map_or(0, |since| since.as_secs()))
}
