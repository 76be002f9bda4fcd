//! Every shot that was opened in a job, by the file and the place in it that it came from.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::data::job::{CaptureFile, Job, Run, RunShot};
use crate::inspect::{Group, Shot};

/// A shot with where it came from. Before a job is kept its file is named by its whole path.
#[derive(Debug, Clone)]
struct Placed {
    place: RunShot,
    shot: Arc<Shot>,
}

/// All shots.
#[derive(Debug, Clone, Default)]
pub struct Shelf {
    placed: Vec<Placed>,
    /// Import decisions that were told about a file.
    layouts: BTreeMap<String, BTreeMap<String, String>>,
    /// Files as the record has them: name, hash, decisions.
    known: Vec<CaptureFile>,
}

impl Shelf {
    /// Takes in the shots of a file, in its order.
    pub fn take(&mut self, path: &Path, layout: &BTreeMap<String, String>, shots: &[Arc<Shot>]) {
        let file = path.to_string_lossy().into_owned();
        let alone = shots.len() == 1;
        for (index, shot) in shots.iter().enumerate() {
            let place = RunShot {
                file: file.clone(),
                capture: (!alone).then_some(index + 1),
                ..RunShot::default()
            };
            self.put(place, shot);
        }
        self.layouts.insert(file, layout.clone());
    }

    /// Takes in the shots of a run of a record.
    pub fn take_run(&mut self, run: &Run, shots: &[Arc<Shot>]) {
        for (place, shot) in run.shots.iter().zip(shots) {
            self.put(place.clone(), shot);
        }
    }

    /// Takes in one shot that was made of several files.
    pub fn take_joined(&mut self, parts: &[Arc<Shot>], whole: &Arc<Shot>) {
        let places = parts.iter().map(|part| self.place(part).cloned());
        let Some(places) = places.collect::<Option<Vec<RunShot>>>() else {
            return;
        };
        let Some((first, rest)) = places.split_first() else {
            return;
        };
        let place = RunShot {
            with: rest.iter().map(|place| place.file.clone()).collect(),
            ..first.clone()
        };
        self.put(place, whole);
    }

    /// Takes over what a record says of its files.
    pub fn know(&mut self, captures: &[CaptureFile]) {
        self.known = captures.to_vec();
    }

    fn put(&mut self, place: RunShot, shot: &Arc<Shot>) {
        let place = RunShot {
            setup: None,
            kind: None,
            ..place
        };
        // a file may be opened twice: each of its shots keeps its origin
        self.placed.retain(|known| !Arc::ptr_eq(&known.shot, shot));
        self.placed.push(Placed {
            place,
            shot: Arc::clone(shot),
        });
    }

    fn place(&self, shot: &Arc<Shot>) -> Option<&RunShot> {
        let mut of_it = self.placed.iter();
        let found = of_it.find(|placed| Arc::ptr_eq(&placed.shot, shot))?;
        Some(&found.place)
    }

    /// The shots of a group, as a record names them; those of unknown origin are left out.
    pub fn shots_of(&self, group: &Group) -> Vec<RunShot> {
        let places = group.shots.iter().filter_map(|shot| self.place(shot));
        places.cloned().collect()
    }

    /// The shots that a run of a record names.
    pub fn shots(&self, run: &Run) -> Vec<Arc<Shot>> {
        let same = |place: &RunShot, wanted: &RunShot| {
            place.file == wanted.file
                && place.capture == wanted.capture
                && place.with == wanted.with
        };
        let found = run.shots.iter().filter_map(|wanted| {
            // the one that was read last
            let mut all = self.placed.iter().rev();
            all.find(|placed| same(&placed.place, wanted))
        });
        found.map(|placed| Arc::clone(&placed.shot)).collect()
    }

    /// Names in the record every file that a run of it needs, and keeps those that it named already.
    pub fn files_of(&self, job: &mut Job) {
        let needed = job.runs.iter().flat_map(|run| &run.shots);
        let needed = needed.flat_map(|shot| std::iter::once(&shot.file).chain(&shot.with));
        let needed: Vec<String> = needed.cloned().collect();
        for file in needed {
            if job.capture(&file).is_some() {
                continue;
            }
            let known = self.known.iter().find(|known| known.file == file);
            job.captures.push(known.cloned().unwrap_or(CaptureFile {
                layout: self.layouts.get(&file).cloned().unwrap_or_default(),
                file,
                sha256: String::new(),
            }));
        }
    }

    /// Files that a record names by their whole path: those that are not in its folder yet.
    pub fn outside(job: &Job) -> Vec<(PathBuf, BTreeMap<String, String>)> {
        let outside = job.captures.iter().filter(|c| c.sha256.is_empty());
        let named = outside.map(|c| (PathBuf::from(&c.file), c.layout.clone()));
        named.collect()
    }

    /// The names of files after they were copied into a folder, here and in a record.
    pub fn rename(&mut self, names: &BTreeMap<String, CaptureFile>) {
        let renamed = |file: &mut String| {
            if let Some(new) = names.get(file) {
                file.clone_from(&new.file);
            }
        };
        for placed in &mut self.placed {
            renamed(&mut placed.place.file);
            placed.place.with.iter_mut().for_each(renamed);
        }
        self.known.extend(names.values().cloned());
    }
}

/// The names of files after they were copied into a folder.
pub fn rename_in(job: &mut Job, names: &BTreeMap<String, CaptureFile>) {
    for capture in &mut job.captures {
        if let Some(new) = names.get(&capture.file) {
            capture.clone_from(new);
        }
    }
    let renamed = |file: &mut String| {
        if let Some(new) = names.get(file) {
            file.clone_from(&new.file);
        }
    };
    for shot in job.runs.iter_mut().flat_map(|run| &mut run.shots) {
        renamed(&mut shot.file);
        shot.with.iter_mut().for_each(renamed);
    }
    // two files of one content have one name
    let mut seen: Vec<String> = Vec::new();
    job.captures.retain(|capture| {
        let new = !seen.contains(&capture.file);
        seen.push(capture.file.clone());
        new
    });
}
