//! Thresholds on a VCC that is turned by hand: records by formula, each with the comparator's own level
//! as truth. What a meter would show beside it, steps of the knob, witnesses other than VREF, joins.

mod made;

#[path = "thresholds_swept/elsewhere.rs"]
mod elsewhere;
#[path = "thresholds_swept/extremes.rs"]
mod extremes;
#[path = "thresholds_swept/folded.rs"]
mod folded;
#[path = "thresholds_swept/hidden.rs"]
mod hidden;
#[path = "thresholds_swept/in_step.rs"]
mod in_step;
#[path = "thresholds_swept/knob.rs"]
mod knob;
#[path = "thresholds_swept/soft.rs"]
mod soft;

use std::sync::Arc;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{
    Direction, Inspection, Judged, Options, Quantity, Role, Setup, StageState, StepPlace, Value,
    VoltageStep,
};
use firstpulse::inspect::Shot;
use made::Dice;

/// Start and stop of the comparator, in volts.
const START_V: f64 = 8.4;
const STOP_V: f64 = 7.6;
/// By how much VCC falls when the controller runs: 14 mA through 22 Ω and a diode (common practice).
const FEED_V: f64 = 0.4;
/// Samples a second.
const RATE: f64 = 1000.0;

/// One sweep up and down: VCC, VREF, and whether it runs, by stepping through the samples.
struct Swept {
    vcc: Vec<f64>,
    runs: Vec<bool>,
}

/// Steps a comparator through what the bench supply gives; `swing(t, runs)` is what ripple adds to VCC.
fn swept(supply: impl Fn(f64) -> f64, swing: impl Fn(f64, bool) -> f64, seconds: f64) -> Swept {
    swept_between((START_V, STOP_V), supply, swing, seconds)
}

fn swept_between(
    (start_v, stop_v): (f64, f64),
    supply: impl Fn(f64) -> f64,
    swing: impl Fn(f64, bool) -> f64,
    seconds: f64,
) -> Swept {
    let (mut vcc, mut runs, mut on) = (Vec::new(), Vec::new(), false);
    let at = |t: f64, on: bool| supply(t) - if on { FEED_V } else { 0.0 } + swing(t, on);
    for i in 0..(seconds * RATE) as usize {
        // twenty steps a sample: what the comparator sees is faster than the record
        for part in 0..20 {
            let level = at((i as f64 + f64::from(part) / 20.0) / RATE, on);
            on = if on { level > stop_v } else { level >= start_v };
        }
        vcc.push(at(i as f64 / RATE, on));
        runs.push(on);
    }
    Swept { vcc, runs }
}

/// Up in 12 s, down in 12 s, between 7 and 10 V, with pauses.
fn by_hand(t: f64) -> f64 {
    match t {
        t if t < 2.0 => 7.0,
        t if t < 14.0 => 7.0 + 0.25 * (t - 2.0),
        t if t < 16.0 => 10.0,
        t if t < 28.0 => 10.0 - 0.25 * (t - 16.0),
        _ => 7.0,
    }
}

fn record(name: &str, values: Vec<f64>, sigma: f64) -> firstpulse::data::Channel {
    let time = made::even(1.0 / RATE, values.len());
    let mut dice = Dice(17);
    // an eight-bit code step over 20 V
    let code = 20.0 / 256.0;
    let noisy = values
        .into_iter()
        .map(|v| ((v + sigma * dice.normal()) / code).round() * code);
    firstpulse::data::Channel::of_volts(name, time, noisy.collect())
}

fn vref(runs: &[bool]) -> Vec<f64> {
    let mut level: f64 = 0.0;
    let follow = |on: &bool| {
        level = if *on {
            5.0
        } else {
            level * (-1.0 / RATE / 0.005).exp()
        };
        level
    };
    runs.iter().map(follow).collect()
}

fn options(roles: &[Role]) -> Options {
    let exact = Accuracy {
        gain: 1e-6,
        offset: 1e-6,
    };
    Options {
        controller: Some("UC3843".to_owned()),
        setup: Some(Setup::Injected),
        roles: made::roles(roles),
        accuracies: (1..=roles.len()).map(|n| (made::nth(n), exact)).collect(),
        ..Options::default()
    }
}

