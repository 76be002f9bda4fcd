//! `budget`: what the start-up parts allow.

use serde_json::Value;

use super::outcome;

const USUAL: [&str; 14] = [
    "budget",
    "--input",
    "251ac",
    "--controller",
    "UC3843",
    "--part",
    "start-resistor=110k 5%+110k 5%",
    "--part",
    "vcc-capacitor=22u",
    "--part",
    "rt=10k 1%",
    "--part",
    "ct=332",
    "--json",
];

fn json(args: &[&str]) -> Value {
    let (code, out, messages) = outcome(args);
    assert_eq!(code, 0, "{messages}");
    serde_json::from_str(&out).unwrap()
}

#[test]
fn the_object_holds_what_the_contract_names() {
    let object = json(&USUAL);
    for key in [
        "schema",
        "bulk_voltage",
        "charging_current",
        "final_voltage",
        "time_to_start",
        "never_because",
        "dissipation",
        "smallest_vcc_capacitor",
        "largest_start_resistor",
        "worst_case",
        "why_not",
        "inputs",
        "sensitivity",
        "curve",
        "timing",
    ] {
        assert!(object.get(key).is_some(), "{key}");
    }
    assert_eq!(object["schema"], "firstpulse/1");
    let number = |key: &str| object[key].as_f64().unwrap();
    // common practice: 251 V mains give about 350 V, 220 kΩ pass about 1.6 mA from there
    assert!((number("bulk_voltage") - 350.0).abs() < 7.0);
    assert!((number("charging_current") - 1.6e-3).abs() < 0.05e-3);
    assert!(object["never_because"].is_null());
    assert_eq!(object["dissipation"].as_array().unwrap().len(), 2);
    // 3.3 nF as a code, and the test condition of SLUS223G: 47 to 57 kHz
    let hertz = object["timing"]["oscillator_frequency"].as_f64().unwrap();
    assert!((47e3..57e3).contains(&hertz), "{hertz}");
    for input in object["inputs"].as_array().unwrap() {
        assert!(!input["from"].as_str().unwrap().is_empty(), "{input}");
    }
    // what has no number has a reason
    for key in ["vref_step", "bulk_trough"] {
        assert!(
            object[key].is_null() && object["why_not"][key].is_string(),
            "{key}"
        );
    }
    let worst = object["worst_case"]["bulk_voltage"].as_array().unwrap();
    assert!(worst[0].as_f64() < Some(number("bulk_voltage")));
}

#[test]
fn text_says_the_same_with_sources_and_a_sketch() {
    let (code, out, messages) = outcome(&USUAL[..13]);
    assert_eq!(code, 0, "{messages}");
    for word in [
        "Start-up",
        "EXPECTED VCC",
        "OSCILLATOR",
        "assumed",
        "published",
        "quarter-watt",
    ] {
        assert!(out.contains(word), "{word}: {out}");
    }
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    assert!(!out.to_lowercase().contains("safe"));
}

#[test]
fn nothing_told_is_two_with_what_is_needed() {
    let (code, out, messages) = outcome(&["budget"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(
        messages.contains("--input") && messages.contains("start-resistor"),
        "{messages}"
    );
    for bad in [
        &["budget", "--input", "230"][..],
        &["budget", "--part", "start-resistor=4x7"],
        &["budget", "--part", "mood=1"],
        &["budget", "--reading", "mood=1"],
        &["budget", "--input", "230ac", "--controller", "XQ9999"],
        &["budget", "--part", "rt=1k", "--part", "rt=2k"],
    ] {
        let (code, out, messages) = outcome(bad);
        assert!(
            code == 2 && out.is_empty() && !messages.is_empty(),
            "{bad:?}"
        );
    }
}

#[test]
fn a_part_read_is_set_against_its_mark() {
    let verdict = |mark: &str| {
        let part = format!("start-resistor=220k {mark}");
        let object = json(&[
            "budget",
            "--part",
            &part,
            "--reading",
            "start-resistor=217.8k",
            "--meter",
            "0.5%",
            "--json",
        ]);
        object["checked"][0]["verdict"].as_str().unwrap().to_owned()
    };
    assert_eq!(verdict("5%"), "in-limits");
    assert_eq!(verdict("1%"), "cannot-say");
}

#[test]
fn a_ramp_read_names_the_part_that_moved() {
    // 13 kΩ and 0.7 nF for 1 nF (times by small steps of the circuit, tests/oracle/budget_vectors.json)
    let object = json(&[
        "budget",
        "--controller",
        "UC3844A (TI)",
        "--part",
        "rt=13k 1%",
        "--part",
        "ct=1n 5%",
        "--reading",
        "ramp-rise=5.036us",
        "--reading",
        "ramp-fall=0.1477us",
        "--reading",
        "ramp-peak=2.7V",
        "--reading",
        "ramp-valley=1.0V",
        "--json",
    ]);
    let back = &object["timing"]["from_ramp"];
    assert_eq!(back["moved"], "ct", "{back}");
    assert!((back["rt_ct"].as_f64().unwrap() / 9.1e-6 - 1.0).abs() < 1e-3);
}

#[test]
fn a_unit_that_never_starts_says_why() {
    let object = json(&[
        "budget",
        "--input",
        "230ac",
        "--controller",
        "UC3844 (TI)",
        "--part",
        "start-resistor=1M",
        "--part",
        "vcc-capacitor=47u",
        "--json",
    ]);
    let why = object["never_because"].as_str().unwrap();
    assert!(why.contains("start threshold"), "{why}");
    assert!(object["time_to_start"].is_null());
    assert!(object["why_not"]["time_to_start"].is_string());
}

/// A part that the reading contradicts: what is told beside a job goes before its record.
#[test]
fn a_job_gives_its_record_to_the_budget() {
    let folder = tempfile::tempdir().unwrap();
    let record = "schema = 1\ninput = \"230ac±6%\"\n[controller]\nmarking = \"UC3844\"\n[parts]\n\
        start-resistor = 220000.0\nvcc-capacitor = 4.7e-5\n[[runs]]\ntitle = \"as found\"\n\
        [runs.readings]\nstandby-current = 0.0005\n";
    std::fs::write(folder.path().join("job.toml"), record).unwrap();
    let job = folder.path().to_string_lossy().into_owned();
    let of_job = json(&["budget", &job, "--json"]);
    let told = [
        "budget",
        "--input",
        "230ac±6%",
        "--controller",
        "UC3844",
        "--part",
        "start-resistor=220k",
        "--part",
        "vcc-capacitor=47u",
        "--reading",
        "standby-current=0.5mA",
        "--json",
    ];
    assert_eq!(of_job, json(&told));
    let other = json(&["budget", &job, "--part", "start-resistor=1M", "--json"]);
    assert_eq!(other["starts"], "never");
    let (code, _, messages) = outcome(&["budget", "no-such-job"]);
    assert!(code == 2 && messages.contains("no-such-job"), "{messages}");
}
