//! The job's sheet: the unit, its runs, what was read, checked, replaced, and what is not entered yet.

use std::path::Path;

use crate::app::job::fields::{self, JobField, JobTick};
use crate::app::job::lists::JobList;
use crate::app::job::page;
use crate::app::state::AppState;
use crate::data::job::{ChangeOver, Heat, Job, Run, When};
use crate::data::options::Accuracy;
use crate::data::text::{engineering, harmless};
use crate::data::typed::{Kind, written};
use crate::data::{Setup, Unit};
use crate::job::gates;

/// A field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobFieldModel {
    /// Which.
    pub field: JobField,
    /// Its name.
    pub label: &'static str,
    /// Its accessible name.
    pub spoken: String,
    /// An example.
    pub hint: &'static str,
    /// What stands in it.
    pub text: String,
    /// Why it could not be entered.
    pub wrong: Option<String>,
}

/// A box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TickModel {
    /// What it is.
    pub tick: JobTick,
    /// Its words.
    pub text: String,
    /// Its accessible name.
    pub spoken: String,
    /// Is it ticked?
    pub on: bool,
}

/// A list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListModel {
    /// Which.
    pub list: JobList,
    /// Its rows in words.
    pub rows: Vec<String>,
    /// What stands in the cells of a new row.
    pub cells: Vec<String>,
    /// Why the new row could not be added.
    pub wrong: Option<String>,
}

/// A run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunModel {
    /// Shots, set-ups.
    pub words: String,
    /// Title and condition.
    pub fields: Vec<JobFieldModel>,
    /// Before or after, cold or warm.
    pub ticks: Vec<TickModel>,
    /// The change-over list, for a run on mains.
    pub change_over: Vec<TickModel>,
}

/// The report.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PageModel {
    /// The file as typed.
    pub path: String,
    /// The file that is meant where none is typed, or an example.
    pub hint: String,
    /// What came of writing it.
    pub said: Option<String>,
    /// Is there one to show?
    pub done: bool,
    /// Does asking once more replace a file?
    pub replaces: bool,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct JobModel {
    /// The folder as typed.
    pub folder: String,
    /// Jobs that were open last.
    pub recent: Vec<String>,
    /// The folder in which it is kept.
    pub held: Option<String>,
    /// What was done last.
    pub said: Option<String>,
    /// What went wrong last.
    pub wrong: Option<String>,
    /// May a folder that is open elsewhere be taken over?
    pub may_take_over: bool,
    /// Is work on the folder under way?
    pub busy: bool,
    /// Name of the edit that can be taken back.
    pub undo: Option<String>,
    /// Name of the edit that can be done again.
    pub redo: Option<String>,
    /// The report.
    pub page: PageModel,
    /// What has to be entered, with the reason.
    pub missing: Vec<(String, String)>,
    /// The unit.
    pub unit: Vec<JobFieldModel>,
    /// The runs.
    pub runs: Vec<RunModel>,
    /// The lists.
    pub lists: Vec<ListModel>,
    /// Checks before mains.
    pub mains: Vec<JobFieldModel>,
    /// Hours, cost, notes.
    pub work: Vec<JobFieldModel>,
    /// Pictures, and the fields of a new one.
    pub pictures: (Vec<String>, Vec<JobFieldModel>),
}

/// The sheet of a state.
pub fn job_sheet(state: &AppState) -> JobModel {
    let held = &state.job;
    let job = held.job();
    let field = |(field, label, hint)| field_model(state, field, label, hint, "");
    JobModel {
        folder: held.folder.clone(),
        recent: held
            .recent
            .iter()
            .map(|f| f.display().to_string())
            .collect(),
        held: held
            .held
            .as_ref()
            .map(|h| harmless(&h.folder.display().to_string(), 200)),
        said: held.said.clone(),
        wrong: held.wrong.clone(),
        may_take_over: held.taken.is_some(),
        busy: held.busy,
        undo: held.history.undo_name().map(str::to_owned),
        redo: held.history.redo_name().map(str::to_owned),
        page: page_model(state),
        missing: missing(job),
        unit: UNIT.map(field).into(),
        runs: (0..state.case.groups.len())
            .map(|i| run(state, i))
            .collect(),
        lists: JobList::TYPED.map(|list| list_model(state, list)).into(),
        mains: MAINS.map(field).into(),
        work: WORK.map(field).into(),
        pictures: (
            job.pictures.iter().map(picture).collect(),
            PICTURE.map(field).into(),
        ),
    }
}

