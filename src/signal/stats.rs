//! Mean and standard deviation that keep their digits, and medians.

use crate::data::Summary;

/// Running count, mean and sum of squared deviations; blocks are merged by the pairwise update of
/// Chan, Golub & LeVeque (1979), which keeps the digits that a one-pass sum of squares loses
/// (NIST StRD NumAcc4).
#[derive(Debug, Clone, Copy, Default)]
pub struct Moments {
    /// Values seen.
    pub count: u64,
    /// Their mean.
    pub mean: f64,
    /// Sum of squared deviations from the mean.
    pub squares: f64,
}

impl Moments {
    /// Moments of one block, in two passes over it; NaN values are left out.
    pub fn of(values: &[f64]) -> Self {
        let (mut count, mut sum) = (0_u64, 0.0);
        let origin = values
            .iter()
            .copied()
            .find(|v| v.is_finite())
            .unwrap_or(0.0);
        for value in values.iter().filter(|v| v.is_finite()) {
            count += 1;
            sum += value - origin;
        }
        if count == 0 {
            return Self::default();
        }
        let mean = origin + sum / count as f64;
        let (mut squares, mut rest) = (0.0, 0.0);
        for value in values.iter().filter(|v| v.is_finite()) {
            let d = value - mean;
            squares += d * d;
            rest += d;
        }
        // the second term removes what rounding of the mean left over
        Self {
            count,
            mean: mean + rest / count as f64,
            squares: (squares - rest * rest / count as f64).max(0.0),
        }
    }

    /// Adds another block.
    pub fn merge(&mut self, other: &Moments) {
        if other.count == 0 {
            return;
        }
        if self.count == 0 {
            *self = *other;
            return;
        }
        let (a, b) = (self.count as f64, other.count as f64);
        let total = a + b;
        let d = other.mean - self.mean;
        self.mean += d * b / total;
        self.squares += other.squares + d * d * a * b / total;
        self.count += other.count;
    }

    /// Standard deviation with n − 1; NaN below two values.
    pub fn deviation(&self) -> f64 {
        if self.count < 2 {
            f64::NAN
        } else {
            (self.squares / (self.count - 1) as f64).sqrt()
        }
    }

    /// As a [`Summary`]; mean is NaN when there is no value.
    pub fn summary(&self) -> Summary {
        Summary {
            count: self.count,
            mean: if self.count == 0 { f64::NAN } else { self.mean },
            deviation: self.deviation(),
        }
    }
}

/// Count, mean and deviation of a slice; NaN values are left out.
pub fn summary(values: &[f64]) -> Summary {
    Moments::of(values).summary()
}

/// Median; NaN when empty. Orders the slice partly. NaN values sort last.
pub fn median(values: &mut [f64]) -> f64 {
    quantile(values, 0.5)
}

/// Median of the finite values, which are left as they are; NaN where there are none.
pub fn median_of_finite(values: &[f64]) -> f64 {
    let mut finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    median(&mut finite)
}

/// The value at the share `q` (0 to 1) of the ordered values, the lower neighbour; NaN when empty.
/// Orders the slice partly.
pub fn quantile(values: &mut [f64], q: f64) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let index = ((values.len() - 1) as f64 * q.clamp(0.0, 1.0)).floor() as usize;
    *values.select_nth_unstable_by(index, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn merging_blocks_gives_the_whole() {
        let values: Vec<f64> = (0..1000).map(|i| 1e7 + f64::from(i % 17) * 0.1).collect();
        let whole = Moments::of(&values);
        let mut merged = Moments::default();
        for block in values.chunks(37) {
            merged.merge(&Moments::of(block));
        }
        assert!((whole.mean - merged.mean).abs() < 1e-8);
        assert!((whole.deviation() / merged.deviation() - 1.0).abs() < 1e-9);
    }
}
