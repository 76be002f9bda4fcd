//! Captures made by a model that shares no code with this crate, each with its truth: see
//! `tests/oracle/captures.py`. The gain and offset errors of their channels are not known to the
//! program, so every value is judged by its own uncertainty.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use firstpulse::data::{Inspection, Options, Progress, Role, Setup, Source, StageState, Verdict};
use firstpulse::formats::FileSource;
use firstpulse::inspect::{self, Library, ReadOptions};
use serde_json::Value as Json;

/// Values farther than this many u95 from the truth are errors whatever the share.
const FARTHEST: f64 = 1.5;
/// Share of values whose u95 has to hold the truth.
const COVERAGE: f64 = 0.90;
/// Share of roles that may be "can't tell".
const UNTOLD: f64 = 0.15;
/// Share of the truth's values that may be refused.
const REFUSED: f64 = 0.25;

struct Case {
    name: String,
    truth: Json,
    inspection: Inspection,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside")
}

fn json(path: &Path) -> Json {
    let text = fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn text<'a>(value: &'a Json, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_else(|| panic!("no {key}"))
}

fn number(value: &Json, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no {key}"))
}

fn list<'a>(value: &'a Json, key: &str) -> &'a [Json] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

fn inspect_file(name: &str, truth: &Json) -> Inspection {
    let path = folder().join(name);
    let source = FileSource::open(&path).unwrap_or_else(|e| panic!("{name}: {e}"));
    let source: Arc<dyn Source> = Arc::new(source);
    let shots = inspect::load(&source, &ReadOptions::default(), &Progress::new())
        .unwrap_or_else(|e| panic!("{name}: {e}"));
    let options = Options {
        controller: Some(text(truth, "controller").to_owned()),
        setup: Setup::from_id(text(truth, "setup")),
        ..Options::default()
    };
    let library = Library::built_in().unwrap_or_else(|e| panic!("{e}"));
    inspect::examine(&shots, &options, &library).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn cases() -> Vec<Case> {
    let index = json(&folder().join("index.json"));
    let entries = index.as_array().cloned().unwrap_or_default();
    assert!(entries.len() >= 16, "the folder is not whole");
    entries
        .iter()
        .map(|entry| {
            let name = text(entry, "file").to_owned();
            let truth = json(&folder().join(text(entry, "truth")));
            let inspection = inspect_file(&name, &truth);
            assert_eq!(
                inspection.captures.len(),
                1,
                "{name}: one record, one capture"
            );
            Case {
                name,
                truth,
                inspection,
            }
        })
        .collect()
}

#[test]
fn the_record_is_read_as_it_was_written() {
    for case in cases() {
        let capture = &case.inspection.captures[0].capture;
        let channels = list(&case.truth, "channels");
        assert_eq!(capture.channels.len(), channels.len(), "{}", case.name);
        for (channel, truth) in capture.channels.iter().zip(channels) {
            assert_eq!(channel.name, text(truth, "name"), "{}", case.name);
            let count = number(&case.truth, "samples");
            assert!(
                (channel.samples.len() as f64 - count).abs() < 0.5,
                "{}",
                case.name
            );
            let step = number(&case.truth, "step_s");
            assert!(
                (channel.time.interval_s() - step).abs() < 1e-3 * step,
                "{}",
                case.name
            );
            let start = number(&case.truth, "start_s");
            assert!(
                (channel.time.start_s() - start).abs() < 0.5 * step,
                "{}",
                case.name
            );
        }
    }
}

#[test]
fn no_role_or_kind_is_wrong_and_few_stay_open() {
    let (mut open, mut all) = (0, 0);
    for case in cases() {
        let capture = &case.inspection.captures[0];
        if let Some(kind) = capture.kind.value {
            assert_eq!(kind.id(), text(&case.truth, "kind"), "{}", case.name);
        }
        for (channel, truth) in capture.channels.iter().zip(list(&case.truth, "channels")) {
            all += 1;
            match channel.role.value {
                None | Some(Role::Other) => open += 1,
                Some(role) => {
                    let name = text(truth, "name");
                    assert_eq!(role.id(), text(truth, "role"), "{} {name}", case.name);
                }
            }
        }
    }
    assert!(
        f64::from(open) <= UNTOLD * f64::from(all),
        "{open} of {all} roles not told"
    );
}

/// How far an event may be from the truth: five samples, or 0.2 % of the record, but never more
/// than a third of the distance to the next event.
fn tolerance(truth: &Json) -> f64 {
    let step = number(truth, "step_s");
    let mut widest = (5.0 * step).max(0.002 * step * number(truth, "samples"));
    let instants: Vec<f64> = list(truth, "events")
        .iter()
        .map(|e| number(e, "at_s"))
        .collect();
    for pair in instants.windows(2) {
        widest = widest.min(((pair[1] - pair[0]) / 3.0).max(2.0 * step));
    }
    widest
}

/// Do VREF or RT/CT, or a VCC that climbs by itself, show the starts and stops?
fn witnessed(truth: &Json) -> bool {
    let roles = list(truth, "channels").iter().map(|c| text(c, "role"));
    text(truth, "kind") == "start" || roles.into_iter().any(|r| r == "vref" || r == "rtct")
}

#[test]
fn every_start_and_stop_is_found_where_it_was_and_no_other() {
    for case in cases() {
        let near = tolerance(&case.truth);
        let found = &case.inspection.events;
        let mut truth = list(&case.truth, "events");
        if !witnessed(&case.truth) && found.is_empty() {
            // VCC that a hand moves does not turn at a start or a stop: only a step of its feed, or OUT,
            // may show them, and what is told then has to be right
            truth = &[];
        }
        let listed: Vec<_> = found.iter().map(|e| (e.kind.id(), e.at_s)).collect();
        assert_eq!(found.len(), truth.len(), "{}: {listed:?}", case.name);
        for (event, true_event) in found.iter().zip(truth) {
            assert_eq!(event.kind.id(), text(true_event, "what"), "{}", case.name);
            let at = number(true_event, "at_s");
            assert!(
                (event.at_s - at).abs() <= near,
                "{}: {} at {} s instead of {at} s",
                case.name,
                event.kind.id(),
                event.at_s
            );
        }
    }
}

#[test]
fn measured_values_hold_the_truth_within_their_uncertainty() {
    let (mut within, mut all, mut refused) = (0, 0, 0);
    let mut far = Vec::new();
    for case in cases() {
        let quantities = case.truth["quantities"]
            .as_object()
            .cloned()
            .unwrap_or_default();
        for (id, truth) in &quantities {
            let truth = truth.as_f64().unwrap_or(f64::NAN);
            let value = case
                .inspection
                .measured
                .iter()
                .find(|j| j.measured.quantity.info().id == id)
                .and_then(|j| j.measured.value());
            let Some(value) = value else {
                refused += 1;
                continue;
            };
            all += 1;
            let (error, slack) = ((value.value - truth).abs(), 1e-9 * truth.abs());
            within += i32::from(error <= value.u95 + slack);
            if error > FARTHEST * value.u95 + slack {
                far.push(format!(
                    "{}: {id} {} ± {}, truth {truth}",
                    case.name, value.value, value.u95
                ));
            }
        }
    }
    assert!(far.is_empty(), "{}", far.join("\n"));
    assert!(
        f64::from(within) >= COVERAGE * f64::from(all),
        "{within} of {all} values hold the truth"
    );
    assert!(
        f64::from(refused) <= REFUSED * f64::from(all + refused),
        "{refused} of {} values refused",
        all + refused
    );
}

#[test]
fn the_exit_code_follows_from_what_is_said_and_no_working_stage_is_dead() {
    for case in cases() {
        let said = &case.inspection;
        let roles: Vec<&str> = list(&case.truth, "channels")
            .iter()
            .map(|c| text(c, "role"))
            .collect();
        for finding in &said.stages {
            let dead = finding.state == StageState::Dead;
            let of_the_chip =
                ["supply", "reference", "oscillator", "drive"].contains(&finding.stage.id());
            assert!(
                !(dead && of_the_chip),
                "{} ({roles:?}): {} called dead: {}",
                case.name,
                finding.stage.id(),
                finding.because
            );
        }
        let bad = said
            .measured
            .iter()
            .any(|j| j.verdict == Verdict::Outside && !j.provisional)
            || said
                .stages
                .iter()
                .any(|s| matches!(s.state, StageState::Dead | StageState::Marginal));
        assert_eq!(said.exit_code() == 1, bad, "{}", case.name);
        assert!([0, 1, 3].contains(&said.exit_code()), "{}", case.name);
    }
}