fn page_model(state: &AppState) -> PageModel {
    let form = &state.job.page;
    let meant = state.job.held.as_ref().and_then(|_| page::target(state));
    let name = meant.as_deref().and_then(Path::file_name);
    PageModel {
        path: form.path.clone(),
        hint: match name {
            Some(name) if form.path.is_empty() => name.to_string_lossy().into_owned(),
            _ => "report.html, values.csv".to_owned(),
        },
        said: form.said.as_deref().map(|said| harmless(said, 400)),
        done: form.done.is_some(),
        replaces: form.there.is_some() && form.there == page::target(state),
    }
}

type Named = (JobField, &'static str, &'static str);

const UNIT: [Named; 6] = [
    (JobField::UnitName, "Unit", "GV-24"),
    (JobField::Maker, "Maker", ""),
    (JobField::Serial, "Serial number", "0117"),
    (JobField::Input, "Input", "230ac or 48dc"),
    (JobField::Opened, "Opened", "2026-11-26"),
    (JobField::Complaint, "Complaint", "ticks and never starts"),
];

const MAINS: [Named; 2] = [
    (
        JobField::CurrentSense,
        "Current sense checked by",
        "1 V into CS through 1k stops OUT",
    ),
    (
        JobField::FeedbackLoop,
        "Feedback loop checked by",
        "output fed from outside, COMP follows",
    ),
];

const WORK: [Named; 5] = [
    (JobField::Estimate, "Estimate", "80"),
    (JobField::Hours, "Hours", "1.5"),
    (JobField::Cost, "Cost", "74.50"),
    (JobField::Currency, "Currency", "EUR"),
    (JobField::Notes, "Notes", ""),
];

const PICTURE: [Named; 2] = [
    (JobField::PicturePath, "Picture (PNG or JPEG)", "path"),
    (
        JobField::PictureTitle,
        "What it shows",
        "scorched board at R3",
    ),
];

fn field_model(
    state: &AppState,
    field: JobField,
    label: &'static str,
    hint: &'static str,
    of: &str,
) -> JobFieldModel {
    JobFieldModel {
        text: fields::text(state, field),
        wrong: state.job.drafts.wrong_of(field).map(str::to_owned),
        spoken: format!("{label}{of}"),
        field,
        label,
        hint,
    }
}

fn missing(job: &Job) -> Vec<(String, String)> {
    let all = gates::of_job(job).into_iter();
    all.map(|one| (one.what, one.why)).collect()
}

fn run(state: &AppState, index: usize) -> RunModel {
    let record = state.job.job().runs.get(index).cloned().unwrap_or_default();
    let of = format!(" of run {}", index + 1);
    let named: [Named; 4] = [
        (JobField::RunTitle(index), "Title", "as found"),
        (JobField::RunMinutes(index), "Minutes on", "30"),
        (JobField::RunSprayed(index), "Sprayed", "C7"),
        (JobField::RunNote(index), "Condition", "cover off"),
    ];
    let fields = named.map(|(field, label, hint)| field_model(state, field, label, hint, &of));
    RunModel {
        words: run_words(state, index, &record),
        fields: fields.into(),
        ticks: ticks(index, &record),
        change_over: change_over(state, index, &record),
    }
}

fn run_words(state: &AppState, index: usize, record: &Run) -> String {
    let shots = state.case.groups.get(index).map_or(0, |g| g.shots.len());
    let setups: Vec<&str> = record.setups().into_iter().map(Setup::id).collect();
    let mut words = match shots {
        1 => format!("Run {}: 1 shot", index + 1),
        _ => format!("Run {}: {shots} shots", index + 1),
    };
    if !setups.is_empty() {
        words.push_str(&format!(", {}", setups.join(", ")));
    }
    if state.job.frozen.contains(&index) {
        words.push_str("; files of it are missing, so it is not changed in the record");
    }
    words
}

fn ticks(index: usize, record: &Run) -> Vec<TickModel> {
    let when = When::ALL.map(|when| TickModel {
        tick: JobTick::When(index, when),
        text: when.words().to_owned(),
        spoken: format!("Run {} is {}", index + 1, when.words()),
        on: record.when == Some(when),
    });
    let heat = Heat::ALL.map(|heat| TickModel {
        tick: JobTick::Heat(index, heat),
        text: heat.id().to_owned(),
        spoken: format!("Run {} is {}", index + 1, heat.id()),
        on: record.condition.heat == Some(heat),
    });
    when.into_iter().chain(heat).collect()
}

