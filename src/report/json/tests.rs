use std::sync::Arc;

use serde_json::{Value, json};

use crate::data::{Outcome, Verdict};
use crate::report::example::{capture, gv24};
use crate::report::{FileReading, Shown};

use super::{SCHEMA, batch, case, inspection, reading};

fn keys(value: &Value) -> Vec<&str> {
    value
        .as_object()
        .map(|o| o.keys().map(String::as_str).collect())
        .unwrap_or_default()
}

fn assert_has(value: &Value, wanted: &[&str]) {
    for key in wanted {
        assert!(keys(value).contains(key), "{key} is missing in {value:#}");
    }
}

#[test]
fn an_inspection_has_every_key_of_the_contract() {
    let object = inspection(&gv24());
    assert_eq!(object["schema"], SCHEMA);
    assert_has(
        &object,
        &[
            "setup",
            "controller",
            "captures",
            "events",
            "measured",
            "stages",
            "suspects",
            "not_tested",
            "cautions",
        ],
    );
    assert_has(&object["controller"], &["id", "title", "candidates"]);
    assert_has(
        &object["captures"][0],
        &["file", "kind", "kind_reason", "channels"],
    );
    assert_has(
        &object["captures"][0]["channels"][0],
        &[
            "name",
            "unit",
            "kind",
            "samples",
            "missing",
            "first",
            "last",
            "min",
            "max",
            "time",
            "role",
            "place",
            "role_reason",
        ],
    );
    assert_has(
        &object["events"][0],
        &["capture", "what", "at_s", "vcc", "u95"],
    );
    assert_has(
        &object["measured"][0],
        &[
            "quantity",
            "capture",
            "channel",
            "unit",
            "value",
            "u",
            "u95",
            "count",
            "values",
            "why_not",
            "expected",
            "verdict",
            "p_in",
            "provisional",
            "settle",
        ],
    );
    assert_has(
        &object["measured"][0]["expected"],
        &["min", "typ", "max", "condition", "source", "status"],
    );
    assert_has(
        &object["stages"][0],
        &["stage", "state", "because", "not_seen_together"],
    );
    assert_has(
        &object["suspects"][0],
        &["cause", "weight", "for", "against", "next_check"],
    );
    assert_has(
        &object["suspects"][0]["for"][0],
        &["text", "quantity", "capture", "from_s", "to_s"],
    );
    assert_eq!(object["stages"].as_array().map(Vec::len), Some(6));
}

