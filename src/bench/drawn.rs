//! Noise for tests.

/// Normal noise of one standard deviation, a known sequence.
pub(super) fn noise(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed;
    let mut next = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / f64::from(1 << 24) - 0.5
    };
    move || (0..12).map(|_| next()).sum()
}
