//! What a fast record of pins that pulse gives, against the formulas that the records are made from:
//! instants, durations and levels as IEEE 181 defines them, on waveforms whose answer is written down
//! beside each check.

mod made;

use std::sync::Arc;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{
    Channel, Inspection, Mark, Options, Quantity, ReferenceLevels, Role, SampleKind, ShotKind,
    TimeAxis,
};

/// A scope without gain and offset error, to see the method alone.
const EXACT: Accuracy = Accuracy {
    gain: 0.0,
    offset: 0.0,
};

fn options(roles: &[Role]) -> Options {
    let mut options = Options {
        roles: made::roles(roles),
        accuracies: (1..=roles.len()).map(|n| (made::nth(n), EXACT)).collect(),
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    options
}

fn examined(channels: Vec<Channel>, roles: &[Role]) -> Inspection {
    made::examine(&[made::shot(channels)], &options(roles))
}

/// Value within its u95, and that not wider than `widest`.
fn gives(inspection: &Inspection, quantity: Quantity, wanted: f64, widest: f64) {
    let value = made::value(inspection, quantity);
    let id = quantity.info().id;
    assert!(
        (value.value - wanted).abs() <= value.u95.max(1e-12 * wanted.abs()),
        "{id}: {} ± {} instead of {wanted}",
        value.value,
        value.u95
    );
    assert!(
        value.u95 <= widest,
        "{id}: ± {} is wider than {widest}",
        value.u95
    );
}

fn refuses(inspection: &Inspection, quantity: Quantity, word: &str) {
    let entry = made::entry(inspection, quantity);
    let why = format!("{:?}", entry.map(|j| &j.measured.outcome));
    assert!(
        entry.is_some_and(|j| j.measured.value().is_none()) && why.contains(word),
        "{}: {why}",
        quantity.info().id
    );
}

/// Pulses between `low` and `high` whose edges are single RC responses: 10 to 90 % in ln 9 × `tau_s`,
/// 50 % at ln 2 × `tau_s` after the step (closed form).
fn rc_pulses(t_s: f64, period_s: f64, width_s: f64, tau_s: f64, (low, high): (f64, f64)) -> f64 {
    let phase_s = t_s.rem_euclid(period_s);
    // of the train that has run for ever, the rest of the last step is below e^-40 here
    if phase_s < width_s {
        high - (high - low) * (-phase_s / tau_s).exp()
    } else {
        low + (high - low) * (-(phase_s - width_s) / tau_s).exp()
    }
}

const PERIOD_S: f64 = 14.81e-6;
const WIDTH_S: f64 = 7.2e-6;

fn out_of(step_s: f64, count: usize, sigma: f64, tau_s: f64) -> (Arc<TimeAxis>, Channel) {
    let time = made::even(step_s, count);
    let f = |t: f64| rc_pulses(t + 3.3e-6, PERIOD_S, WIDTH_S, tau_s, (0.1, 13.5));
    let channel = made::channel("CH1", &time, sigma, 5, f);
    (time, channel)
}

#[test]
fn edges_of_one_rc_take_ln_9_of_it() {
    for (sigma, widest) in [(0.0, 2e-9), (0.05, 6e-9)] {
        let (_, out) = out_of(20e-9, 20_000, sigma, 100e-9);
        let found = examined(vec![out], &[Role::Out]);
        let wanted = 100e-9 * 9.0_f64.ln();
        gives(&found, Quantity::OutRiseTime, wanted, widest);
        gives(&found, Quantity::OutFallTime, wanted, widest);
        gives(&found, Quantity::OutDutyCycle, WIDTH_S / PERIOD_S, 3e-4);
        gives(&found, Quantity::OutPulseDuration, WIDTH_S, 3e-9);
        gives(&found, Quantity::OutFrequency, 1.0 / PERIOD_S, 15.0);
        gives(&found, Quantity::MissingPulses, 0.0, 0.0);
        refuses(&found, Quantity::OutJitter, "no jitter stands out");
    }
}

#[test]
fn other_reference_levels_give_their_own_instants() {
    let (_, out) = out_of(10e-9, 20_000, 0.01, 100e-9);
    let mut options = options(&[Role::Out]);
    options.reference_levels = ReferenceLevels {
        low: 0.2,
        middle: 0.7,
        high: 0.8,
    };
    let found = made::examine(&[made::shot(vec![out])], &options);
    // 20 to 80 %: ln 4; at 70 % a rise is late by ln(1/0.3), a fall by ln(1/0.7)
    gives(&found, Quantity::OutRiseTime, 100e-9 * 4.0_f64.ln(), 2e-9);
    let width = WIDTH_S + 100e-9 * ((1.0_f64 / 0.7).ln() - (1.0_f64 / 0.3).ln());
    gives(&found, Quantity::OutPulseDuration, width, 2e-9);
}

#[test]
fn an_edge_faster_than_the_samples_is_refused_and_its_cycles_are_not() {
    for phase in [0.0, 0.21, 0.5, 0.77] {
        let time = made::even(100e-9, 6_000);
        let f = |t: f64| {
            if (t + phase * 1e-7).rem_euclid(PERIOD_S) < WIDTH_S {
                13.5
            } else {
                0.1
            }
        };
        let found = examined(vec![made::channel("CH1", &time, 0.02, 9, f)], &[Role::Out]);
        refuses(&found, Quantity::OutRiseTime, "faster than the samples");
        gives(&found, Quantity::OutDutyCycle, WIDTH_S / PERIOD_S, 1e-3);
        gives(&found, Quantity::OutFrequency, 1.0 / PERIOD_S, 15.0);
    }
}

#[test]
fn samples_in_step_with_the_pulses_leave_their_doubt() {
    // 150 samples a cycle exactly: every cycle looks the same, and one sample interval stays open
    let time = made::even(100e-9, 6_000);
    for offset in [0.05, 0.5, 0.95] {
        let f = |t: f64| {
            if (t + offset * 1e-7).rem_euclid(15e-6) < 7.23e-6 {
                13.5
            } else {
                0.1
            }
        };
        let found = examined(vec![made::channel("CH1", &time, 0.0, 9, f)], &[Role::Out]);
        gives(&found, Quantity::OutDutyCycle, 7.23 / 15.0, 1.0 / 150.0);
        let u95 = made::value(&found, Quantity::OutDutyCycle).u95;
        assert!(u95 > 0.5 / 150.0, "{u95}");
    }
}

/// A 20 MHz limiter rises in 17.5 ns: an edge of 40 ns is recorded as √(40² + 17.5²) = 43.66 ns.
#[test]
fn a_told_bandwidth_is_taken_out_of_the_rise_time() {
    let (_, out) = out_of(2e-9, 60_000, 0.01, 43.66e-9 / 9.0_f64.ln());
    let mut options = options(&[Role::Out]);
    options.bandwidths = vec![(made::nth(1), 20e6)];
    let shot = made::shot(vec![out]);
    let found = made::examine(&[Arc::clone(&shot)], &options);
    // the method leaves 0.33 of 17.5 ns
    gives(&found, Quantity::OutRiseTime, 40e-9, 6e-9);
    options.bandwidths = vec![(made::nth(1), 8e6)];
    let found = made::examine(&[shot], &options);
    refuses(&found, Quantity::OutRiseTime, "8 MHz");
}

/// Step response of second order with damping `z` (closed form): overshoot exp(−πz/√(1−z²)), 16.3034 %
/// for 0.5, 25.383 % for 0.4 (textbook; Ogata, Modern Control Engineering, from memory).
fn second_order(t_s: f64, omega: f64, z: f64) -> f64 {
    let damped = (1.0 - z * z).sqrt();
    let decay = (-z * omega * t_s).exp();
    1.0 - decay * ((omega * damped * t_s).cos() + z / damped * (omega * damped * t_s).sin())
}

#[test]
fn overshoot_is_that_of_a_second_order_step() {
    for (z, share) in [(0.5, 0.163_034), (0.4, 0.253_83), (0.6, 0.094_78)] {
        let time = made::even(10e-9, 40_000);
        let (low, high) = (0.2, 12.2);
        let f = |t: f64| {
            let phase = (t + 2e-6).rem_euclid(20e-6);
            let (from, to, since) = if phase < 9e-6 {
                (low, high, phase)
            } else {
                (high, low, phase - 9e-6)
            };
            from + (to - from) * second_order(since, 15e6, z)
        };
        let found = examined(vec![made::channel("CH1", &time, 0.03, 3, f)], &[Role::Out]);
        gives(&found, Quantity::OutOvershoot, share, 0.012);
        gives(&found, Quantity::OutUndershoot, share, 0.012);
    }
}

#[test]
fn no_overshoot_where_there_is_only_noise() {
    let (_, out) = out_of(20e-9, 20_000, 0.1, 100e-9);
    let found = examined(vec![out], &[Role::Out]);
    let value = made::value(&found, Quantity::OutOvershoot);
    assert!(
        value.value < 0.01 && value.value <= value.u95 + 1e-9,
        "{value:?}"
    );
}

#[test]
fn pulses_that_miss_are_counted_and_give_no_frequency_where_they_are_many() {
    let time = made::even(50e-9, 40_000);
    let missing = |cycle: f64| matches!(cycle as i64, 20 | 41 | 42 | 77);
    let f = |t: f64| {
        let cycle = (t / PERIOD_S).floor();
        if t - cycle * PERIOD_S < WIDTH_S && !missing(cycle) {
            13.0
        } else {
            0.0
        }
    };
    let found = examined(vec![made::channel("CH1", &time, 0.02, 2, f)], &[Role::Out]);
    gives(&found, Quantity::MissingPulses, 4.0, 0.0);
    let every_third = |t: f64| {
        let cycle = (t / PERIOD_S).floor();
        if t - cycle * PERIOD_S < WIDTH_S && cycle.rem_euclid(3.0) > 0.5 {
            13.0
        } else {
            0.0
        }
    };
    let found = examined(
        vec![made::channel("CH1", &time, 0.02, 2, every_third)],
        &[Role::Out],
    );
    refuses(&found, Quantity::OutFrequency, "periods differ");
}

#[test]
fn jitter_comes_back_with_its_size() {
    let time = made::even(20e-9, 200_000);
    let mut dice = made::Dice(11);
    let mut edges = vec![0.0];
    for _ in 0..300 {
        let last = edges[edges.len() - 1];
        edges.push(last + PERIOD_S + 60e-9 * dice.normal());
    }
    let f = |t: f64| {
        let k = edges.partition_point(|e| *e <= t).saturating_sub(1);
        rc_pulses(t - edges[k], 1.0, 5e-6, 60e-9, (0.0, 12.0))
    };
    let found = examined(vec![made::channel("CH1", &time, 0.03, 8, f)], &[Role::Out]);
    gives(&found, Quantity::OutJitter, 60e-9, 8e-9);
}

#[test]
fn the_gate_follows_after_its_resistor() {
    let (time, out) = out_of(20e-9, 20_000, 0.03, 60e-9);
    // a slower RC later by 45 ns: 50 % comes 45 ns + ln 2 × (180 − 60) ns after that of OUT
    let f = |t: f64| rc_pulses(t + 3.3e-6 - 45e-9, PERIOD_S, WIDTH_S, 180e-9, (0.1, 13.2));
    let gate = made::channel("CH2", &time, 0.03, 6, f);
    let found = examined(vec![out, gate], &[Role::Out, Role::Gate]);
    gives(
        &found,
        Quantity::GateDelay,
        45e-9 + 120e-9 * 2.0_f64.ln(),
        7e-9,
    );
    gives(&found, Quantity::GateRiseTime, 180e-9 * 9.0_f64.ln(), 8e-9);
    let delay = made::entry(&found, Quantity::GateDelay).map(|j| j.measured.marks.clone());
    assert!(delay.is_some_and(|m| m.iter().any(|m| matches!(m, Mark::Instant { .. }))));
}

/// Current sense: at rest, then a spike, then a straight ramp from 0.31 V at 0.118 V/µs for 5 µs.
fn sense(t_s: f64) -> f64 {
    let phase = t_s.rem_euclid(PERIOD_S);
    if phase > 5e-6 {
        return 0.0;
    }
    0.31 + 0.118e6 * phase + 0.9 * (-phase / 60e-9).exp()
}

#[test]
fn current_sense_gives_peak_slope_and_pedestal_behind_the_spike() {
    let time = made::even(25e-9, 20_000);
    let out = made::channel("CH1", &time, 0.02, 1, |t| {
        if t.rem_euclid(PERIOD_S) < 5e-6 {
            12.5
        } else {
            0.1
        }
    });
    let cs = made::channel("CH2", &time, 0.01, 2, sense);
    let found = examined(vec![out, cs], &[Role::Out, Role::Cs]);
    gives(&found, Quantity::CsSlope, 0.118e6, 4e3);
    gives(&found, Quantity::CsPedestal, 0.31, 0.03);
    gives(&found, Quantity::CsPeak, 0.31 + 0.59, 0.03);
}

#[test]
fn a_dip_of_vcc_within_each_pulse_is_seen_where_a_meter_shows_the_mean() {
    let time = made::even(50e-9, 40_000);
    let out = made::channel("CH1", &time, 0.02, 1, |t| {
        if t.rem_euclid(PERIOD_S) < WIDTH_S {
            7.0
        } else {
            0.1
        }
    });
    // a triangular dip of 0.9 V, 3 µs wide, once a cycle: the mean lies 0.9 × 1.5/14.81 V below the top
    let vcc = |t: f64| {
        let since = t.rem_euclid(PERIOD_S);
        8.6 - 0.9 * (1.0 - (since - 1.5e-6).abs() / 1.5e-6).max(0.0)
    };
    let found = examined(
        vec![out, made::channel("CH2", &time, 0.05, 2, vcc)],
        &[Role::Out, Role::Vcc],
    );
    let below_top = 0.9 * 1.5e-6 / PERIOD_S;
    gives(&found, Quantity::VccDip, 0.9 - below_top, 0.06);
    gives(&found, Quantity::VccMean, 8.6 - below_top, 0.01);
}

#[test]
fn vref_that_droops_is_told_from_one_that_does_not() {
    let time = made::even(1e-6, 20_000);
    for (droop, seed) in [(0.05, 1), (0.0, 2)] {
        let f = |t: f64| 5.0 - droop * t / 0.02;
        let found = examined(
            vec![made::channel("CH1", &time, 0.02, seed, f)],
            &[Role::Vref],
        );
        // between the means of the first and the last tenth lie nine tenths of the record
        gives(&found, Quantity::VrefDroop, 0.9 * droop, 0.003);
    }
}

#[test]
fn a_ramp_gives_its_time_constant_and_the_discharge() {
    let time = made::even(20e-9, 20_000);
    let rtct = made::channel("CH1", &time, 0.004, 4, made::ramp);
    let vref = made::channel("CH1", &made::even(1e-6, 5_000), 0.004, 5, |_| 5.0);
    let mut options = options(&[Role::RtCt]);
    options.roles[0].channel.capture = Some(1);
    options.roles.extend(made::roles(&[Role::Vref]));
    options.roles[1].channel.capture = Some(2);
    options.capture_kinds.insert(1, ShotKind::Running);
    let found = made::examine(&[made::shot(vec![rtct]), made::shot(vec![vref])], &options);
    gives(&found, Quantity::RtCtProduct, 13.0e-6, 0.1e-6);
    // 8.3 mA × 13 kΩ
    gives(&found, Quantity::RampDischarge, 107.9, 4.0);
}

#[test]
fn bulk_ripple_tells_a_full_bridge_from_half_of_one() {
    let time = made::even(50e-6, 8_000);
    for (hertz, word) in [(100.0, "full"), (50.0, "half")] {
        // charged to 323 V at each crest, discharged in a straight line: a sawtooth of 14 V
        let f = |t: f64| 323.0 - 14.0 * (t * hertz).rem_euclid(1.0);
        let found = examined(vec![made::channel("CH1", &time, 0.4, 3, f)], &[Role::Bulk]);
        gives(&found, Quantity::BulkRippleFrequency, hertz, 0.5);
        gives(&found, Quantity::BulkRipple, 14.0, 1.6);
        assert!(!word.is_empty());
    }
}

#[test]
fn slow_records_give_the_share_of_the_samples_and_no_frequency() {
    // 500 kS/s of 67.522 kHz: alias of it can't be told from the truth
    for (rate, share_known) in [(99_991.0, true), (67_522.0 / 3.0, false)] {
        let time = made::even(1.0 / rate, 4_000);
        let f = |t: f64| {
            if (t * 67_522.0).rem_euclid(1.0) < 0.4858 {
                13.5
            } else {
                0.1
            }
        };
        let found = examined(vec![made::channel("CH1", &time, 0.05, 3, f)], &[Role::Out]);
        if share_known {
            refuses(&found, Quantity::OutFrequency, "record");
            gives(&found, Quantity::OutDutyCycle, 0.4858, 0.04);
        } else {
            // in step with the pulses: OUT looks solid, and nothing may be said of it
            refuses(&found, Quantity::OutHighLevel, "in step");
            assert!(
                made::entry(&found, Quantity::OutDutyCycle)
                    .is_none_or(|j| j.measured.value().is_none())
            );
        }
        refuses(&found, Quantity::OutFrequency, "");
    }
}

#[test]
fn pairs_of_extremes_give_levels_and_no_times() {
    let time = made::even(5e-6, 4_000);
    let mut dice = made::Dice(6);
    let values = (0..4_000)
        .map(|i| if i % 2 == 0 { 1.0 } else { 2.7 } + 0.01 * dice.normal())
        .collect();
    let mut rtct = Channel::of_volts("CH1", time, values);
    rtct.kind = SampleKind::MinMaxPair;
    let found = examined(vec![rtct], &[Role::RtCt]);
    gives(&found, Quantity::RampPeak, 2.7, 0.05);
    gives(&found, Quantity::RampValley, 1.0, 0.05);
    refuses(&found, Quantity::OscillatorFrequency, "");
}

#[test]
fn ringing_edges_count_once() {
    // a switch node that rings by 40 % of its step for microseconds: crossings of the middle are few,
    // but those of 80 % would be five to one
    let time = made::even(20e-9, 60_000);
    let f = |t: f64| {
        let phase = t.rem_euclid(PERIOD_S);
        let (base, since) = if phase < WIDTH_S {
            (12.0, phase)
        } else {
            (0.0, phase - WIDTH_S)
        };
        let sign = if phase < WIDTH_S { -1.0 } else { 1.0 };
        base + sign * 4.8 * (-since / 700e-9).exp() * (since * 18e6).cos()
    };
    let found = examined(vec![made::channel("CH1", &time, 0.05, 4, f)], &[Role::Out]);
    gives(&found, Quantity::OutFrequency, 1.0 / PERIOD_S, 15.0);
    gives(&found, Quantity::MissingPulses, 0.0, 0.0);
}
