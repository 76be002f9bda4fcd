//! Schema 0: the first form of a record, which had no number: a title, groups of shots with their
//! set-ups, and the captures beside it. It is read, and becomes the next schema; it is never written.

use std::collections::BTreeMap;

use super::form::{Form, file, named, parts, readings, text, word};
use crate::data::Setup;
use crate::data::job::{CaptureFile, Job, JobUnit, Marking, Run, RunShot};

/// The record as it was.
#[derive(Debug, Default)]
pub(super) struct Draft {
    title: String,
    controller: String,
    parts: BTreeMap<String, f64>,
    readings: BTreeMap<String, f64>,
    groups: Vec<Group>,
}

#[derive(Debug, Default)]
struct Group {
    title: String,
    shots: Vec<Shot>,
}

#[derive(Debug, Default)]
struct Shot {
    file: String,
    setup: Option<Setup>,
}

/// Its keys.
pub(super) fn describe<F: Form>(form: &mut F, draft: &mut Draft) {
    named(form, "title", &mut draft.title);
    text(form, "controller", &mut draft.controller);
    parts(form, &mut draft.parts);
    readings(form, &mut draft.readings);
    form.list("groups", &mut draft.groups, |form, group: &mut Group| {
        named(form, "title", &mut group.title);
        form.list("shots", &mut group.shots, |form, shot: &mut Shot| {
            file(form, "file", &mut shot.file);
            word(form, "setup", &mut shot.setup);
        });
    });
}

/// The next schema's record of the same job. The readings stood for every group.
pub(super) fn forward(draft: Draft) -> Job {
    let (name, complaint) = match draft.title.split_once(": ") {
        Some((name, complaint)) => (name.to_owned(), complaint.to_owned()),
        None => (draft.title, String::new()),
    };
    let mut job = Job {
        unit: JobUnit {
            name,
            ..JobUnit::default()
        },
        complaint,
        controller: Marking {
            marking: draft.controller,
            trusted: None,
        },
        parts: draft.parts,
        ..Job::default()
    };
    for group in draft.groups {
        let mut run = Run {
            title: group.title,
            readings: draft.readings.clone(),
            ..Run::default()
        };
        for shot in group.shots {
            if job.capture(&shot.file).is_none() {
                job.captures.push(CaptureFile {
                    file: shot.file.clone(),
                    ..CaptureFile::default()
                });
            }
            run.shots.push(RunShot {
                file: shot.file,
                setup: shot.setup,
                ..RunShot::default()
            });
        }
        job.runs.push(run);
    }
    job
}
