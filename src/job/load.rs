//! From a record to what is inspected: its runs as groups of shots with what was told about them.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use super::error::{JobError, shown};
use super::problem::{Problem, ProblemKind, problems};
use super::{place, store};
use crate::data::job::{Job, Run, RunShot};
use crate::data::options::ChannelChoice;
use crate::data::{Cancelled, Options, Progress, Source};
use crate::inspect::{self, Case, FileSource, Group, InspectError, ReadOptions, Shot};

/// A job made ready to be inspected.
#[derive(Debug)]
pub struct Loaded {
    /// The record.
    pub job: Job,
    /// Its runs that have something to inspect, as groups of a case.
    pub case: Case,
    /// For each group of the case, the number of its run in the record, from 0.
    pub runs: Vec<usize>,
    /// Files that are missing, altered or can't be read. A shot without its file is left out of its run.
    pub problems: Vec<Problem>,
}

/// Reads the record of a folder and its captures. What `told` says about reading a
/// source goes before what the record says. Files are checked against their hashes first.
///
/// # Errors
/// [`InspectError::Option`] where the record can't be read, [`InspectError::Cancelled`]. Files that
/// can't be read are no error: see [`Loaded::problems`].
pub fn load(folder: &Path, told: &Told<'_>, progress: &Progress) -> Result<Loaded, InspectError> {
    let job = store::read(folder).map_err(|error| InspectError::Option(error.to_string()))?;
    let known = problems(folder, &job);
    let open = |file: &str| -> Result<Arc<dyn Source>, Problem> {
        let path = place::inside(folder, file).map_err(|error| Problem::missing(file, &error))?;
        let source = FileSource::open(&path).map_err(|error| unread(file, &error.to_string()))?;
        Ok(Arc::new(source))
    };
    load_with(job, known, &open, told, progress)
}

/// As [`load`], for a record and files that lie somewhere else: `open` gives the source of a file that
/// the record names. No hash is looked at.
///
/// # Errors
/// [`InspectError::Cancelled`].
pub fn load_from(
    job: Job,
    open: &dyn Fn(&str) -> Option<Arc<dyn Source>>,
    told: &Told<'_>,
    progress: &Progress,
) -> Result<Loaded, InspectError> {
    let open = |file: &str| {
        let gone = || JobError::refused(Path::new(file), "is not there");
        open(file).ok_or_else(|| Problem::missing(file, &gone()))
    };
    load_with(job, Vec::new(), &open, told, progress)
}

/// What was told about reading a source.
pub type Told<'a> = dyn Fn(&dyn Source) -> ReadOptions + 'a;

type Open<'a> = dyn Fn(&str) -> Result<Arc<dyn Source>, Problem> + 'a;

fn load_with(
    job: Job,
    problems: Vec<Problem>,
    open: &Open<'_>,
    told: &Told<'_>,
    progress: &Progress,
) -> Result<Loaded, InspectError> {
    let mut reading = Reading {
        job: &job,
        open,
        told,
        progress,
        files: BTreeMap::new(),
        problems,
    };
    let (mut groups, mut runs) = (Vec::new(), Vec::new());
    for (number, run) in job.runs.iter().enumerate() {
        let Some(options) = job.options(number) else {
            continue;
        };
        let group = reading.group(run, options)?;
        if has_something(&group) {
            groups.push(group);
            runs.push(number);
        }
    }
    let problems = reading.problems;
    let case = Case {
        title: job.unit.name.clone(),
        groups,
    };
    Ok(Loaded {
        job,
        case,
        runs,
        problems,
    })
}

/// Has a run something to inspect: a capture, a reading or a voltage step?
pub fn has_something(group: &Group) -> bool {
    let told = &group.options;
    !group.shots.is_empty() || !told.steps.is_empty() || !told.readings.is_empty()
}

/// Files as they are read, each once.
struct Reading<'a> {
    job: &'a Job,
    open: &'a Open<'a>,
    told: &'a Told<'a>,
    progress: &'a Progress,
    files: BTreeMap<String, Vec<Arc<Shot>>>,
    problems: Vec<Problem>,
}

