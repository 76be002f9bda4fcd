//! The sine found in a record against the Cramér-Rao bound of a single real sine (Rife & Boorstyn, IEEE
//! Trans. Inf. Theory 20, 1974), closed forms of pulse trains, and records that hold none.

mod made;

use firstpulse::signal::tone;

const N: usize = 1000;

fn sine(dice: &mut made::Dice, cycles: f64, amplitude: f64, sigma: f64, count: usize) -> Vec<f64> {
    let phase = std::f64::consts::TAU * dice.uniform();
    (0..count)
        .map(|i| {
            amplitude * (std::f64::consts::TAU * cycles * i as f64 + phase).sin()
                + sigma * dice.normal()
        })
        .collect()
}

/// 1,000 samples at 1 MS/s, A/σ = 10: no estimator scatters less than 2.4656 Hz (recomputed here from
/// var(ω) ≥ 24 σ² / (A² n (n² − 1))).
#[test]
fn scatter_is_that_of_the_bound_and_u_holds_the_truth() {
    let n = N as f64;
    let bound = (24.0 / (100.0 * n * (n * n - 1.0))).sqrt() / std::f64::consts::TAU * 1e6;
    assert!((bound - 2.4656).abs() < 1e-4, "{bound}");
    let mut dice = made::Dice(41);
    let (mut squares, mut held, runs) = (0.0, 0, 400);
    for _ in 0..runs {
        let truth = 0.02 + 0.4 * dice.uniform();
        let found = tone::find(&sine(&mut dice, truth, 1.0, 0.1, N)).unwrap();
        let error = (found.cycles_per_sample - truth) * 1e6;
        squares += error * error;
        held += usize::from(error.abs() <= 1.96 * found.u_cycles * 1e6);
        assert!((found.amplitude - 1.0).abs() < 0.03 && found.share > 0.95);
    }
    let scatter = (squares / f64::from(runs)).sqrt();
    assert!((0.9..1.3).contains(&(scatter / bound)), "{scatter} Hz");
    // 95 % of 400, three standard deviations of the count
    assert!((367..=393).contains(&held), "{held}");
}

#[test]
fn few_cycles_and_slow_sampling_are_enough() {
    let mut dice = made::Dice(5);
    for cycles in [3.1, 5.5, 20.25] {
        let truth = cycles / 400.0;
        let found = tone::find(&sine(&mut dice, truth, 2.0, 0.05, 400)).unwrap();
        assert!(
            (found.cycles_per_sample / truth - 1.0).abs() < 0.01,
            "{cycles}: {found:?}"
        );
    }
    // 2.3 samples a cycle
    let found = tone::find(&sine(&mut dice, 1.0 / 2.3, 1.0, 0.1, 2000)).unwrap();
    assert!((found.cycles_per_sample * 2.3 - 1.0).abs() < 1e-4);
    // less than two and a half cycles are none
    assert_eq!(
        tone::find(&sine(&mut dice, 1.5 / 400.0, 1.0, 0.01, 400)),
        None
    );
}

#[test]
fn noise_holds_no_sine_but_for_one_record_in_a_thousand() {
    let mut dice = made::Dice(77);
    let found = (0..1000)
        .filter(|_| {
            let noise: Vec<f64> = (0..512).map(|_| dice.normal()).collect();
            tone::find(&noise).is_some()
        })
        .count();
    assert!(found <= 6, "{found} of 1000");
}

/// Harmonics of a pulse train: (2A/nπ)|sin nπD| (Fourier). With D = 0.1 the second is nearly as strong as
/// the first, with a drift and an offset the first is still found.
#[test]
fn a_train_gives_its_fundamental_whatever_it_stands_on() {
    let mut dice = made::Dice(8);
    for duty in [0.1, 0.25, 0.45, 0.5] {
        let period = 37.3;
        let train: Vec<f64> = (0..6000)
            .map(|i| {
                let i = f64::from(i);
                let pulse = if (i / period).fract() < duty {
                    5.0
                } else {
                    0.0
                };
                300.0 + 0.01 * i + pulse + 0.3 * dice.normal()
            })
            .collect();
        let found = tone::find(&train).unwrap();
        assert!(
            (found.cycles_per_sample * period - 1.0).abs() < 1e-3,
            "{duty}: {found:?}"
        );
    }
}

#[test]
fn missing_samples_are_bridged_and_short_or_flat_records_hold_none() {
    let mut dice = made::Dice(9);
    let mut record = sine(&mut dice, 0.03, 1.0, 0.02, 3000);
    for hole in [7, 100, 101, 102, 2000, 2999] {
        record[hole] = f64::NAN;
    }
    let found = tone::find(&record).unwrap();
    assert!((found.cycles_per_sample - 0.03).abs() < 1e-5);
    assert_eq!(tone::find(&[]), None);
    assert_eq!(tone::find(&[1.0; 31]), None);
    assert_eq!(tone::find(&[5.0; 4000]), None);
    assert_eq!(tone::find(&[f64::NAN; 4000]), None);
}
