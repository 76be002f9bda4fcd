//! Ramps of RT/CT by their closed form: charged towards a reference, discharged by a current, with one
//! time constant. Levels, durations and the level that the rise heads for, over many drawn records; and
//! records with few samples a cycle.

mod made;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{Inspection, Options, Quantity, Role, ShotKind};

const TAU_S: f64 = 13e-6;
const VALLEY_V: f64 = 1.0;
const PEAK_V: f64 = 2.7;

/// A ramp that rises towards `towards_v` and falls towards `target_v`.
struct Ramp {
    towards_v: f64,
    target_v: f64,
}

impl Ramp {
    fn rise_s(&self) -> f64 {
        TAU_S * ((self.towards_v - VALLEY_V) / (self.towards_v - PEAK_V)).ln()
    }

    fn fall_s(&self) -> f64 {
        TAU_S * ((PEAK_V - self.target_v) / (VALLEY_V - self.target_v)).ln()
    }

    fn at(&self, t_s: f64) -> f64 {
        let phase_s = t_s.rem_euclid(self.rise_s() + self.fall_s());
        if phase_s < self.rise_s() {
            self.towards_v - (self.towards_v - VALLEY_V) * (-phase_s / TAU_S).exp()
        } else {
            let gone_s = phase_s - self.rise_s();
            self.target_v + (PEAK_V - self.target_v) * (-gone_s / TAU_S).exp()
        }
    }
}