fn with_vref(swept: &Swept) -> Arc<Shot> {
    made::shot(vec![
        record("VCC", swept.vcc.clone(), 0.03),
        record("VREF", vref(&swept.runs), 0.02),
    ])
}

fn row(found: &Inspection, quantity: Quantity) -> &Judged {
    found
        .measured
        .iter()
        .find(|j| j.measured.quantity == quantity)
        .unwrap_or_else(|| panic!("no {quantity:?}"))
}

fn value(found: &Inspection, quantity: Quantity) -> &Value {
    let row = row(found, quantity);
    row.measured
        .value()
        .unwrap_or_else(|| panic!("{:?}", row.measured.outcome))
}

fn holds(found: &Inspection, quantity: Quantity, truth: f64) {
    let value = value(found, quantity);
    assert!(
        (value.value - truth).abs() <= value.u95,
        "{quantity:?}: {} ± {}, truth {truth}",
        value.value,
        value.u95
    );
}

/// With ripple of amplitude A the controller starts when the mean is A below its threshold, and stops
/// when it is A above (common practice; ripple of 0.3 V: mean 8.1 V).
#[test]
fn the_comparator_sees_the_crests() {
    for hertz in [100.0, 67_522.0] {
        let swing = |t: f64, _| 0.15 * (std::f64::consts::TAU * hertz * t).sin();
        let found = made::examine(
            &[with_vref(&swept(by_hand, swing, 30.0))],
            &options(&[Role::Vcc, Role::Vref]),
        );
        holds(&found, Quantity::StartThreshold, START_V);
        holds(&found, Quantity::StopThreshold, STOP_V);
        let mean = value(&found, Quantity::StartThresholdMean);
        assert!(
            (mean.value - (START_V - 0.15)).abs() < 0.02,
            "{hertz} Hz: {}",
            mean.value
        );
        assert!(value(&found, Quantity::StartThreshold).u95 < 0.05);
    }
}

/// A knob with steps of 0.25 V: the event lies within one, and the half-width is half of it.
#[test]
fn steps_of_the_knob_limit_the_result() {
    let stepped = |t: f64| (by_hand(t) / 0.25).floor() * 0.25;
    let found = made::examine(
        &[with_vref(&swept(stepped, |_, _| 0.0, 30.0))],
        &options(&[Role::Vcc, Role::Vref]),
    );
    for (quantity, truth) in [
        (Quantity::StartThreshold, START_V),
        (Quantity::StopThreshold, STOP_V),
    ] {
        holds(&found, quantity, truth);
        let value = value(&found, quantity);
        assert!(
            (0.08..0.2).contains(&value.u95),
            "{quantity:?} ± {}",
            value.u95
        );
        assert!(value.terms.iter().any(|t| t.name == "step of the knob"));
        assert!(row(&found, quantity).measured.remarks[0].contains("comes in steps of about 0.2"));
    }
}

/// Steps of 0.1 V that a noise of 0.08 V, as large as a code, hides from sample to sample.
#[test]
fn steps_that_noise_hides_still_limit_the_result() {
    let stepped = |t: f64| ((by_hand(t) / 0.1).floor() + 0.37) * 0.1;
    let swept = swept(stepped, |_, _| 0.0, 30.0);
    let shot = made::shot(vec![
        record("VCC", swept.vcc.clone(), 0.08),
        record("VREF", vref(&swept.runs), 0.02),
    ]);
    let found = made::examine(&[shot], &options(&[Role::Vcc, Role::Vref]));
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
    for quantity in [Quantity::StartThreshold, Quantity::StopThreshold] {
        let value = value(&found, quantity);
        assert!((0.045..0.09).contains(&value.u95), "{value:?}");
        assert!(value.terms.iter().any(|t| t.name == "step of the knob"));
    }
}