#[test]
fn values_stand_in_si_units_under_their_ids() {
    let object = inspection(&gv24());
    let channel = &object["captures"][3]["channels"][0];
    insta::assert_snapshot!(format!("{channel:#}"), @r#"
    {
      "accuracy": {
        "assumed": true,
        "gain": 0.03,
        "offset": 0.05
      },
      "bandwidth_hz": null,
      "clipped": 0,
      "factor_offer": null,
      "first": [
        0.0,
        4.0,
        16.0
      ],
      "full_scale": null,
      "gain": 1.0,
      "kind": "instant",
      "last": [
        16.0,
        10.0,
        2.0
      ],
      "max": 16.0,
      "min": 0.0,
      "missing": 0,
      "name": "VCC",
      "offset": 0.0,
      "place": "pin",
      "resolution": null,
      "role": "vcc",
      "role_by_user": false,
      "role_confidence": null,
      "role_reason": "its levels and the name fit",
      "samples": 5,
      "set_to_meter": null,
      "time": {
        "end_s": 0.5,
        "interval_s": 0.25,
        "start_s": -0.5,
        "uniform": true,
        "why_not": null
      },
      "unit": "V",
      "why_not": null
    }
    "#);
    assert_eq!(object["events"][0]["vcc"], json!(15.983));
    assert_eq!(object["events"][0]["capture"], json!(1));
    assert_eq!(object["measured"][0]["quantity"], "start_threshold");
    assert_eq!(object["measured"][1]["verdict"], "cannot-say");
    assert_eq!(object["suspects"][0]["for"][0]["capture"], json!(4));
    assert_eq!(object["stages"][5]["not_seen_together"], json!(["drive"]));
}

#[test]
fn what_is_no_number_is_null_and_says_why() {
    let mut run = gv24();
    if let Outcome::Value(value) = &mut run.measured[0].measured.outcome {
        value.value = f64::NAN;
    }
    run.measured[0].verdict = Verdict::CannotSay;
    run.events[0].vcc = Some((f64::INFINITY, 1.0));
    let object = inspection(&run);
    for (entry, key) in [
        (&object["measured"][0], "value"),
        (&object["measured"][2], "value"),
        (&object["events"][0], "vcc"),
        (&object["events"][1], "vcc"),
    ] {
        assert_eq!(entry[key], Value::Null, "{entry:#}");
        assert!(
            entry["why_not"].as_str().is_some_and(|w| !w.is_empty()),
            "{entry:#}"
        );
    }
}

#[test]
fn the_first_run_decides_and_the_others_come_later() {
    let run = gv24();
    let object = case("GV-24", &[("as found", &run), ("after the repair", &run)]);
    assert_eq!(object["unit"], "GV-24");
    assert_eq!(object["exit"], json!(1));
    assert_eq!(object["later"][0]["title"], "after the repair");
    assert_eq!(object["later"][0]["stages"], object["stages"]);
    assert_eq!(object["later"].as_array().map(Vec::len), Some(1));
}

#[test]
fn a_batch_keeps_failures_apart() {
    let object = batch(
        &[
            ("a".to_owned(), Ok(gv24())),
            ("b".to_owned(), Err("empty".to_owned())),
        ],
        &["README.md".to_owned()],
        2,
    );
    assert_eq!(object["skipped"], json!(["README.md"]));
    assert_eq!(object["files"][0]["file"], "a");
    assert_eq!(object["errors"], json!([{"file": "b", "error": "empty"}]));
    assert_eq!(object["exit"], json!(2));
}

#[test]
fn reading_shows_the_first_and_last_values_and_the_extremes_from_the_facts() {
    let (mut record, facts) = capture("sweep.csv", &["VCC"]);
    Arc::get_mut(&mut record).unwrap().channels[0]
        .missing
        .mark(4);
    let shown = Shown {
        capture: record,
        facts,
    };
    let before = shown.capture.samples_visited();
    let files = [
        FileReading {
            file: "bench/sweep.csv".to_owned(),
            outcome: Ok(vec![shown.clone()]),
        },
        FileReading {
            file: "x".to_owned(),
            outcome: Err("empty".to_owned()),
        },
    ];
    let object = reading(&files);
    assert_eq!(shown.capture.samples_visited() - before, 6);
    let channel = &object["files"][0]["captures"][0]["channels"][0];
    assert_eq!(channel["first"], json!([0.0, 4.0, 16.0]));
    assert_eq!(channel["last"], json!([16.0, 10.0, null]));
    assert_eq!(
        (&channel["min"], &channel["max"]),
        (&json!(0.0), &json!(16.0))
    );
    assert_eq!(channel["time"]["start_s"], json!(-0.5));
    assert_eq!(channel["time"]["end_s"], json!(0.5));
    assert_eq!(object["files"].as_array().map(Vec::len), Some(1));
    assert_eq!(object["errors"], json!([{"file": "x", "error": "empty"}]));
}

#[test]
fn voltage_steps_are_null_or_have_every_key_of_the_contract() {
    use crate::data::{Bracket, Direction, ProbitFit, StepPlace, StepsFinding, VoltageStep};
    let mut run = gv24();
    assert_eq!(inspection(&run)["steps"], Value::Null);
    run.steps = Some(StepsFinding {
        readings: vec![VoltageStep {
            volts: 8.5,
            works: false,
            going: Some(Direction::Up),
            current_a: None,
            place: StepPlace::Line(3),
        }],
        start: Bracket {
            low_v: Some(8.5),
            high_v: None,
        },
        start_fit: Some(ProbitFit {
            centre_v: 8.6,
            u_v: 0.05,
            sigma_v: 0.13,
            count: 33,
        }),
        ..StepsFinding::default()
    });
    assert_eq!(
        inspection(&run)["steps"],
        json!({
            "readings": [{"volts": 8.5, "state": "dead", "going": "up", "current": null, "from": "line 3"}],
            "start": {"low": 8.5, "high": null, "fit": {"centre": 8.6, "u": 0.05, "sigma": 0.13, "count": 33}},
            "stop": {"low": null, "high": null, "fit": null},
            "start_above": null,
            "stop_at_most": null,
            "contradictions": [],
            "remarks": [],
        })
    );
}
