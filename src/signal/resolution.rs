//! The step between neighbouring codes, found from the values themselves.

/// Most distinct values that are followed; beyond them the record is not called coarse.
const MOST: usize = 4096;
const SLOTS: usize = 8192;

/// Collects distinct values.
#[derive(Debug, Clone)]
pub struct Distinct {
    slots: Vec<u64>,
    values: Vec<f64>,
    overflow: bool,
}

impl Default for Distinct {
    fn default() -> Self {
        Self::new()
    }
}

impl Distinct {
    /// Nothing collected.
    pub fn new() -> Self {
        Self {
            slots: vec![u64::MAX; SLOTS],
            values: Vec::new(),
            overflow: false,
        }
    }

    /// Adds the finite ones of `values`.
    pub fn add(&mut self, values: &[f64]) {
        if self.overflow {
            return;
        }
        let mut last = u64::MAX;
        for value in values.iter().filter(|v| v.is_finite()) {
            let bits = value.to_bits();
            if bits != last {
                last = bits;
                self.insert(bits, *value);
                if self.overflow {
                    return;
                }
            }
        }
    }

    fn insert(&mut self, bits: u64, value: f64) {
        let mut slot = (bits.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 51) as usize % SLOTS;
        loop {
            if self.slots[slot] == bits {
                return;
            }
            if self.slots[slot] == u64::MAX {
                break;
            }
            slot = (slot + 1) % SLOTS;
        }
        self.slots[slot] = bits;
        self.values.push(value);
        self.overflow = self.values.len() > MOST;
    }

    /// The code step: the smallest gap between neighbours of which nearly all gaps are a multiple.
    /// `None` below three distinct values, beyond 4,096 of them, or when the gaps have no common step.
    pub fn step(mut self) -> Option<f64> {
        if self.overflow || self.values.len() < 3 {
            return None;
        }
        self.values.sort_by(f64::total_cmp);
        let mut gaps: Vec<f64> = self.values.windows(2).map(|w| w[1] - w[0]).collect();
        let span = self.values[self.values.len() - 1] - self.values[0];
        gaps.retain(|gap| *gap > span * 1e-9);
        gaps.sort_by(f64::total_cmp);
        // the tenth part of the gaps may be rounding of the printed digits: step over them
        let smallest = *gaps.first()?;
        let step = refined(&gaps, smallest);
        let fitting = gaps.iter().filter(|gap| near_multiple(**gap, step)).count();
        (fitting * 10 >= gaps.len() * 9).then_some(step)
    }
}

/// The mean of all gaps, each counted as so many steps as it is nearest to.
fn refined(gaps: &[f64], smallest: f64) -> f64 {
    let singles: Vec<f64> = gaps
        .iter()
        .copied()
        .filter(|g| *g < 1.5 * smallest)
        .collect();
    singles.iter().sum::<f64>() / singles.len() as f64
}

/// By how much the mean of a still level may be off because its samples are rounded to codes, half-width in
/// the unit of `step`: half a step where noise does not carry it across codes, else step/π × exp(−2π²σ²),
/// the swing of the mean of rounded normal noise of σ steps (B. Widrow, I. Kollár, Quantization Noise, 2008,
/// from memory). `noise` is the scatter of the samples, rounding included. 0 for a step of 0.
///
/// ```
/// use firstpulse::signal::resolution::left_by_rounding;
/// assert_eq!(left_by_rounding(0.1, 0.0), 0.05);
/// assert!(left_by_rounding(0.1, 0.07) < 1e-4);
/// ```
pub fn left_by_rounding(step: f64, noise: f64) -> f64 {
    let square = (noise / step).powi(2) - 1.0 / 12.0;
    if step <= 0.0 || step.is_nan() {
        0.0
    } else if square < 0.01 || square.is_nan() {
        0.5 * step
    } else {
        let swing = (-2.0 * std::f64::consts::PI.powi(2) * square).exp();
        step / std::f64::consts::PI * swing
    }
}

fn near_multiple(gap: f64, step: f64) -> bool {
    let steps = (gap / step).round().max(1.0);
    (gap - steps * step).abs() < 0.2 * step
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step_of(values: impl Iterator<Item = f64>) -> Option<f64> {
        let mut distinct = Distinct::new();
        distinct.add(&values.collect::<Vec<_>>());
        distinct.step()
    }

    #[test]
    fn eight_bit_codes_printed_with_four_decimals_give_their_step() {
        let lsb = 20.0 / 256.0;
        let codes = (0..200).filter(|c| c % 7 != 3);
        let step = step_of(codes.map(|c| (f64::from(c) * lsb * 1e4).round() / 1e4)).unwrap();
        assert!((step / lsb - 1.0).abs() < 0.01, "{step}");
    }

    #[test]
    fn a_smooth_record_has_no_step() {
        assert_eq!(
            step_of((0..3000).map(|i| (f64::from(i) * 0.618_033_988_7).fract().powi(2))),
            None
        );
        assert_eq!(step_of([5.0, 5.0].into_iter()), None);
    }
}