fn change_over(state: &AppState, index: usize, record: &Run) -> Vec<TickModel> {
    let told = state.inspections.get(index).and_then(Option::as_deref);
    let on_mains = record.setups().contains(&Setup::Mains)
        || record.next_setup == Some(Setup::Mains)
        || told.is_some_and(|run| {
            let mut captures = run.captures.iter();
            captures.any(|shot| shot.setup.value == Some(Setup::Mains))
        });
    if !on_mains {
        return Vec::new();
    }
    let lines = ChangeOver::ALL.into_iter();
    lines
        .map(|line| TickModel {
            tick: JobTick::ChangeOver(index, line),
            text: format!("{}: {}", line.title(), line.why()),
            spoken: format!("{}, run {}", line.title(), index + 1),
            on: record.change_over.contains(&line),
        })
        .collect()
}

fn list_model(state: &AppState, list: JobList) -> ListModel {
    let cells = 0..list.cells().len();
    ListModel {
        list,
        rows: rows(state.job.job(), list),
        cells: cells
            .map(|c| state.job.drafts.cell(list, c).to_owned())
            .collect(),
        wrong: state.job.drafts.wrong_row(list).map(str::to_owned),
    }
}

/// Rows of the record in words.
fn rows(job: &Job, list: JobList) -> Vec<String> {
    let volts = |v: f64| written(v, Kind::Volt);
    match list {
        JobList::Cold => job
            .cold
            .iter()
            .map(|r| {
                joined(&[
                    Some(r.place.clone()),
                    r.ohms.map(|ohms| match ohms.is_finite() {
                        true => written(ohms, Kind::Ohm),
                        false => "open".to_owned(),
                    }),
                    r.diode_volts.map(|v| format!("diode {}", volts(v))),
                    some(&r.note),
                ])
            })
            .collect(),
        JobList::Pins => job
            .pins
            .iter()
            .map(|r| {
                joined(&[
                    Some(r.pin.title_with_pin()),
                    Some(volts(r.volts)),
                    some(&r.note),
                ])
            })
            .collect(),
        JobList::Outputs => job.outputs.iter().map(|r| output(r, job.meter)).collect(),
        JobList::Checked => job.checked.iter().map(checked).collect(),
        JobList::Replaced => job
            .replaced
            .iter()
            .map(|r| {
                joined(&[
                    Some(r.part.clone()),
                    some(&r.why),
                    some(&r.with).map(|with| format!("by {with}")),
                ])
            })
            .collect(),
        JobList::Soaks => job
            .soaks
            .iter()
            .map(|r| {
                joined(&[
                    Some(format!("{} min", r.minutes)),
                    some(&r.load).map(|load| format!("at {load}")),
                    r.passed
                        .map(|passed| if passed { "passed" } else { "not passed" }.to_owned()),
                    some(&r.result),
                ])
            })
            .collect(),
        JobList::Pictures => job.pictures.iter().map(picture).collect(),
    }
}

fn some(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
}

fn joined(parts: &[Option<String>]) -> String {
    let parts: Vec<&str> = parts.iter().flatten().map(String::as_str).collect();
    harmless(&parts.join(", "), 400)
}

fn output(row: &crate::data::job::OutputReading, meter: Option<Accuracy>) -> String {
    let volts = |v: f64| written(v, Kind::Volt);
    let verdict = row.judged(meter).map(|found| {
        let share = 100.0 * row.tolerance.unwrap_or(0.0);
        format!("{} of ±{share} %", found.verdict.title())
    });
    joined(&[
        Some(row.name.clone()),
        Some(volts(row.volts)),
        row.nominal_volts.map(|v| format!("nominal {}", volts(v))),
        verdict,
        some(&row.load).map(|load| format!("at {load}")),
    ])
}

fn checked(row: &crate::data::job::PartCheck) -> String {
    let unit = match row.measured_in() {
        Some(Kind::Farad) => Unit::Farad,
        _ => Unit::Ohm,
    };
    let value = |v: f64| engineering(v, unit, 4);
    let verdict = row.judged().map(|found| {
        format!(
            "{}: {}",
            found.verdict.title(),
            found.because.trim_end_matches('.')
        )
    });
    joined(&[
        Some(row.part.clone()),
        row.marked.map(|v| format!("marked {}", value(v))),
        row.tolerance
            .map(|share| format!("±{} %", engineering(100.0 * share, Unit::Unknown, 3).trim())),
        row.reading.map(|v| format!("read {}", value(v))),
        row.esr_ohms
            .map(|v| format!("ESR {}", written(v, Kind::Ohm))),
        row.leakage_amperes
            .map(|v| format!("leakage {}", written(v, Kind::Ampere))),
        verdict,
        some(&row.note),
    ])
}

fn picture(picture: &crate::data::job::Picture) -> String {
    joined(&[some(&picture.title), Some(picture.file.clone())])
}
