//! The object of a job: its first run as that of `inspect`, the others under `later`, and what the
//! record says.

use serde_json::{Map, Value, json};

use super::inspection::body;
use super::{map_of, numbered, optional, with_schema};
use crate::data::job::{Condition, Run};
use crate::job::Problem;
use crate::job::gates::Missing;
use crate::report::JobReport;

/// A job with its runs: the first decides and fills the object, the others go under `later`. Each has
/// `job`, what the record says of it.
pub fn job(report: &JobReport<'_>) -> Value {
    let mut runs = report.runs.iter().map(|(number, run)| {
        let mut object = body(run);
        if let Some(recorded) = report.run(*number) {
            object.insert("title".to_owned(), Value::from(recorded.title.as_str()));
            object.insert("job".to_owned(), of_run(report, *number, recorded));
        }
        object
    });
    let mut object = runs.next().unwrap_or_else(Map::new);
    let later: Vec<Value> = runs.map(Value::Object).collect();
    object.insert("unit".to_owned(), Value::from(report.unit()));
    object.insert("later".to_owned(), Value::from(later));
    let problems: Vec<Value> = report.problems.iter().map(problem).collect();
    object.insert("problems".to_owned(), Value::from(problems));
    let failed = report.failed.iter().map(|(number, why)| {
        let title = report.run(*number).map(|run| run.title.as_str());
        json!({"run": numbered(*number), "title": title, "error": why})
    });
    object.insert("errors".to_owned(), Value::from(failed.collect::<Vec<_>>()));
    let open: Vec<Value> = report.missing().iter().map(missing).collect();
    object.insert("missing".to_owned(), Value::from(open));
    object.insert("exit".to_owned(), Value::from(report.exit_code()));
    with_schema(object)
}

fn of_run(report: &JobReport<'_>, number: usize, run: &Run) -> Value {
    let record = report.job;
    let text = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    json!({
        "name": report.unit(),
        "maker": text(&record.unit.maker),
        "serial": text(&record.unit.serial),
        "complaint": text(&record.complaint),
        "marking_trusted": record.controller.trusted,
        "run": numbered(number),
        "when": run.when.map(|when| when.id()),
        "date": text(&run.date),
        "condition": condition(&run.condition),
    })
}

fn condition(condition: &Condition) -> Value {
    if *condition == Condition::default() {
        return Value::Null;
    }
    Value::Object(map_of(json!({
        "heat": condition.heat.map(|heat| heat.id()),
        "minutes": optional(condition.minutes),
        "sprayed": condition.sprayed,
        "note": condition.note,
    })))
}

fn problem(problem: &Problem) -> Value {
    json!({"file": problem.file, "what": problem.kind.id(), "text": problem.text})
}

fn missing(missing: &Missing) -> Value {
    json!({"what": missing.what, "why": missing.why})
}