/// A hand that holds VCC still at two levels, so that the meter can be read there, and turns on evenly in
/// between, is no knob that turns in steps: what lies between two holds is a slope with hundreds of
/// samples (common practice: set the scope to the meter at about 5 and 15 V, then go on).
#[test]
fn holds_for_the_meter_are_no_steps_of_the_knob() {
    for (pace, hold_v, hold_s) in [(1.0, 15.0, 3.0), (0.5, 14.6, 2.0), (2.0, 15.2, 6.0)] {
        let supply = |t: f64| {
            // up to 5 V, hold, up to the second level, hold, up to 17 V and down again
            let times = [0.0, 5.0 / pace, 3.0, (hold_v - 5.0) / pace, hold_s];
            let mut at = t;
            let mut level = 0.0;
            for (part, length) in times.iter().enumerate().skip(1) {
                let within = at.min(*length);
                level += if part % 2 == 1 { within * pace } else { 0.0 };
                at -= within;
            }
            let peak_s = (17.0 - hold_v) / pace;
            level + pace * at.min(peak_s) - pace * (at - peak_s).max(0.0)
        };
        let seconds = 3.0 + hold_s + (17.0 + 17.0 - 8.0) / pace;
        let swept = swept_between((15.93, 9.71), supply, |_, _| 0.0, seconds);
        let shot = made::shot(vec![
            record("VCC", swept.vcc.clone(), 0.03),
            record("VREF", vref(&swept.runs), 0.02),
        ]);
        let mut told = options(&[Role::Vcc, Role::Vref]);
        told.controller = Some("UC3844".to_owned());
        let found = made::examine(&[shot], &told);
        for (quantity, truth) in [
            (Quantity::StartThreshold, 15.93),
            (Quantity::StopThreshold, 9.71),
        ] {
            // of six values one may lie beyond its 95 %, none beyond three standard uncertainties
            let found_v = value(&found, quantity);
            let off_v = (found_v.value - truth).abs();
            let u95 = found_v.u95;
            assert!(
                off_v < 3.0 * found_v.u,
                "{pace} V/s: {quantity:?} off by {off_v} ± {u95}"
            );
            assert!(u95 < 0.06, "{pace} V/s: {quantity:?} ± {u95}");
            let remarks = row(&found, quantity).measured.remarks.join(" ");
            assert!(!remarks.contains("steps of"), "{pace} V/s: {remarks}");
        }
    }
}

/// A smooth slope that climbs a tenth of a code a sample, with noise of 0.25 to 0.4 codes, is told from a
/// knob that turns in steps of about a code: of 48 records none is taken for one.
#[test]
fn codes_of_a_smooth_slope_are_no_steps_of_the_knob() {
    let code = 20.0 / 256.0;
    let pace = 0.1 * code * RATE;
    // four times up and down between 7 and 9 V
    let half_s = 2.0 / pace;
    let supply = |t: f64| {
        let part = (t / half_s) % 2.0;
        7.0 + 2.0 * if part < 1.0 { part } else { 2.0 - part }
    };
    let swept = swept(supply, |_, _| 0.0, 8.0 * half_s);
    for (number, share) in (0..48).map(|n| (n, [0.25, 0.3, 0.4][n % 3])) {
        let mut dice = Dice(900 + number as u64);
        let mut rounded = |values: &[f64]| -> Vec<f64> {
            let noisy = values.iter().map(|v| v + share * code * dice.normal());
            noisy.map(|v| (v / code).round() * code).collect()
        };
        let channel = |name: &str, values: Vec<f64>| {
            let time = made::even(1.0 / RATE, values.len());
            firstpulse::data::Channel::of_volts(name, time, values)
        };
        let shot = made::shot(vec![
            channel("VCC", rounded(&swept.vcc)),
            channel("VREF", rounded(&vref(&swept.runs))),
        ]);
        let found = made::examine(&[shot], &options(&[Role::Vcc, Role::Vref]));
        let remarks = row(&found, Quantity::StartThreshold)
            .measured
            .remarks
            .join(" ");
        assert!(!remarks.contains("steps of"), "record {number}: {remarks}");
    }
}

