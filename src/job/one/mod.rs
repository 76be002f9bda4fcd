//! Schema 1: every key of the record, in its order.

mod repair;
mod run;

use super::form::{
    Form, accuracy, date, file, flag, input, layout, marks, named, number, open_number, parts,
    required, sha256, text, whole, word, word_needed,
};
use crate::data::job::{
    CaptureFile, ColdReading, Job, JobUnit, Marking, OutputReading, PartCheck, PinReading,
};
use crate::data::options::Accuracy;

/// The whole record.
pub(super) fn job<F: Form>(form: &mut F, job: &mut Job) {
    let mut schema = Some(1);
    whole(form, "schema", &mut schema);
    date(form, "opened", &mut job.opened);
    date(form, "changed", &mut job.changed);
    text(form, "complaint", &mut job.complaint);
    input(form, "input", &mut job.input);
    whole(form, "scope-channels", &mut job.scope_channels);
    text(form, "notes", &mut job.notes);
    form.table("unit", &mut job.unit, unit);
    form.table("controller", &mut job.controller, marking);
    parts(form, &mut job.parts);
    marks(form, &mut job.marks);
    meter(form, &mut job.meter);
    form.list("captures", &mut job.captures, capture);
    form.list("runs", &mut job.runs, run::run);
    form.list("cold", &mut job.cold, cold);
    form.list("pins", &mut job.pins, pin);
    form.list("outputs", &mut job.outputs, output);
    form.list("checked", &mut job.checked, checked);
    form.list("replaced", &mut job.replaced, repair::replaced);
    form.table("mains", &mut job.mains, repair::mains);
    form.list("soaks", &mut job.soaks, repair::soak);
    form.list("pictures", &mut job.pictures, repair::picture);
    form.table("work", &mut job.work, repair::work);
}

fn unit<F: Form>(form: &mut F, unit: &mut JobUnit) {
    text(form, "name", &mut unit.name);
    text(form, "maker", &mut unit.maker);
    text(form, "serial", &mut unit.serial);
}

fn marking<F: Form>(form: &mut F, controller: &mut Marking) {
    text(form, "marking", &mut controller.marking);
    flag(form, "trusted", &mut controller.trusted);
}

fn meter<F: Form>(form: &mut F, meter: &mut Option<Accuracy>) {
    let mut told = meter.map(Told);
    form.maybe("meter", &mut told, |form, told: &mut Told| {
        accuracy(form, &mut told.0)
    });
    *meter = told.map(|told| told.0);
}

/// An accuracy with a beginning to read it into.
struct Told(Accuracy);

impl Default for Told {
    fn default() -> Self {
        Told(Accuracy {
            gain: 0.0,
            offset: 0.0,
        })
    }
}

fn capture<F: Form>(form: &mut F, capture: &mut CaptureFile) {
    file(form, "file", &mut capture.file);
    sha256(form, "sha256", &mut capture.sha256);
    layout(form, &mut capture.layout);
}

fn cold<F: Form>(form: &mut F, reading: &mut ColdReading) {
    named(form, "place", &mut reading.place);
    open_number(form, "ohms", &mut reading.ohms);
    open_number(form, "diode-volts", &mut reading.diode_volts);
    word(form, "when", &mut reading.when);
    text(form, "note", &mut reading.note);
}

fn pin<F: Form>(form: &mut F, reading: &mut PinReading) {
    word_needed(form, "pin", &mut reading.pin);
    required(form, "volts", &mut reading.volts);
    word(form, "setup", &mut reading.setup);
    word(form, "when", &mut reading.when);
    text(form, "note", &mut reading.note);
}

fn output<F: Form>(form: &mut F, reading: &mut OutputReading) {
    named(form, "name", &mut reading.name);
    number(form, "nominal-volts", &mut reading.nominal_volts);
    number(form, "tolerance", &mut reading.tolerance);
    required(form, "volts", &mut reading.volts);
    text(form, "load", &mut reading.load);
    word(form, "when", &mut reading.when);
}

fn checked<F: Form>(form: &mut F, check: &mut PartCheck) {
    named(form, "part", &mut check.part);
    text(form, "kind", &mut check.kind);
    number(form, "marked", &mut check.marked);
    number(form, "tolerance", &mut check.tolerance);
    open_number(form, "reading", &mut check.reading);
    open_number(form, "esr-ohms", &mut check.esr_ohms);
    number(form, "leakage-amperes", &mut check.leakage_amperes);
    flag(form, "out-of-circuit", &mut check.out_of_circuit);
    text(form, "note", &mut check.note);
}
