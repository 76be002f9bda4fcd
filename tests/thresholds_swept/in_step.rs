//! An export of 2,000 points with OUT alone beside VCC: its samples fall in step with the pulses and meet them in
//! long rows, with pauses as long.

use firstpulse::data::EventKind;

use super::*;

/// Of the samples so many are left out.
const ONE_IN: usize = 15;

fn thinned(name: &str, values: Vec<f64>, sigma: f64) -> firstpulse::data::Channel {
    let mut channel = record(name, values, sigma);
    channel.time = made::even(ONE_IN as f64 / RATE, channel.samples.len());
    channel
}

/// VCC and OUT, whose samples go once through a pulse in `beat` of them; and how often OUT is seen to rise.
fn inspected(beat: f64, phase: f64, sigma: f64) -> (Inspection, usize) {
    inspected_until(f64::INFINITY, beat, phase, sigma)
}

/// The same, without pulses from a time on.
fn inspected_until(until_s: f64, beat: f64, phase: f64, sigma: f64) -> (Inspection, usize) {
    let rate = RATE / ONE_IN as f64;
    let hertz = (700.0 + 1.0 / beat) * rate;
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let pulse = |i: usize| {
        let t = i as f64 / RATE;
        let turn = (t * hertz + phase).fract();
        if swept.runs[i] && turn < 0.47 && t < until_s {
            swept.vcc[i] - 1.5
        } else {
            0.02
        }
    };
    let out: Vec<f64> = (0..swept.vcc.len()).step_by(ONE_IN).map(pulse).collect();
    let rows = out.windows(2).filter(|w| w[0] < 1.0 && w[1] > 1.0).count();
    let vcc = swept.vcc.iter().copied().step_by(ONE_IN).collect();
    let shot = made::shot(vec![thinned("VCC", vcc, sigma), thinned("OUT", out, 0.02)]);
    (
        made::examine(&[shot], &options(&[Role::Vcc, Role::Out])),
        rows,
    )
}

/// The step of VCC behind its feed resistance tells the instant that OUT does not: to a few samples, of which each
/// is 4 mV of this sweep.
#[test]
fn the_step_of_vcc_tells_when_where_out_only_tells_that_it_runs() {
    let runs = swept(by_hand, |_, _| 0.0, 30.0).runs;
    let at = |on: bool| {
        runs.windows(2)
            .position(|w| w[0] != on && w[1] == on)
            .unwrap() as f64
            / RATE
    };
    let (starts, stops) = (at(true), at(false));
    let (mut near, mut all) = (0, 0);
    for beat in [40.0, 150.0, 600.0] {
        for k in 0..5 {
            let (found, rows) = inspected(beat, 0.1 + 0.2 * f64::from(k), 0.12);
            if rows == 0 {
                continue; // never seen: nothing is asked of it
            }
            for (quantity, truth) in [
                (Quantity::StartThreshold, START_V),
                (Quantity::StopThreshold, STOP_V),
            ] {
                let value = value(&found, quantity);
                let off = (value.value - truth).abs();
                assert!(off <= 1.5 * value.u95, "{beat} {k}: {off} {}", value.u95);
                assert!(value.u95 < 0.06, "{beat} {k}: {}", value.u95);
            }
            for event in &found.events {
                all += 1;
                let truth = if event.kind == EventKind::Start {
                    starts
                } else {
                    stops
                };
                near += usize::from((event.at_s - truth).abs() <= event.within_s + 1.0 / RATE);
                assert!(event.within_s < 0.1, "{beat} {k}: {}", event.within_s);
            }
        }
    }
    assert!(all >= 20 && 10 * near >= 9 * all, "{near} of {all}");
}

/// It runs on though OUT is not seen from 18 s on, as when a light load lets it skip pulses: the step of VCC at
/// the stop is not talked away.
#[test]
fn pulses_that_stay_away_are_no_stop() {
    let (found, _) = inspected_until(18.0, 45.0, 0.3, 0.05);
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
}

