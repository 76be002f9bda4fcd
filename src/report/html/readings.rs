//! What was read by hand: voltage steps, meter readings, outputs.

use super::page::Page;
use super::work::percent;
use super::{Sheet, joined};
use crate::data::job::{Job, When};
use crate::data::typed::{Kind, reading_kind, written};
use crate::data::{Inspection, VoltageStep};
use crate::report::job::run_words;
use crate::report::text::step_thresholds;

/// All of it, where there is any.
pub(super) fn readings(page: &mut Page, sheet: &Sheet<'_>) {
    let job = sheet.report.job;
    let of_runs = sheet
        .runs()
        .any(|(_, run, found)| !run.readings.is_empty() || found.steps.is_some());
    if !of_runs && job.cold.is_empty() && job.pins.is_empty() && job.outputs.is_empty() {
        return;
    }
    page.heading(2, "Voltage steps and meter readings");
    for (_, run, found) in sheet.runs() {
        if run.readings.is_empty() && found.steps.is_none() {
            continue;
        }
        page.heading(3, &run_words(run));
        let rows: Vec<[String; 2]> = run
            .readings
            .iter()
            .map(|(name, value)| {
                [
                    name.clone(),
                    written(*value, reading_kind(name).unwrap_or(Kind::Volt)),
                ]
            })
            .collect();
        page.table("Read with a meter", ["reading", "value"], &rows);
        steps(page, found);
    }
    of_job(page, job);
}

fn steps(page: &mut Page, found: &Inspection) {
    let Some(steps) = &found.steps else { return };
    let row = |step: &VoltageStep| {
        [
            written((step.volts * 1e3).round() / 1e3, Kind::Volt),
            step.state_id().to_owned(),
            step.going.map_or("not said", |going| going.id()).to_owned(),
            step.current_a
                .map(|i| written(i, Kind::Ampere))
                .unwrap_or_default(),
            step.place.in_words(),
        ]
    };
    let rows: Vec<[String; 5]> = steps.readings.iter().map(row).collect();
    page.table(
        "Voltage steps: the supply set by hand",
        ["VCC", "controller", "going", "current", "from"],
        &rows,
    );
    let thresholds = step_thresholds(steps);
    let lines: Vec<String> = thresholds
        .iter()
        .map(|(word, text)| format!("{word}: {text}"))
        .collect();
    page.list(&lines);
    page.list(&steps.contradictions);
    page.list(&steps.remarks);
}

fn when(when: Option<When>) -> String {
    when.map_or(String::new(), |when| when.words().to_owned())
}

fn open_or(value: f64, kind: Kind) -> String {
    if value.is_infinite() {
        "open".to_owned()
    } else {
        written(value, kind)
    }
}

fn of_job(page: &mut Page, job: &Job) {
    let cold = job.cold.iter().map(|r| {
        let ohms = r.ohms.map(|v| open_or(v, Kind::Ohm)).unwrap_or_default();
        let diode = r
            .diode_volts
            .map(|v| open_or(v, Kind::Volt))
            .unwrap_or_default();
        [r.place.clone(), ohms, diode, when(r.when), r.note.clone()]
    });
    page.table(
        "Unpowered",
        ["between", "resistance", "diode test", "when", "note"],
        &cold.collect::<Vec<_>>(),
    );
    let pins = job.pins.iter().map(|r| {
        let setup = r.setup.map_or("", |setup| setup.id());
        let when = when(r.when);
        [
            r.pin.title_with_pin(),
            written(r.volts, Kind::Volt),
            joined(&[setup, &when]),
            r.note.clone(),
        ]
    });
    page.table(
        "Pins",
        ["pin", "reading", "when", "note"],
        &pins.collect::<Vec<_>>(),
    );
    let outputs = job.outputs.iter().map(|r| {
        let spread = r.tolerance.map(|t| format!(" ± {}", percent(t)));
        let nominal = r
            .nominal_volts
            .map(|v| written(v, Kind::Volt))
            .unwrap_or_default();
        [
            r.name.clone(),
            format!("{nominal}{}", spread.unwrap_or_default()),
            written(r.volts, Kind::Volt),
            r.judged(job.meter)
                .map_or("not judged", |found| found.verdict.title())
                .to_owned(),
            r.load.clone(),
            when(r.when),
        ]
    });
    page.table(
        "Outputs, read with a meter",
        ["output", "should give", "gave", "verdict", "load", "when"],
        &outputs.collect::<Vec<_>>(),
    );
}