impl Reading<'_> {
    fn group(&mut self, run: &Run, options: Options) -> Result<Group, Cancelled> {
        let mut shots = Vec::new();
        let mut missing = Vec::new();
        for (index, shot) in run.shots.iter().enumerate() {
            match self.shot(shot)? {
                Some(found) => shots.push(found),
                None => missing.push(index),
            }
        }
        Ok(Group {
            title: run.title.clone(),
            shots,
            options: without(options, &missing),
        })
    }

    /// The shot, or `None` where a file of it can't be read, which is then in the problems.
    fn shot(&mut self, shot: &RunShot) -> Result<Option<Arc<Shot>>, Cancelled> {
        let number = shot.capture.unwrap_or(1);
        let Some(first) = self.capture(&shot.file, number)? else {
            return Ok(None);
        };
        if shot.with.is_empty() {
            return Ok(Some(first));
        }
        let mut all = vec![first];
        for file in &shot.with {
            match self.capture(file, 1)? {
                Some(other) => all.push(other),
                None => return Ok(None),
            }
        }
        if inspect::together(&all).len() == 1 {
            return Ok(inspect::joined(&all, "as the record says"));
        }
        let why = "and the files with it are not of one channel each with equal times, so they are no one shot";
        self.note(unread(&shot.file, why));
        Ok(None)
    }

    fn capture(&mut self, file: &str, number: usize) -> Result<Option<Arc<Shot>>, Cancelled> {
        if !self.files.contains_key(file) {
            let found = match self.read(file) {
                Ok(shots) => shots,
                Err(Failed::Cancelled(cancelled)) => return Err(cancelled),
                Err(Failed::Problem(problem)) => {
                    self.note(problem);
                    Vec::new()
                }
            };
            self.files.insert(file.to_owned(), found);
        }
        let shots = self.files.get(file).map_or(&[][..], Vec::as_slice);
        let (count, found) = (shots.len(), shots.get(number - 1).cloned());
        if found.is_none() && count > 0 {
            let why = format!("has {count} captures, and the record names number {number}");
            self.note(unread(file, &why));
        }
        Ok(found)
    }

    fn read(&self, file: &str) -> Result<Vec<Arc<Shot>>, Failed> {
        let source = (self.open)(file).map_err(Failed::Problem)?;
        let mut options = (self.told)(source.as_ref());
        for (key, value) in self.job.capture(file).into_iter().flat_map(|c| &c.layout) {
            options
                .layout
                .entry(key.clone())
                .or_insert_with(|| value.clone());
        }
        match inspect::load(&source, &options, self.progress) {
            Ok(shots) if shots.is_empty() => {
                Err(Failed::Problem(unread(file, "no capture was found in it")))
            }
            Ok(shots) => Ok(shots),
            Err(InspectError::Cancelled(cancelled)) => Err(Failed::Cancelled(cancelled)),
            Err(error) => Err(Failed::Problem(unread(file, &error.to_string()))),
        }
    }

    /// Keeps a problem, unless the file is known to be missing already.
    fn note(&mut self, problem: Problem) {
        let same = |known: &Problem| known.file == problem.file && known.kind == problem.kind;
        if !self.problems.iter().any(same) {
            self.problems.push(problem);
        }
    }
}

enum Failed {
    Cancelled(Cancelled),
    Problem(Problem),
}

fn unread(file: &str, why: &str) -> Problem {
    Problem {
        file: file.to_owned(),
        kind: ProblemKind::Unread,
        text: format!("{}: {why}", shown(Path::new(file))),
    }
}

/// The options without those that name a shot that is left out; the numbers of later shots move up.
fn without(mut options: Options, missing: &[usize]) -> Options {
    if missing.is_empty() {
        return options;
    }
    let moved = |index: usize| {
        let before = missing.iter().filter(|gone| **gone < index).count();
        (!missing.contains(&index)).then_some(index - before)
    };
    let stays = |channel: &mut ChannelChoice| match channel.capture {
        None => true,
        Some(number) => {
            channel.capture = moved(number.saturating_sub(1)).map(|index| index + 1);
            channel.capture.is_some()
        }
    };
    options.roles.retain_mut(|role| stays(&mut role.channel));
    options.probes.retain_mut(|probe| stays(&mut probe.0));
    options
        .accuracies
        .retain_mut(|accuracy| stays(&mut accuracy.0));
    options
        .bandwidths
        .retain_mut(|bandwidth| stays(&mut bandwidth.0));
    options
        .meter_points
        .retain_mut(|point| stays(&mut point.channel));
    for group in &mut options.same_range {
        group.retain_mut(stays);
    }
    options.same_range.retain(|group| group.len() > 1);
    let setups = std::mem::take(&mut options.capture_setups);
    options.capture_setups = setups
        .into_iter()
        .filter_map(|(i, s)| Some((moved(i)?, s)))
        .collect();
    let kinds = std::mem::take(&mut options.capture_kinds);
    options.capture_kinds = kinds
        .into_iter()
        .filter_map(|(i, k)| Some((moved(i)?, k)))
        .collect();
    options
}

#[cfg(test)]
mod tests;
