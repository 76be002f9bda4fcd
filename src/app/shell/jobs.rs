//! The window's work on the folder of a job.

use std::sync::Arc;

use egui::Context;

use super::super::commands::Effect;
use super::super::job;
use super::super::job::files::{self, JobDone};
use super::super::job::page;
use super::super::job::recent;
use super::super::state::Problem;
use super::super::task::Ended;
use super::{Shell, died, judge, waker};

impl Shell {
    /// Takes what work on the folder gave, and saves what changed since.
    pub(super) fn keep_job(&mut self, ctx: &Context) {
        match self.job.poll() {
            Some(Ended::Done(done)) => self.take_job(ctx, done),
            Some(Ended::Failed(why)) => {
                self.state.job.busy = false;
                let attempt = "Look at the folder, then try again.";
                let problem = Problem::new("The job was not opened", why, attempt);
                self.state.problems.push(problem);
            }
            Some(Ended::Cancelled) => self.state.job.busy = false,
            Some(Ended::Died) => {
                self.state.job.busy = false;
                self.state.problems.push(died("Work on the job's folder"));
            }
            None => {}
        }
        if self.job.is_running() {
            return;
        }
        if let Some((held, job)) = files::unsaved(&self.state) {
            let work = move |_: &_| Ok(files::saved(held, job));
            self.job.start("save", waker(ctx), work);
        }
    }

    /// What came of work is an edit of the record too, not only what is told.
    pub(super) fn note_job(&mut self, ctx: &Context, name: &str) {
        if let Some(effect) = job::note(&mut self.state, name) {
            self.follow(ctx, effect);
        }
    }

    fn take_job(&mut self, ctx: &Context, done: JobDone) {
        // the list is of this desktop: tests and pictures have none, and leave it alone
        if self.remembers
            && let Some(folder) = done.folder()
        {
            recent::remember(folder);
        }
        if let Some(effect) = files::take(&mut self.state, done) {
            self.follow(ctx, effect);
        }
    }

    /// Takes what came of writing the report, and of showing a file.
    pub(super) fn take_page(&mut self) {
        match self.paging.poll() {
            Some(Ended::Done(came)) => page::take(&mut self.state, came),
            Some(Ended::Failed(why)) => {
                self.state.job.page.said = Some(format!("Not written: {why}."));
            }
            Some(Ended::Died) => self.state.problems.push(died("Writing the report")),
            Some(Ended::Cancelled) | None => {}
        }
        if let Some(Ended::Done(Some(why))) = self.showing.poll() {
            self.state.job.page.said = Some(why);
        }
    }

    /// Starts writing the report.
    pub(super) fn write_page(&mut self, ctx: &Context) {
        let Some(wanted) = page::wanted(&self.state) else {
            return;
        };
        self.state.job.page.said = Some("Writing the report…".to_owned());
        let library = Arc::clone(&self.library);
        self.paging.start("report", waker(ctx), move |_| {
            page::write(wanted, judge(&library)?)
        });
    }

    /// Starts work on a folder.
    pub(super) fn on_job(&mut self, ctx: &Context, effect: Effect) {
        self.state.job.busy = true;
        match effect {
            Effect::KeepJob(folder) => {
                let job = self.state.job.job().clone();
                let work = move |_: &_| Ok(files::kept(&folder, job));
                self.job.start("keep", waker(ctx), work);
            }
            Effect::OpenJob(folder, take_over) => {
                let told = self.state.read.clone();
                self.job.start("open", waker(ctx), move |progress| {
                    files::opened(&folder, take_over, &told, progress)
                });
            }
            Effect::AttachPictures(paths, words) => {
                let Some(held) = self.state.job.held.clone() else {
                    self.state.job.busy = false;
                    return;
                };
                let work = move |_: &_| Ok(files::attached(&held, &paths, &words));
                self.job.start("attach", waker(ctx), work);
            }
            _ => self.state.job.busy = false,
        }
    }
}