/// Each pulse takes half a volt from a weak VCC capacitor, or 0.1 V, and the samples fall in step with that too: once in a
/// turn VCC jumps as at a start or a stop, and nothing may be made of these.
#[test]
fn ripple_in_step_makes_no_event() {
    let mut told = 0;
    for k in 0..48_u32 {
        let beat = 20.0 + f64::from(k);
        let swing = [0.5, -0.5, 0.1, -0.1][k as usize % 4];
        let hertz = (700.0 + 1.0 / beat) * RATE / ONE_IN as f64;
        let turn = |t: f64| (t * hertz).fract();
        let saw = |t: f64, on: bool| f64::from(u8::from(on)) * swing * (turn(t) - 0.5);
        let swept = swept(|t| by_hand(3.0 * t % 30.0), saw, 30.0);
        let pulse = |i: usize| {
            let high = swept.runs[i] && turn(i as f64 / RATE + 0.3 / hertz) < 0.47;
            if high { 6.5 } else { 0.02 }
        };
        let thin = (0..swept.vcc.len()).step_by(ONE_IN);
        let (vcc, out) = thin.map(|i| (swept.vcc[i], pulse(i))).unzip();
        let shot = made::shot(vec![thinned("VCC", vcc, 0.05), thinned("OUT", out, 0.02)]);
        let found = made::examine(&[shot], &options(&[Role::Vcc, Role::Out]));
        told += found.events.len();
        for event in &found.events {
            let on = event.kind == EventKind::Start;
            let near = |w: &[bool], i: usize| {
                let off = (event.at_s - i as f64 / RATE).abs();
                w[0] != on && w[1] == on && off < event.within_s + 0.05
            };
            let mut pairs = swept.runs.windows(2).zip(1..);
            assert!(pairs.any(|(w, i)| near(w, i)), "{beat}: {event:?}");
        }
    }
    // where the ripple is small, nearly every start and stop of three sweeps is told
    assert!(told > 120, "{told}");
}

/// VCC turns round below the start; one sample of OUT is disturbed.
#[test]
fn a_turn_and_a_disturbed_sample_are_no_start() {
    for seed in 0..10 {
        let below = |t: f64| by_hand(t + 0.01 * f64::from(seed)).min(8.2);
        let swept = swept(below, |_, _| 0.0, 30.0);
        let vcc: Vec<f64> = swept.vcc.iter().copied().step_by(ONE_IN).collect();
        let mut out = vec![0.02; vcc.len()];
        out[700] = 2.5;
        let shot = made::shot(vec![thinned("VCC", vcc, 0.05), thinned("OUT", out, 0.02)]);
        let found = made::examine(&[shot], &options(&[Role::Vcc, Role::Out]));
        assert!(found.events.is_empty(), "{:?}", found.events);
    }
}

/// Noise of half a volt hides the step: then the pauses of OUT are too long to say anything, and it says what to
/// record instead of asking for a higher VCC.
#[test]
fn where_neither_tells_the_reason_does() {
    for beat in [150.0, 600.0] {
        let (found, rows) = inspected(beat, 0.1, 0.5);
        assert!(rows > 0);
        for quantity in [Quantity::StartThreshold, Quantity::StopThreshold] {
            let outcome = &row(&found, quantity).measured.outcome;
            let words = format!("{outcome:?}");
            let wrong = ["drive it higher", "let it fall further", "never starts"];
            assert!(!wrong.iter().any(|w| words.contains(w)), "{words}");
            assert!(words.contains("record VREF"), "{beat}: {words}");
        }
    }
}

/// VREF is recorded beside an OUT that says nothing: VCC has to fall further, and nothing else be recorded.
#[test]
fn what_is_recorded_already_is_not_asked_for() {
    let above = |t: f64| by_hand(t).max(if t < 16.0 { 7.0 } else { 8.5 });
    let swept = swept(above, |_, _| 0.0, 30.0);
    let rate = RATE / ONE_IN as f64;
    let turn = |i: usize| (i as f64 / RATE * 700.01 * rate).fract();
    let out = (0..swept.vcc.len()).step_by(ONE_IN);
    let out = out.map(|i| {
        if swept.runs[i] && turn(i) < 0.47 {
            6.5
        } else {
            0.02
        }
    });
    let thin = |values: Vec<f64>| values.into_iter().step_by(ONE_IN).collect();
    let vref = thin(vref(&swept.runs));
    let out = out.collect();
    let shot = made::shot(vec![
        thinned("VCC", thin(swept.vcc), 0.05),
        thinned("VREF", vref, 0.02),
        thinned("OUT", out, 0.02),
    ]);
    let roles = [Role::Vcc, Role::Vref, Role::Out];
    let found = made::examine(&[shot], &options(&roles));
    holds(&found, Quantity::StartThreshold, START_V);
    let words = format!(
        "{:?}",
        row(&found, Quantity::StopThreshold).measured.outcome
    );
    assert!(
        words.contains("let it fall further") && !words.contains("record VREF"),
        "{words}"
    );
}
