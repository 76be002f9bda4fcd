//! What an examination costs: counted in samples handed out, on records of a million samples and
//! more a channel, made from formulas. The bounds are the invariants of `DEVELOPERS.md`: facts take at
//! most four passes, anything that is changed afterwards visits less than 1 % of the samples.

mod made;

use std::sync::Arc;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{Channel, Options, Quantity, Role, Setup};
use firstpulse::inspect::{self, Shot, ThreadRunner};

/// Passes over the samples that the facts may take.
const MOST_PASSES: u64 = 4;
/// One in so many samples may be visited by an examination.
const ONE_IN: u64 = 100;

/// Every change of options of two channels or more that a user can make, one after the other.
fn changes(roles: &[Role]) -> Vec<(&'static str, Options)> {
    let mut all = Vec::new();
    let mut options = Options::default();
    all.push(("first look", options.clone()));
    options.controller = Some("UC3844".to_owned());
    all.push(("controller", options.clone()));
    options.roles = made::roles(roles);
    all.push(("roles set", options.clone()));
    let mut other = options.clone();
    other.roles = made::roles(&[Role::Other, roles[0]]);
    all.push(("role changed", other));
    options.setup = Some(Setup::Mains);
    all.push(("set-up mains", options.clone()));
    options.setup = Some(Setup::Injected);
    all.push(("set-up injected", options.clone()));
    options.parts.insert("rt".to_owned(), 13e3);
    options.parts.insert("ct".to_owned(), 1e-9);
    all.push(("parts", options.clone()));
    options.readings.insert("bulk".to_owned(), 2.0);
    options
        .readings
        .insert("standby-current".to_owned(), 0.4e-3);
    all.push(("readings", options.clone()));
    let accuracy = Accuracy {
        gain: 0.01,
        offset: 0.02,
    };
    options.accuracies = vec![(made::nth(1), accuracy)];
    all.push(("accuracy", options.clone()));
    options.controller = Some("UC3843".to_owned());
    all.push(("another controller", options.clone()));
    options.probes = vec![(made::nth(1), 10.0), (made::nth(2), 10.0)];
    all.push(("probe factor", options.clone()));
    options.probes = vec![(made::nth(1), 1.02)];
    all.push(("probe factor near 1", options.clone()));
    all
}

fn facts_within_four_passes(name: &str, channels: Vec<Channel>) -> Arc<Shot> {
    let capture = Arc::new(made::capture(channels));
    assert!(capture.sample_count() >= 2_000_000, "{name} is too short");
    assert_eq!(capture.samples_visited(), 0);
    let facts = inspect::facts_of(&capture, &ThreadRunner::new());
    let (visited, count) = (capture.samples_visited(), capture.sample_count());
    assert!(visited >= count, "{name}: facts come from every sample");
    assert!(
        visited <= MOST_PASSES * count,
        "{name}: facts visited {visited} of {count}"
    );
    Arc::new(Shot { capture, facts })
}

/// Examines after every change; `must` is measured at the first look, so that the samples were
/// needed at all.
fn changes_cost_little(name: &str, channels: Vec<Channel>, roles: &[Role], must: Quantity) {
    let shot = facts_within_four_passes(name, channels);
    let count = shot.capture.sample_count();
    let mut failures = Vec::new();
    for (what, options) in changes(roles) {
        let before = shot.capture.samples_visited();
        let inspection = made::examine(&[Arc::clone(&shot)], &options);
        let visited = shot.capture.samples_visited() - before;
        if visited * ONE_IN >= count {
            failures.push(format!("{what}: {visited} of {count}"));
        }
        if what == "first look" {
            made::value(&inspection, must);
        }
    }
    assert!(failures.is_empty(), "{name}: {failures:#?}");
}

#[test]
fn a_sweep() {
    let time = made::even(36.0 / 1.2e6, 1_200_000);
    changes_cost_little(
        "sweep",
        vec![
            made::channel("CH1", &time, 0.02, 1, |t| made::triangle(t, 18.0, 2.0)),
            made::channel("CH2", &time, 0.01, 2, |t| {
                made::vref_of_triangle(t, 18.0, 2.0, 16.0, 10.0, 5e-3)
            }),
        ],
        &[Role::Vcc, Role::Vref],
        Quantity::StartThreshold,
    );
}

#[test]
fn a_running_controller() {
    let time = made::even(10e-9, 1_000_000);
    changes_cost_little(
        "running",
        vec![
            made::channel("CH1", &time, 0.01, 3, made::ramp),
            made::channel("CH2", &time, 0.05, 4, made::out),
            made::channel("CH3", &time, 0.05, 5, |_| 14.0),
        ],
        &[Role::RtCt, Role::Out],
        Quantity::OscillatorFrequency,
    );
}

#[test]
fn a_hiccup() {
    let (burst_s, recharge_s) = (22.6e-3, 202.6e-3);
    let time = made::even(2.8 / 1e6, 1_000_000);
    changes_cost_little(
        "hiccup",
        vec![
            made::channel("CH1", &time, 0.02, 6, |t| {
                made::hiccup(t, burst_s, recharge_s)
            }),
            made::channel("CH2", &time, 0.01, 7, |t| {
                made::vref_of_hiccup(t, burst_s, recharge_s, 5e-3)
            }),
        ],
        &[Role::Vcc, Role::Vref],
        Quantity::HiccupPeriod,
    );
}

/// Many events in a long record are the dearest case: about 70 starts and as many stops.
#[test]
fn a_fast_hiccup() {
    let (burst_s, recharge_s) = (3.4e-3, 35e-3);
    let time = made::even(3.2 / 1.5e6, 1_500_000);
    changes_cost_little(
        "fast hiccup",
        vec![
            made::channel("CH1", &time, 0.02, 8, |t| {
                made::hiccup(t, burst_s, recharge_s)
            }),
            made::channel("CH2", &time, 0.01, 9, |t| {
                made::vref_of_hiccup(t, burst_s, recharge_s, 5e-3)
            }),
        ],
        &[Role::Vcc, Role::Vref],
        Quantity::HiccupPeriod,
    );
}

/// Without VREF the events come from the corners of VCC alone.
#[test]
fn a_hiccup_of_vcc_alone() {
    let (burst_s, recharge_s) = (22.6e-3, 202.6e-3);
    let time = made::even(2.8 / 1e6, 1_000_000);
    changes_cost_little(
        "VCC alone",
        vec![
            made::channel("CH1", &time, 0.02, 10, |t| {
                made::hiccup(t, burst_s, recharge_s)
            }),
            made::channel("CH2", &time, 0.02, 11, |_| 0.0),
        ],
        &[Role::Vcc, Role::Other],
        Quantity::StartAttempts,
    );
}
