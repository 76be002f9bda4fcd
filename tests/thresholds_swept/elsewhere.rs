//! A witness that moves before the start, and a controller that something else than VCC stops.

use firstpulse::data::{Channel, EventKind, ShotKind};

use super::*;

fn examined(vcc: Vec<f64>, vref: Vec<f64>) -> Inspection {
    let channels: Vec<Channel> = vec![record("VCC", vcc, 0.06), record("VREF", vref, 0.02)];
    made::examine(&[made::shot(channels)], &options(&[Role::Vcc, Role::Vref]))
}

/// VREF is not quite 0 V before the start: it leaks up with VCC, in a ramp or in a step (common practice: a few
/// tenths of a volt). The start is where it comes up, not where it creeps.
#[test]
fn a_vref_that_creeps_up_starts_where_it_rises() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let creeps: [fn(f64) -> f64; 5] = [
        |v| (0.3 * (v - 7.2)).clamp(0.0, 0.3),
        |v| (1.5 * (v - 7.4)).clamp(0.0, 0.8),
        |v| if v > 7.9 { 0.3 } else { 0.0 },
        |v| 0.05 * v,
        |v| 0.1 * v,
    ];
    for (number, creep) in creeps.into_iter().enumerate() {
        let up = vref(&swept.runs);
        let both = up.iter().zip(&swept.vcc);
        let found = examined(
            swept.vcc.clone(),
            both.map(|(up, vcc)| up.max(creep(*vcc))).collect(),
        );
        let starts = found.events.iter().filter(|e| e.kind == EventKind::Start);
        assert_eq!(starts.count(), 1, "{number}");
        holds(&found, Quantity::StartThreshold, START_V);
        holds(&found, Quantity::StopThreshold, STOP_V);
    }
}

/// Stopped by something else while VCC still rises: no threshold of VCC, nothing to set against its limits, and no
/// sign that VCC climbs and falls by itself.
#[test]
fn a_stop_while_vcc_rises_is_no_threshold() {
    for runs_s in [0.2, 0.6, 1.5] {
        let mut swept = swept(by_hand, |_, _| 0.0, 30.0);
        let first = swept.runs.iter().position(|on| *on).unwrap();
        let last = first + (runs_s * RATE) as usize;
        swept.runs[last..].fill(false);
        for (i, volts) in swept.vcc.iter_mut().enumerate().skip(last) {
            *volts = by_hand(i as f64 / RATE);
        }
        let untold = Options {
            setup: None,
            ..options(&[Role::Vcc, Role::Vref])
        };
        let channels = vec![
            record("VCC", swept.vcc.clone(), 0.06),
            record("VREF", vref(&swept.runs), 0.02),
        ];
        let found = made::examine(&[made::shot(channels)], &untold);
        holds(&found, Quantity::StartThreshold, START_V);
        let said = format!(
            "{:?}",
            row(&found, Quantity::StopThreshold).measured.outcome
        );
        if runs_s > 0.5 {
            assert!(
                said.contains("that is no threshold of VCC"),
                "{runs_s}: {said}"
            );
            let fails = &found.lines.fails;
            assert!(
                fails.contains("Supply is marginal") && fails.contains("VCC rises"),
                "{fails}"
            );
            assert_eq!(found.suspects[0].cause, "vref-overloaded");
            assert_eq!(found.lines.next, found.suspects[0].next_check);
        }
        assert_eq!(
            found.captures[0].kind.value,
            Some(ShotKind::Sweep),
            "{runs_s}"
        );
    }
}

fn why(found: &Inspection, quantity: Quantity) -> String {
    format!("{:?}", row(found, quantity).measured.outcome)
}

/// It starts, runs for a few milliseconds and is stopped, once or again and again: the first start is a threshold,
/// nothing that follows is (a stop lies below its start).
#[test]
fn short_runs_have_one_start_and_no_stop() {
    for (again_s, runs_s) in [(f64::INFINITY, 0.02), (f64::INFINITY, 0.1), (0.3, 0.02)] {
        let mut swept = swept(by_hand, |_, _| 0.0, 30.0);
        let first = swept.runs.iter().position(|on| *on).unwrap();
        for (i, volts) in swept.vcc.iter_mut().enumerate() {
            *volts = by_hand(i as f64 / RATE);
            let since_s = (i as f64 - first as f64) / RATE;
            swept.runs[i] &= since_s % again_s < runs_s;
        }
        let found = examined(swept.vcc, vref(&swept.runs));
        holds(&found, Quantity::StartThreshold, START_V);
        let said = why(&found, Quantity::StopThreshold);
        assert!(
            said.contains("that is no threshold of VCC"),
            "{again_s} {runs_s}: {said}"
        );
        assert_eq!(found.suspects[0].cause, "vref-overloaded");
    }
}

