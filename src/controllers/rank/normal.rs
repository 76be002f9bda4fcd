//! The normal distribution function.

/// Normal distribution function, error below 1e-7 (Abramowitz and Stegun 7.1.26).
pub(super) fn normal_cdf(z: f64) -> f64 {
    let x = z.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let coefficients = [
        1.061_405_429,
        -1.453_152_027,
        1.421_413_741,
        -0.284_496_736,
        0.254_829_592,
    ];
    let polynomial = coefficients.iter().fold(0.0, |sum, c| (sum + c) * t);
    let tail = 0.5 * polynomial * (-x * x).exp();
    if z > 0.0 { 1.0 - tail } else { tail }
}

#[cfg(test)]
mod tests {
    use super::normal_cdf;

    #[test]
    fn the_normal_distribution_has_its_known_values() {
        for (z, p) in [
            (0.0, 0.5),
            (1.0, 0.841_344_746),
            (-1.96, 0.024_997_895),
            (3.0, 0.998_650_102),
        ] {
            assert!((normal_cdf(z) - p).abs() < 2e-7, "{z}");
        }
    }
}
