//! Levels, ripple and edges where noise, ringing and the filter of a pin stand in the way, over many records by
//! formula with noise of known sequences: the truth is written down beside each check.

mod made;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{Channel, Inspection, Options, Quantity, Role, ShotKind};

const EXACT: Accuracy = Accuracy {
    gain: 0.0,
    offset: 0.0,
};
/// Records of each kind, of which 95 % are to hold; in less than one run of a thousand fewer than 32 do (binomial).
const RECORDS: u64 = 40;
const LEAST: usize = 32;

fn examined(channels: Vec<Channel>, roles: &[Role], kind: Option<ShotKind>) -> Inspection {
    let mut options = Options {
        roles: made::roles(roles),
        accuracies: (1..=roles.len()).map(|n| (made::nth(n), EXACT)).collect(),
        ..Options::default()
    };
    if let Some(kind) = kind {
        options.capture_kinds.insert(0, kind);
    }
    made::examine(&[made::shot(channels)], &options)
}

/// Rounded to codes.
fn coded(channel: Channel, step: f64) -> Channel {
    let values = channel.valid_slice(0..channel.samples.len());
    let codes = values.iter().map(|v| (v / step).round() * step).collect();
    Channel::of_volts(&channel.name, channel.time.clone(), codes)
}

/// How often the truth is held, root mean square error, and the mean of the half-widths.
fn over_records(truth: f64, one: impl Fn(u64) -> (f64, f64)) -> (usize, f64, f64) {
    let all: Vec<(f64, f64)> = (1..=RECORDS).map(one).collect();
    let held = all.iter().filter(|(v, u)| (v - truth).abs() <= *u).count();
    let squares: f64 = all.iter().map(|(v, _)| (v - truth).powi(2)).sum();
    let n = RECORDS as f64;
    let width = all.iter().map(|a| a.1).sum::<f64>() / n;
    (held, (squares / n).sqrt(), width)
}

fn found(inspection: &Inspection, quantity: Quantity) -> (f64, f64) {
    let value = made::value(inspection, quantity);
    (value.value, value.u95)
}

/// A VREF that droops by 0.2 V and swings by 0.1 V beside it, in codes of 25 mV with as much noise: the ends of
/// its course are told far better than by single samples, whose noise alone spans 0.19 V.
#[test]
fn a_slow_course_is_followed_through_noise() {
    let time = made::even(2e-3, 6_000);
    let course = |t: f64| 5.1 - 0.2 * t / 12.0 + 0.05 * (3.1 * t).sin();
    let all = (0..6_000).map(|i| course(2e-3 * f64::from(i)));
    let (low, high) = all.fold((f64::MAX, f64::MIN), |a, v| (a.0.min(v), a.1.max(v)));
    let (held, rms, width) = over_records(high - low, |seed| {
        let vref = coded(made::channel("CH1", &time, 0.025, seed, course), 0.025);
        let found_in = examined(vec![vref], &[Role::Vref], Some(ShotKind::Running));
        found(&found_in, Quantity::VrefRipple)
    });
    assert!(
        held >= LEAST && rms < 0.03 && width < 0.08,
        "{held} {rms} {width}"
    );
}

/// Ripple behind a rectifier, a straight fall and a rise along half a cosine: height and frequency by the whole
/// shape. The least that any estimator of the frequency scatters by is σ/√Σ(x·ds/dφ)² (Cramér-Rao), with the
/// mean square slope h²·(1/0.75 + π²/8/0.25) of this shape.
#[test]
fn mains_ripple_is_told_by_its_shape() {
    let (sigma, height, count, step_s) = (0.8, 6.0, 4_000, 25e-6);
    let time = made::even(step_s, count);
    let shape = |phase: f64| {
        let x = phase.rem_euclid(1.0);
        if x < 0.75 {
            0.5 - x / 0.75
        } else {
            -0.5 * (std::f64::consts::PI * (x - 0.75) / 0.25).cos()
        }
    };
    let inspected = |seed: u64| {
        let wave = |t: f64| 310.0 + height * shape(100.07 * t + 0.3 * seed as f64);
        let bulk = made::channel("CH1", &time, sigma, seed, wave);
        examined(vec![bulk], &[Role::Bulk], Some(ShotKind::Running))
    };
    let (held, rms, width) = over_records(height, |s| found(&inspected(s), Quantity::BulkRipple));
    assert!(
        held >= LEAST && rms < 0.4 && width < 1.6,
        "{held} {rms} {width}"
    );
    let (held, rms, width) = over_records(100.07, |s| {
        found(&inspected(s), Quantity::BulkRippleFrequency)
    });
    let n = count as f64;
    let square = height * height * (1.0 / 0.75 + std::f64::consts::PI.powi(2) / 8.0 / 0.25);
    let bound = sigma / (square * n.powi(3) / 12.0).sqrt() / step_s;
    assert!(held >= LEAST && rms < 1.6 * bound, "{held} {rms} {bound}");
    assert!(width < 4.0 * bound, "{width} {bound}");
}

const PERIOD_S: f64 = 15.1e-6;
const PULSE_S: f64 = 5.3e-6;

