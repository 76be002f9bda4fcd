//! The main job in the terminal.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::args::InspectArgs;
use super::deliver::Delivery;
use super::options::Reading;
use super::{error_chain, load, record, shown, worst};
use crate::data::{Inspection, Options};
use crate::inspect::{self, Case, Library, Shot};
use crate::job::is_job;
use crate::report::{json, text};

pub(super) fn run(args: InspectArgs) -> anyhow::Result<u8> {
    args.run.check()?;
    args.delivery.check(&args.run.inputs(&args.files))?;
    let (read, told) = (args.run.reading()?, args.run.options()?);
    let library = args.run.library()?;
    let Some(folder) = &args.save_job else {
        return job(
            &args.files,
            &read,
            &told,
            &library,
            &args.delivery,
            args.budget,
        );
    };
    record::check_new(folder, &args.files, &told)?;
    let (case, files) = load::case_and_files(&args.files, &read, &told)?;
    let code = show(&case, &args.files, &library, &args.delivery, args.budget)?;
    record::keep(folder, &args.files, &files, &told)?;
    Ok(code)
}

/// Inspects the shots of a run, a job, the files of a folder, or the built-in unit.
pub(super) fn job(
    files: &[PathBuf],
    read: &Reading,
    told: &Options,
    library: &Library,
    delivery: &Delivery,
    budget: bool,
) -> anyhow::Result<u8> {
    if let [folder] = files
        && folder.is_dir()
    {
        if is_job(folder) {
            return record::inspect_job(folder, read, told, library, delivery, budget);
        }
        return batch(folder, read, told, library, delivery, budget);
    }
    let case = load::case(files, read, told)?;
    show(&case, files, library, delivery, budget)
}

fn show(
    case: &Case,
    files: &[PathBuf],
    library: &Library,
    delivery: &Delivery,
    budget: bool,
) -> anyhow::Result<u8> {
    let inspections = load::examine(case, library)?;
    let runs: Vec<(&str, &Inspection)> = case
        .groups
        .iter()
        .map(|g| g.title.as_str())
        .zip(&inspections)
        .collect();
    if delivery.json {
        delivery.object(&json::case(&case.title, &runs), files)?;
    } else {
        let mut page = text::case(&case.title, &runs, delivery.ascii());
        for (title, run) in runs.iter().filter(|_| budget) {
            let title = (runs.len() > 1).then_some(*title);
            page.push_str(&text::budgets(title, run, delivery.ascii()));
        }
        delivery.text(&page, files)?;
    }
    Ok(inspections.first().map_or(2, Inspection::exit_code))
}

fn batch(
    folder: &Path,
    read: &Reading,
    told: &Options,
    library: &Library,
    delivery: &Delivery,
    budget: bool,
) -> anyhow::Result<u8> {
    let load::Folder { files, skipped, .. } = load::folder(folder)?;
    delivery.check(&files)?;
    let mut exit = 0;
    let mut results: Vec<(String, Result<Inspection, String>)> = Vec::new();
    for file in &files {
        let name = shown(Path::new(file.file_name().unwrap_or(file.as_os_str())));
        let outcome = load::shots(file, read)
            .and_then(|shots| examine(&shots, told, library))
            .map_err(|error| error_chain(error.as_ref()));
        exit = worst(exit, outcome.as_ref().map_or(2, Inspection::exit_code));
        if let Err(why) = &outcome {
            super::deliver::remark(why);
        }
        results.push((name, outcome));
    }
    if delivery.json {
        delivery.object(&json::batch(&results, &skipped, exit), &files)?;
    } else {
        let mut page = text::batch(&shown(folder), &results, &skipped, delivery.ascii());
        for (name, result) in results.iter().filter(|_| budget) {
            if let Ok(run) = result {
                page.push_str(&text::budgets(Some(name), run, delivery.ascii()));
            }
        }
        delivery.text(&page, &files)?;
    }
    Ok(exit)
}

fn examine(shots: &[Arc<Shot>], told: &Options, library: &Library) -> anyhow::Result<Inspection> {
    Ok(inspect::examine(shots, told, library)?)
}