/// Landings of about 50 samples that differ by a fifth, steps of about 1.3 codes that differ by a tenth, noise
/// of 0.6 codes: no leap stands out, but in 11 of 12 records or more all landings together show the steps,
/// and 21 of 24 values or more hold (94 % of 24 are 22.6).
#[test]
fn uneven_steps_that_noise_hides_are_seen_by_all_of_them() {
    let mut seen = 0;
    let mut held = 0;
    for seed in 0..12 {
        let mut dice = Dice(4000 + seed);
        let (mut level, mut by, mut landings) = (6.0 + 0.1 * dice.uniform(), 0.1, Vec::new());
        for _ in 0..110 {
            let samples = (50.0 * (0.8 + 0.4 * dice.uniform())) as usize;
            landings.extend(std::iter::repeat_n(level, samples));
            by = if level > 11.0 { -0.1 } else { by };
            level += by * (0.9 + 0.2 * dice.uniform());
        }
        let last = landings.len() - 1;
        let supply = |t: f64| landings[((t * RATE + 1e-6) as usize).min(last)];
        let swept = swept(supply, |_, _| 0.0, landings.len() as f64 / RATE);
        let code = 20.0 / 256.0;
        let noisy = swept.vcc.iter().map(|v| v + 0.05 * dice.normal());
        let vcc: Vec<f64> = noisy.map(|v| (v / code).round() * code).collect();
        let time = made::even(1.0 / RATE, vcc.len());
        let shot = made::shot(vec![
            firstpulse::data::Channel::of_volts("VCC", time, vcc),
            record("VREF", vref(&swept.runs), 0.02),
        ]);
        let found = made::examine(&[shot], &options(&[Role::Vcc, Role::Vref]));
        let steps = |q| {
            value(&found, q)
                .terms
                .iter()
                .any(|t| t.name == "step of the knob")
        };
        seen += usize::from(steps(Quantity::StartThreshold));
        for (quantity, truth) in [
            (Quantity::StartThreshold, START_V),
            (Quantity::StopThreshold, STOP_V),
        ] {
            let value = value(&found, quantity);
            held += usize::from((value.value - truth).abs() <= value.u95);
            assert!(value.u95 < 0.09, "record {seed}: {value:?}");
        }
    }
    assert!(
        seen >= 11 && held >= 21,
        "{seen} of 12 seen, {held} of 24 held"
    );
}

/// OUT alone tells when it runs, also where its samples fall at random on the pulses.
#[test]
fn pulses_bound_the_events() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let pulse = |(i, on): (usize, &bool)| {
        let phase = (i as f64 / RATE * 67_522.3).fract();
        if *on && phase < 0.45 {
            swept.vcc[i] - 1.5
        } else {
            0.05
        }
    };
    let out: Vec<f64> = swept.runs.iter().enumerate().map(pulse).collect();
    let shot = made::shot(vec![
        record("VCC", swept.vcc.clone(), 0.03),
        record("OUT", out, 0.03),
    ]);
    let found = made::examine(&[shot], &options(&[Role::Vcc, Role::Out]));
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
    assert!(found.events.iter().all(|e| e.witness == Role::Out));
}

/// Pulses of OUT that the samples miss for 150 of them now and then, and for the last 80: as long as that says
/// nothing, and the record shows no stop.
#[test]
fn a_pause_at_the_end_is_no_stop_where_pauses_are_longer() {
    let up_and_hold = |t: f64| by_hand(t.min(15.0));
    let swept = swept(up_and_hold, |_, _| 0.0, 24.0);
    let count = swept.runs.len();
    let met = |i: usize| (i * 7919 % 101).is_multiple_of(3) && i % 1500 > 150 && i + 80 < count;
    let high = |(i, on): (usize, &bool)| if *on && met(i) { 8.0 } else { 0.1 };
    let out: Vec<f64> = swept.runs.iter().enumerate().map(high).collect();
    let shot = made::shot(vec![
        record("VCC", swept.vcc.clone(), 0.03),
        record("OUT", out, 0.02),
    ]);
    let found = made::examine(&[shot], &options(&[Role::Vcc, Role::Out]));
    holds(&found, Quantity::StartThreshold, START_V);
    let stop = &row(&found, Quantity::StopThreshold).measured;
    assert!(stop.value().is_none(), "{stop:?}");
}

/// VCC alone, fed through a resistance: it steps down at the start and up at the stop.
#[test]
fn a_feed_resistance_makes_vcc_its_own_witness() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let shot = made::shot(vec![record("VCC", swept.vcc, 0.03)]);
    let found = made::examine(&[shot], &options(&[Role::Vcc]));
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
}