/// VREF that does not get far is a reference that is pulled down, not a VCC that is too low; one that lies below 0 V is
/// a channel turned over.
#[test]
fn a_vref_that_is_not_up_is_called_what_it_is() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let up = vref(&swept.runs);
    let low = examined(swept.vcc.clone(), up.iter().map(|v| 0.22 * v).collect());
    assert!(
        why(&low, Quantity::StartThreshold).contains("1.1"),
        "{}",
        why(&low, Quantity::StartThreshold)
    );
    assert!(
        low.lines.fails.contains("Reference is dead"),
        "{}",
        low.lines.fails
    );
    let turned = examined(swept.vcc.clone(), up.iter().map(|v| -v).collect());
    assert!(why(&turned, Quantity::StartThreshold).contains("inverted"));
    let both = examined(swept.vcc.iter().map(|v| -v).collect(), up);
    for quantity in [Quantity::StartThreshold, Quantity::StopThreshold] {
        assert!(why(&both, quantity).contains("inverted"));
    }
}

/// Spikes that the probe picks up, to both sides, on some of the samples while it runs: the comparator does not see
/// them, and the thresholds stay.
#[test]
fn spikes_to_both_sides_do_not_pull_the_stop() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    for every in [21, 34, 200] {
        let spiked = |i: usize| {
            let on = swept.runs[i] && i.is_multiple_of(every);
            let size = 2.0 * ((i * 7919 % 1009) as f64 / 504.0 - 1.0);
            swept.vcc[i] + if on { size } else { 0.0 }
        };
        let found = examined(
            (0..swept.vcc.len()).map(spiked).collect(),
            vref(&swept.runs),
        );
        holds(&found, Quantity::StartThreshold, START_V);
        holds(&found, Quantity::StopThreshold, STOP_V);
        let value = row(&found, Quantity::StopThreshold)
            .measured
            .value()
            .unwrap();
        assert!(
            (value.value - STOP_V).abs() < 0.12,
            "{every}: {}",
            value.value
        );
    }
}

/// VREF that discharges so slowly that the record ends before it is down (an exponential of 2 s): the stop is where it
/// begins to fall, and VREF is what it was before.
#[test]
fn a_vref_that_still_falls_at_the_end_shows_the_stop() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let stop = swept.runs.iter().rposition(|on| *on).unwrap();
    let mut up = vref(&swept.runs);
    for (i, volts) in up.iter_mut().enumerate().skip(stop + 1) {
        *volts = 5.0 * (-((i - stop) as f64) / RATE / 2.0).exp();
    }
    for end_s in [1.6, 2.2] {
        let count = stop + (end_s * RATE) as usize;
        let found = examined(swept.vcc[..count].to_vec(), up[..count].to_vec());
        holds(&found, Quantity::StopThreshold, STOP_V);
        holds(&found, Quantity::VrefVoltage, 5.0);
    }
}

/// Stopped where VCC stands at its highest, above the start: no threshold, and nothing is clipped. Where the range ends
/// below both thresholds, it is clipping and nothing else.
#[test]
fn a_stop_at_the_flat_top_is_no_clipping() {
    let mut swept = swept(by_hand, |_, _| 0.0, 30.0);
    let last = (15.0 * RATE) as usize;
    swept.runs[last..].fill(false);
    let flat = |v: &f64| (v * 12.8).round() / 12.8;
    for (i, volts) in swept.vcc.iter_mut().enumerate() {
        *volts = by_hand(i as f64 / RATE);
    }
    let exact: Vec<f64> = swept.vcc.iter().map(flat).collect();
    let channels = |vcc: Vec<f64>| {
        let time = made::even(1.0 / RATE, vcc.len());
        let vcc = Channel::of_volts("VCC", time, vcc);
        vec![vcc, record("VREF", vref(&swept.runs), 0.02)]
    };
    let told = options(&[Role::Vcc, Role::Vref]);
    let found = made::examine(&[made::shot(channels(exact.clone()))], &told);
    let said = why(&found, Quantity::StopThreshold);
    assert!(said.contains("the highest of this record"), "{said}");
    let cut = exact.iter().map(|v| v.min(8.0)).collect();
    let found = made::examine(&[made::shot(channels(cut))], &told);
    for quantity in [Quantity::StartThreshold, Quantity::StopThreshold] {
        let said = why(&found, quantity);
        assert!(said.contains("clipped at 8"), "{said}");
    }
}