/// 0.1 V pedestal and 0.13 V/µs, and behind the pulse the fall of the filter of the pin (common practice: 1 kΩ
/// and 100 to 470 pF).
fn sense(t_s: f64, tau_s: f64) -> f64 {
    let phase = t_s.rem_euclid(PERIOD_S);
    let line = |x: f64| 0.1 + 0.13e6 * x;
    if phase < PULSE_S {
        line(phase)
    } else {
        line(PULSE_S) * (-(phase - PULSE_S) / tau_s).exp()
    }
}

#[test]
fn the_peak_of_current_sense_is_followed_back_along_the_fall_of_its_filter() {
    let time = made::even(50.37e-9, 5_000);
    for tau_s in [150e-9, 300e-9, 450e-9] {
        let peak = 0.1 + 0.13e6 * PULSE_S;
        let (held, rms, width) = over_records(peak, |seed| {
            let late = 0.41e-6 * seed as f64;
            let up = |t: f64| (t + late).rem_euclid(PERIOD_S) < PULSE_S;
            let out = made::channel("CH1", &time, 0.03, seed, |t| if up(t) { 12.5 } else { 0.1 });
            let wave = |t: f64| sense(t + late, tau_s);
            let cs = made::channel("CH2", &time, 0.004, seed + 99, wave);
            let running = Some(ShotKind::Running);
            let found_in = examined(vec![out, cs], &[Role::Out, Role::Cs], running);
            found(&found_in, Quantity::CsPeak)
        });
        // a part of the cycle is 6.5 mV of the ramp: the end is told to less than half of one
        assert!(
            held >= LEAST && rms < 2.6e-3 && width < 5e-3,
            "{tau_s} {held} {rms} {width}"
        );
    }
}

/// Codes of 82 mV with as much noise, 24 mV a sample: single samples say that VCC turned at the start in some.
#[test]
fn a_noisy_sweep_is_still_driven() {
    let time = made::even(2e-3, 6_000);
    for seed in 1..=RECORDS {
        let start_v = 16.0 + 0.02 * seed as f64;
        let vcc = |t: f64| (17.7 - (2.95 * t - 17.7).abs()).max(0.0);
        let vref = |t: f64| {
            let on = t > start_v / 2.95 && (t < 6.0 || vcc(t) > 9.6);
            if on { 5.05 } else { 0.0 }
        };
        let channels = vec![
            coded(made::channel("CH1", &time, 0.082, seed, vcc), 0.082),
            coded(made::channel("CH2", &time, 0.025, seed + 77, vref), 0.025),
        ];
        let inspection = examined(channels, &[Role::Vcc, Role::Vref], None);
        assert_eq!(
            inspection.captures[0].kind.value,
            Some(ShotKind::Sweep),
            "{seed}: {}",
            inspection.captures[0].kind.reason
        );
    }
}

/// Every sixth pulse misses: the others are as wide as they are.
#[test]
fn pulses_beside_gaps_keep_their_width() {
    let time = made::even(0.37e-6, 4_000);
    let (held, rms, width) = over_records(PULSE_S, |seed| {
        let out = made::channel("CH1", &time, 0.05, seed, |t| {
            let cycle = (t / PERIOD_S + 0.37 * seed as f64).floor() as u64;
            let phase = (t + 0.37 * seed as f64 * PERIOD_S).rem_euclid(PERIOD_S);
            if phase < PULSE_S && cycle % 6 != 5 {
                12.0
            } else {
                0.2
            }
        });
        let found_in = examined(vec![out], &[Role::Out], Some(ShotKind::Running));
        assert!(made::value(&found_in, Quantity::MissingPulses).value > 8.0);
        found(&found_in, Quantity::OutPulseDuration)
    });
    assert!(
        held >= LEAST && rms < 20e-9 && width < 60e-9,
        "{held} {rms} {width}"
    );
}

/// A step response of second order with a damping of 0.15 overshoots by 62 % (e^(−πζ/√(1−ζ²))), and goes as far
/// below at the fall: the states are where it comes to rest.
#[test]
fn strong_ringing_comes_to_rest_in_two_states() {
    let time = made::even(30e-9, 5_000);
    let (zeta, ring_hz) = (0.15_f64, 1.6e6);
    let damped = (1.0 - zeta * zeta).sqrt();
    let w = std::f64::consts::TAU * ring_hz / damped;
    let step = |x: f64| {
        if x <= 0.0 {
            return 0.0;
        }
        let turn = w * damped * x;
        1.0 - (-zeta * w * x).exp() * (turn.cos() + zeta / damped * turn.sin())
    };
    let out = made::channel("CH1", &time, 0.1, 3, |t| {
        let phase = t.rem_euclid(PERIOD_S);
        let before = step(phase + PERIOD_S - PULSE_S);
        0.1 + 12.0 * (step(phase) + 1.0 - step(phase - PULSE_S) - before).clamp(-1.0, 2.0)
    });
    let found_in = examined(vec![out], &[Role::Out], Some(ShotKind::Running));
    for (quantity, level) in [(Quantity::OutHighLevel, 12.1), (Quantity::OutLowLevel, 0.1)] {
        let (value, u95) = found(&found_in, quantity);
        assert!(
            (value - level).abs() <= u95 && u95 < 0.3,
            "{quantity:?} {value} {u95}"
        );
    }
    let (value, u95) = found(&found_in, Quantity::OutOvershoot);
    let wanted = (-std::f64::consts::PI * zeta / damped).exp();
    assert!(
        (value - wanted).abs() <= u95.max(0.02),
        "{value} {u95} {wanted}"
    );
}