#[test]
fn a_supply_that_stays_below_gives_no_number() {
    let low = |t: f64| 5.0 + (by_hand(t) - 7.0);
    let found = made::examine(
        &[with_vref(&swept(low, |_, _| 0.0, 30.0))],
        &options(&[Role::Vcc, Role::Vref]),
    );
    let start = row(&found, Quantity::StartThreshold);
    assert!(start.measured.value().is_none());
    let said = format!("{:?}", start.measured.outcome);
    assert!(said.contains("8.0") || said.contains("7.9"), "{said}");
}

/// A hand that lets go of the knob: slowly up to 7.8 V and down within 50 ms, as fast as a running controller
/// empties its capacitor. VREF beside it stays down, so nothing has started.
#[test]
fn a_single_turn_beside_a_vref_that_stays_down_is_no_start() {
    let supply = |t: f64| match t {
        t if t < 4.0 => 6.0 + 0.45 * t,
        t => (7.8 - 60.0 * (t - 4.0)).max(5.0),
    };
    let found = made::examine(
        &[with_vref(&swept(supply, |_, _| 0.0, 8.0))],
        &options(&[Role::Vcc, Role::Vref]),
    );
    for quantity in [Quantity::StartThreshold, Quantity::StopThreshold] {
        let row = found
            .measured
            .iter()
            .find(|j| j.measured.quantity == quantity);
        let value = row.and_then(|r| r.measured.value());
        assert!(value.is_none(), "{quantity:?}: {value:?}");
    }
}

/// A threshold that drifts by 12 mV from sweep to sweep: the mean of three is asked for, and their drift is
/// little doubt of it. A t of two degrees of freedom (JCGM 100, G.3) would make 4.3 × 12/√3 = 30 mV of it.
#[test]
fn a_drift_is_no_scatter_of_three_sweeps() {
    let supply = |t: f64| by_hand(t % 30.0);
    let (mut vcc, mut runs) = (Vec::new(), Vec::new());
    for drift_v in [-0.012, 0.0, 0.012] {
        let one = swept_between(
            (START_V + drift_v, STOP_V + drift_v),
            supply,
            |_, _| 0.0,
            30.0,
        );
        vcc.extend(one.vcc);
        runs.extend(one.runs);
    }
    let found = made::examine(
        &[with_vref(&Swept { vcc, runs })],
        &options(&[Role::Vcc, Role::Vref]),
    );
    for (quantity, truth) in [
        (Quantity::StartThreshold, START_V),
        (Quantity::StopThreshold, STOP_V),
    ] {
        holds(&found, quantity, truth);
        assert!(
            value(&found, quantity).u95 < 0.05,
            "{:?}",
            value(&found, quantity)
        );
    }
    assert!(value(&found, Quantity::Hysteresis).u95 < 0.02);
}

/// Two shots of a run whose thresholds differ are not joined; two that agree are, and count together.
#[test]
fn sweeps_are_joined_only_where_they_agree() {
    let roles = options(&[Role::Vcc, Role::Vref]);
    let one = with_vref(&swept(by_hand, |_, _| 0.0, 30.0));
    let slower = |t: f64| by_hand(0.8 * t);
    let two = with_vref(&swept(slower, |_, _| 0.0, 37.0));
    let together = made::examine(&[Arc::clone(&one), two], &roles);
    let start = together
        .joined
        .iter()
        .find(|j| j.quantity == Quantity::StartThreshold)
        .unwrap();
    let value = start.value.as_ref().unwrap();
    assert_eq!(
        (start.captures.as_slice(), value.count),
        ([0, 1].as_slice(), 2)
    );
    assert!((value.value - START_V).abs() <= value.u95);
    // the same sweep, 0.3 V lower: as if VCC had been measured at another place
    let mut lower = swept(by_hand, |_, _| 0.0, 30.0);
    lower.vcc.iter_mut().for_each(|v| *v -= 0.3);
    let apart = made::examine(&[one, with_vref(&lower)], &roles);
    let start = apart
        .joined
        .iter()
        .find(|j| j.quantity == Quantity::StartThreshold)
        .unwrap();
    assert!(start.value.is_none());
    assert!(
        start.why_not.contains("Shots 1 and 2 are not joined"),
        "{}",
        start.why_not
    );
    assert!(apart.notes.iter().any(|n| n.text == start.why_not));
    // what works is said without one of the two figures
    let works = &apart.lines.works;
    assert!(
        works.contains("the shots contradict each other") && !works.contains("it starts at"),
        "{works}"
    );
}