/// A running record of one channel on a scope without gain and offset error, to see the method alone.
fn examined(
    role: Role,
    step_s: f64,
    count: usize,
    record: (f64, u64),
    f: impl Fn(f64) -> f64,
) -> Inspection {
    let time = made::even(step_s, count);
    let exact = Accuracy {
        gain: 0.0,
        offset: 0.0,
    };
    let mut options = Options {
        roles: made::roles(&[role]),
        accuracies: vec![(made::nth(1), exact)],
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    let channel = made::channel("CH1", &time, record.0, record.1, f);
    made::examine(&[made::shot(vec![channel])], &options)
}

const RECORDS: u64 = 40;

/// In how many of the records value ± u95 holds the truth, and the mean u95.
fn held(ramp: &Ramp, sigma: f64, quantity: Quantity, truth: f64, found: &[Inspection]) -> f64 {
    let values: Vec<_> = found.iter().map(|i| made::value(i, quantity)).collect();
    let count = values.iter().filter(|v| (v.value - truth).abs() <= v.u95);
    let share = count.count() as f64 / values.len() as f64;
    // 93 %, less three standard deviations of the count
    let fall_s = ramp.fall_s();
    assert!(
        share > 0.81,
        "{quantity:?} {share} fall {fall_s} noise {sigma}"
    );
    values.iter().map(|v| v.u95).sum::<f64>() / values.len() as f64
}

/// A hundred samples a cycle, forty cycles. Short and long falls, a leak beside CT that lowers what the
/// rise heads for, noise of 9 and of 26 mV.
#[test]
fn levels_and_durations_of_a_ramp_hold_the_truth() {
    for (towards_v, target_v) in [(5.0, -14.0), (5.0, -3.3), (3.5, -14.0)] {
        for sigma in [0.009, 0.026] {
            let ramp = Ramp {
                towards_v,
                target_v,
            };
            let period_s = ramp.rise_s() + ramp.fall_s();
            let mut dice = made::Dice(17);
            let found: Vec<_> = (0..RECORDS)
                .map(|seed| {
                    let (step_s, late_s) = (
                        period_s / (97.0 + 6.0 * dice.uniform()),
                        period_s * dice.uniform(),
                    );
                    examined(Role::RtCt, step_s, 4000, (sigma, seed), |t| {
                        ramp.at(t + late_s)
                    })
                })
                .collect();
            let held = |quantity, truth| held(&ramp, sigma, quantity, truth, &found);
            // the end of a parabola through n points is known to 3σ/√n; as much for what lies between its
            // last point and the corner, and for the fall
            let widest = 1.96 * 3.0 * sigma / 1500.0_f64.sqrt() * 3.0_f64.sqrt();
            let levels = [
                (Quantity::RampPeak, PEAK_V, 1.0),
                (Quantity::RampValley, VALLEY_V, 1.0),
                (Quantity::RampAmplitude, PEAK_V - VALLEY_V, 2.0_f64.sqrt()),
            ];
            for (quantity, truth, times) in levels {
                let u95 = held(quantity, truth);
                assert!(
                    u95 < times * widest,
                    "{quantity:?} {u95} {target_v} {sigma}"
                );
            }
            held(Quantity::RampRiseDuration, ramp.rise_s());
            held(Quantity::RampFallDuration, ramp.fall_s());
            held(Quantity::RampAsymptote, towards_v);
        }
    }
}

/// Pulses with straight edges of `edge` of the period.
fn pulses(phase: f64, edge: f64, duty: f64) -> f64 {
    let up = (phase / edge).clamp(0.0, 1.0);
    let down = ((phase - duty) / edge).clamp(0.0, 1.0);
    0.2 + 11.8 * (up - down)
}

/// At eight samples a cycle one in four lies on an edge, and neighbours differ by volts in most places. Of 33
/// duty cycles that are held in 95 % each, 28 hold in 99 of 100 runs (binomial).
#[test]
fn eight_samples_a_cycle_show_two_states() {
    let mut held = 0;
    for place in 0..11 {
        let samples = 7.63 + 0.0717 * f64::from(place);
        for edge in [0.01, 0.1, 0.14] {
            let f = |t: f64| pulses((t / (samples * 1e-6)).fract(), edge, 0.45);
            let found = examined(Role::Out, 1e-6, 1600, (0.06, 3), f);
            for (quantity, level) in [(Quantity::OutHighLevel, 12.0), (Quantity::OutLowLevel, 0.2)]
            {
                let seen = made::value(&found, quantity);
                assert!(
                    (seen.value - level).abs() <= seen.u95 && seen.u95 < 0.1,
                    "{edge} {samples} {seen:?}"
                );
            }
            let duty = made::value(&found, Quantity::OutDutyCycle);
            assert!(
                (duty.value - 0.45).abs() <= 2.0 * duty.u95,
                "{edge} {duty:?}"
            );
            held += usize::from((duty.value - 0.45).abs() <= duty.u95);
        }
    }
    assert!(held >= 28, "{held} of 33");
}

/// Edges of half a sample to three samples, and of forty with noise, at equal spacing: what the samples make of
/// them is no jitter.
#[test]
fn edges_at_equal_spacing_show_no_jitter() {
    for edge in [0.5, 0.8, 1.0, 1.3, 1.7, 2.2, 3.0, 40.0] {
        let (sigma, times) = if edge > 10.0 {
            (0.17, 10.0)
        } else {
            (0.03, 1.0)
        };
        for (seed, samples) in [(1, 50.0), (2, 50.21), (3, 49.57), (4, 50.02)] {
            let samples = samples * times;
            let phase = |t: f64| (t / (samples * 1e-7) + 0.3).fract();
            let f = |t: f64| pulses(phase(t), edge / samples, 0.45);
            let found = examined(Role::Out, 1e-7, 6000, (sigma, seed), f);
            let jitter = made::entry(&found, Quantity::OutJitter).map(|j| &j.measured);
            assert!(
                jitter.is_some_and(|m| m.value().is_none()),
                "{edge} {samples} {jitter:?}"
            );
        }
    }
}

/// A ramp of ten samples a cycle is not followed to its corners, and its noise is still no jitter.
#[test]
fn a_coarse_ramp_at_equal_spacing_shows_no_jitter() {
    let ramp = Ramp {
        towards_v: 5.0,
        target_v: -14.0,
    };
    let period_s = ramp.rise_s() + ramp.fall_s();
    for (seed, samples) in [(1, 10.03), (2, 9.87), (3, 10.41)] {
        let found = examined(Role::RtCt, period_s / samples, 1500, (0.009, seed), |t| {
            ramp.at(t)
        });
        let jitter = made::entry(&found, Quantity::OscillatorJitter).map(|j| &j.measured);
        assert!(
            jitter.is_some_and(|m| m.value().is_none()),
            "{samples} {jitter:?}"
        );
    }
}
