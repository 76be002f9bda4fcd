//! Tables of what was done.

use crate::data::job::{MainsCheck, MainsChecks, Picture, Replaced, Soak, Work};
use crate::job::form::{Form, currency, date, file, flag, named, number, required, sha256, text};

pub(super) fn replaced<F: Form>(form: &mut F, replaced: &mut Replaced) {
    named(form, "part", &mut replaced.part);
    text(form, "why", &mut replaced.why);
    text(form, "with", &mut replaced.with);
    date(form, "date", &mut replaced.date);
}

pub(super) fn mains<F: Form>(form: &mut F, mains: &mut MainsChecks) {
    form.maybe("current-sense", &mut mains.current_sense, check);
    form.maybe("feedback-loop", &mut mains.feedback_loop, check);
}

fn check<F: Form>(form: &mut F, check: &mut MainsCheck) {
    named(form, "by", &mut check.by);
    date(form, "date", &mut check.date);
}

pub(super) fn soak<F: Form>(form: &mut F, soak: &mut Soak) {
    text(form, "load", &mut soak.load);
    required(form, "minutes", &mut soak.minutes);
    flag(form, "passed", &mut soak.passed);
    text(form, "result", &mut soak.result);
    date(form, "date", &mut soak.date);
}

pub(super) fn picture<F: Form>(form: &mut F, picture: &mut Picture) {
    file(form, "file", &mut picture.file);
    sha256(form, "sha256", &mut picture.sha256);
    text(form, "title", &mut picture.title);
}

pub(super) fn work<F: Form>(form: &mut F, work: &mut Work) {
    number(form, "estimate", &mut work.estimate);
    number(form, "hours", &mut work.hours);
    number(form, "cost", &mut work.cost);
    currency(form, "currency", &mut work.currency);
}
