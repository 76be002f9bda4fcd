//! Fits against certified results: NIST StRD nonlinear regression (US government work,
//! https://www.itl.nist.gov/div898/strd/), and closed forms.

mod made;

use firstpulse::signal::exponential;

/// Misra1a, y = b1 (1 − exp(−b2 x)): the same curve with the asymptote as far away as the step. The
/// fit of three parameters has one more, so it fits no worse, and the certified values lie within four
/// of its standard uncertainties (the data miss the origin by more than their scatter).
#[test]
fn misra1a_charges_like_a_capacitor() {
    let data = [
        (77.6, 10.07),
        (114.9, 14.73),
        (141.1, 17.94),
        (190.8, 23.93),
        (239.9, 29.61),
        (289.0, 35.18),
        (332.8, 40.02),
        (378.4, 44.82),
        (434.8, 50.76),
        (477.3, 55.05),
        (536.8, 61.01),
        (593.1, 66.40),
        (689.1, 75.47),
        (760.0, 81.78),
    ];
    let (b1, b2, squares) = (238.942_129_18, 5.501_564_318_1e-4, 0.124_551_388_94);
    let own: f64 = data
        .iter()
        .map(|(x, y)| (y - b1 * (1.0 - f64::exp(-b2 * x))).powi(2))
        .sum();
    assert!(
        (own / squares - 1.0).abs() < 1e-8,
        "the data are those of the file: {own}"
    );
    let found = exponential::fit(&data).unwrap();
    let rss = found.scatter.powi(2) * (data.len() as f64 - 3.0);
    assert!(rss <= squares, "a third parameter fits no worse: {rss}");
    assert!(
        (found.asymptote - b1).abs() < 4.0 * found.u_asymptote,
        "{found:?}"
    );
    assert!(
        (found.tau - 1.0 / b2).abs() < 4.0 * found.u_tau,
        "{found:?}"
    );
}

/// BoxBOD, the same model on six points: certified b1 213.80940889, b2 0.54723748542, residual sum of
/// squares 1168.0088766.
#[test]
fn boxbod_is_hard_and_is_met() {
    let data = [
        (1.0, 109.0),
        (2.0, 149.0),
        (3.0, 149.0),
        (5.0, 191.0),
        (7.0, 213.0),
        (10.0, 224.0),
    ];
    let (b1, b2) = (213.809_408_89, 0.547_237_485_42);
    let own: f64 = data
        .iter()
        .map(|(x, y)| (y - b1 * (1.0 - f64::exp(-b2 * x))).powi(2))
        .sum();
    assert!((own / 1_168.008_876_6 - 1.0).abs() < 1e-8, "{own}");
    // with (0, 0) many times over, the curve has to pass the origin as the certified one does
    let mut through = data.to_vec();
    through.extend(std::iter::repeat_n((0.0, 0.0), 4000));
    let found = exponential::fit(&through).unwrap();
    assert!((found.asymptote / b1 - 1.0).abs() < 1e-3, "{found:?}");
    assert!((found.tau * b2 - 1.0).abs() < 2e-3, "{found:?}");
}

/// Misra1a made to pass the origin in the same way gives the certified two parameters to three digits.
#[test]
fn misra1a_through_the_origin_gives_the_certified_values() {
    let mut data = vec![
        (77.6, 10.07),
        (114.9, 14.73),
        (141.1, 17.94),
        (190.8, 23.93),
        (239.9, 29.61),
        (289.0, 35.18),
        (332.8, 40.02),
        (378.4, 44.82),
        (434.8, 50.76),
        (477.3, 55.05),
        (536.8, 61.01),
        (593.1, 66.40),
        (689.1, 75.47),
        (760.0, 81.78),
    ];
    data.extend(std::iter::repeat_n((0.0, 0.0), 100_000));
    let found = exponential::fit(&data).unwrap();
    assert!(
        (found.asymptote / 238.942_129_18 - 1.0).abs() < 1e-3,
        "{found:?}"
    );
    assert!(
        (found.tau * 5.501_564_318_1e-4 - 1.0).abs() < 1e-3,
        "{found:?}"
    );
}

/// The uncertainties hold the truth: 500 rises of the RT/CT ramp from 1.0 to 2.7 V towards 5 V (13 µs),
/// 360 points each, 10 mV of noise.
#[test]
fn u_of_asymptote_and_time_constant_hold_the_truth() {
    let mut dice = made::Dice(3);
    let (mut held_a, mut held_tau) = (0, 0);
    for _ in 0..500 {
        let points: Vec<(f64, f64)> = (0..360)
            .map(|i| {
                let t = f64::from(i) * made::RISE_S / 360.0;
                (t, 5.0 - 4.0 * (-t / 13e-6).exp() + 0.01 * dice.normal())
            })
            .collect();
        let found = exponential::fit(&points).unwrap();
        held_a += usize::from((found.asymptote - 5.0).abs() <= 1.96 * found.u_asymptote);
        held_tau += usize::from((found.tau - 13e-6).abs() <= 1.96 * found.u_tau);
    }
    // 95 % of 500, three standard deviations of the count, and a bend that linear propagation leaves out
    assert!(
        (455..=495).contains(&held_a) && (455..=495).contains(&held_tau),
        "{held_a} {held_tau}"
    );
}

#[test]
fn straight_lines_steps_and_too_few_points_are_no_approach() {
    let line: Vec<(f64, f64)> = (0..100)
        .map(|i| (f64::from(i), 3.0 * f64::from(i)))
        .collect();
    assert_eq!(exponential::fit(&line), None);
    let mut dice = made::Dice(4);
    let noise: Vec<(f64, f64)> = (0..100).map(|i| (f64::from(i), dice.normal())).collect();
    if let Some(found) = exponential::fit(&noise) {
        assert!(found.scatter > 0.7, "{found:?}");
    }
    assert_eq!(exponential::fit(&line[..5]), None);
    assert_eq!(exponential::fit(&[(1.0, 2.0); 50]), None);
    assert_eq!(exponential::fit(&[(f64::NAN, 2.0); 50]), None);
    // a fall is a rise upside down
    let fall: Vec<(f64, f64)> = (0..50)
        .map(|i| (f64::from(i), 2.0 + 3.0 * (-f64::from(i) / 20.0).exp()))
        .collect();
    let found = exponential::fit(&fall).unwrap();
    assert!(
        (found.asymptote - 2.0).abs() < 1e-6
            && (found.step + 3.0).abs() < 1e-6
            && (found.tau - 20.0).abs() < 1e-5
    );
}
