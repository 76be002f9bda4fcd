//! Seeded random numbers: splitmix64 (Steele, Lea and Flood, 2014) and the Box-Muller transform.

/// A small generator, the same on every machine for the same seed.
#[derive(Debug, Clone)]
pub struct Noise {
    state: u64,
    spare: Option<f64>,
}

impl Noise {
    /// A generator for a seed and a stream, so that channels of one seed do not share noise.
    pub fn new(seed: u64, stream: u64) -> Noise {
        let mut noise = Noise {
            state: seed,
            spare: None,
        };
        noise.state = noise.next_u64() ^ stream.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        noise
    }

    /// The next 64 random bits.
    pub fn next_u64(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in (0, 1]: never 0, so that its logarithm exists.
    pub fn uniform(&mut self) -> f64 {
        ((self.next_u64() >> 11) + 1) as f64 / (1u64 << 53) as f64
    }

    /// Uniform between −1 and 1.
    pub fn signed(&mut self) -> f64 {
        2.0 * self.uniform() - 1.0
    }

    /// Normal with mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        let (sine, cosine) = (std::f64::consts::TAU * self.uniform()).sin_cos();
        self.spare = Some(radius * sine);
        radius * cosine
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn follows_the_published_sequence() {
        // First outputs of splitmix64 for state 1234567, as in its reference implementation.
        let mut noise = Noise {
            state: 1_234_567,
            spare: None,
        };
        assert_eq!(noise.next_u64(), 6_457_827_717_110_365_317);
        assert_eq!(noise.next_u64(), 3_203_168_211_198_807_973);
    }

    #[test]
    fn normal_has_its_moments() {
        let mut noise = Noise::new(7, 1);
        let values: Vec<f64> = (0..200_000).map(|_| noise.normal()).collect();
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n;
        let beyond_two = values.iter().filter(|v| v.abs() > 2.0).count() as f64 / n;
        // Five standard deviations of each estimate.
        assert!(mean.abs() < 0.0112, "{mean}");
        assert!((variance - 1.0).abs() < 0.0159, "{variance}");
        assert!((beyond_two - 0.0455).abs() < 0.0024, "{beyond_two}");
    }
}
