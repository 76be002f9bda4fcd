//! The sine found in a record against the Cramér-Rao bound of a single real sine (Rife & Boorstyn, IEEE
//! Trans. Inf. Theory 20, 1974), closed forms of pulse trains, NIST StRD, and records that hold none.

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

/// NIST StRD nonlinear regression, ENSO (US government work): monthly differences of air pressure, typed
/// from memory and checked below by the certified residual sum of squares.
const ENSO: [f64; 168] = [
    12.9, 11.3, 10.6, 11.2, 10.9, 7.5, 7.7, 11.7, 12.9, 14.3, 10.9, 13.7, 17.1, 14.0, 15.3, 8.5,
    5.7, 5.5, 7.6, 8.6, 7.3, 7.6, 12.7, 11.0, 12.7, 12.9, 13.0, 10.9, 10.4, 10.2, 8.0, 10.9, 13.6,
    10.5, 9.2, 12.4, 12.7, 13.3, 10.1, 7.8, 4.8, 3.0, 2.5, 6.3, 9.7, 11.6, 8.6, 12.4, 10.5, 13.3,
    10.4, 8.1, 3.7, 10.7, 5.1, 10.4, 10.9, 11.7, 11.4, 13.7, 14.1, 14.0, 12.5, 6.3, 9.6, 11.7, 5.0,
    10.8, 12.7, 10.8, 11.8, 12.6, 15.7, 12.6, 14.8, 7.8, 7.1, 11.2, 8.1, 6.4, 5.2, 12.0, 10.2,
    12.7, 10.2, 14.7, 12.2, 7.1, 5.7, 6.7, 3.9, 8.5, 8.3, 10.8, 16.7, 12.6, 12.5, 12.5, 9.8, 7.2,
    4.1, 10.6, 10.1, 10.1, 11.9, 13.6, 16.3, 17.6, 15.5, 16.0, 15.2, 11.2, 14.3, 14.5, 8.5, 12.0,
    12.7, 11.3, 14.5, 15.1, 10.4, 11.5, 13.4, 7.5, 0.6, 0.3, 5.5, 5.0, 4.6, 8.2, 9.9, 9.2, 12.5,
    10.9, 9.9, 8.9, 7.6, 9.5, 8.4, 10.7, 13.6, 13.7, 13.7, 16.5, 16.8, 17.1, 15.4, 9.5, 6.1, 10.1,
    9.3, 5.3, 11.2, 16.6, 15.6, 12.0, 11.5, 8.6, 13.8, 8.7, 8.6, 8.6, 8.7, 12.8, 13.2, 14.0, 13.4,
    14.8,
];

/// The certified fit: a mean and three sines, of one year and of two lengths that the fit found.
fn enso_fitted(month: f64) -> f64 {
    let sine = |months: f64, cos: f64, sin: f64| {
        let turn = std::f64::consts::TAU * month / months;
        cos * turn.cos() + sin * turn.sin()
    };
    10.510_749_193
        + sine(12.0, 3.076_212_808_5, 0.532_801_382_27)
        + sine(44.311_088_700, -1.623_142_858_6, 0.525_544_937_56)
        + sine(26.887_614_440, 0.212_322_884_88, 1.496_687_041_8)
}

/// The year stands out, and neither of the slower sines is taken for a fundamental of it. The certified
/// standard deviations of its two amplitudes are 0.2431 and 0.2435.
#[test]
fn the_year_is_found_in_pressures_of_enso() {
    let months = (1..=168).map(f64::from).zip(ENSO);
    let left: f64 = months.map(|(m, y)| (y - enso_fitted(m)).powi(2)).sum();
    assert!(
        (left / 788.539_786_68 - 1.0).abs() < 1e-9,
        "the data are those of the file: {left}"
    );
    let found = tone::find(&ENSO).unwrap();
    let off = found.cycles_per_sample - 1.0 / 12.0;
    assert!(off.abs() < 2.0 * found.u_cycles, "{found:?}");
    let amplitude = 3.076_212_808_5_f64.hypot(0.532_801_382_27);
    assert!(
        (found.amplitude - amplitude).abs() < 2.0 * 0.2435,
        "{found:?}"
    );
}
