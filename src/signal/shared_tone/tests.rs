use super::*;

/// A known pseudo-random sequence, about normal.
fn noise(seed: u64, n: usize) -> Vec<f64> {
    let mut state = seed;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / f64::from(1 << 24) - 0.5
    };
    (0..n).map(|_| (0..12).map(|_| next()).sum()).collect()
}

fn found(amplitude: f64, seed: u64) -> Option<SharedTone> {
    let stretches: Vec<Vec<f64>> = (0..6)
        .map(|k| {
            let phase = f64::from(k) * 1.7;
            let sine = |i: usize| amplitude * (0.9 * i as f64 + phase).sin();
            let course = |i: usize| 0.02 * i as f64 * f64::from(1 - 2 * (k % 2));
            let scatter = noise(seed + k as u64, 120);
            (0..120).map(|i| scatter[i] + sine(i) + course(i)).collect()
        })
        .collect();
    let parts: Vec<&[f64]> = stretches.iter().map(Vec::as_slice).collect();
    find(&parts)
}

/// A sine of 0.6 of the noise: behind a Hann window a stretch of 120 samples shows it 7 times the mean of
/// noise, which noise itself has in every second one; six of them together show it.
#[test]
fn six_stretches_show_what_one_hides() {
    let tone = found(0.6, 3).unwrap();
    assert!(tone.chance < 1e-4, "{tone:?}");
    assert!(
        (tone.cycles - 0.9 / std::f64::consts::TAU).abs() < 1e-3,
        "{tone:?}"
    );
    assert!((tone.square.sqrt() - 0.6).abs() < 0.15, "{tone:?}");
}

/// The chance is one: of 200 sets of noise about so many fall below it as it says.
#[test]
fn noise_alone_is_as_seldom_as_it_says() {
    let below = |limit: f64| {
        let seldom = |k: &u64| found(0.0, 1000 + 10 * k).is_some_and(|t| t.chance < limit);
        (0..200).filter(seldom).count()
    };
    assert!(below(0.01) <= 8, "{}", below(0.01));
    assert_eq!(below(1e-5), 0);
}

/// A bend has power at many low lines and no line of its own.
#[test]
fn a_bend_is_no_tone() {
    let bent: Vec<f64> = (0..400)
        .map(|i| 0.05 * f64::from((i - 200).max(0)) + noise(9, 400)[i as usize] * 0.02)
        .collect();
    let tone = find(&[&bent]).unwrap();
    assert!(tone.chance > 1e-3, "{tone:?}");
}

#[test]
fn too_few_samples_give_none() {
    assert_eq!(find(&[]), None);
    assert_eq!(find(&[&[1.0; 20]]), None);
}
