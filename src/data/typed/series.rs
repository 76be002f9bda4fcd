//! Preferred values: the E series of IEC 60063, and the tolerance that goes with each.
//!
//! E3 to E24 are a list of two digits; E48 to E192 are the geometric series 10^(k/192) rounded to
//! three digits, but for 9.20, which the standard keeps where the rule gives 9.19. Both are from memory
//! of IEC 60063:2015.

/// E24, by which E12, E6 and E3 are every second, fourth and eighth value.
const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6,
    6.2, 6.8, 7.5, 8.2, 9.1,
];

/// A series of preferred values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Series {
    /// 3 values a decade.
    E3,
    /// 6 values a decade.
    E6,
    /// 12 values a decade.
    E12,
    /// 24 values a decade.
    E24,
    /// 48 values a decade.
    E48,
    /// 96 values a decade.
    E96,
    /// 192 values a decade.
    E192,
}

impl Series {
    /// All, the coarsest first.
    pub const ALL: [Series; 7] = [
        Series::E3,
        Series::E6,
        Series::E12,
        Series::E24,
        Series::E48,
        Series::E96,
        Series::E192,
    ];

    /// Values a decade.
    pub fn count(self) -> usize {
        match self {
            Series::E3 => 3,
            Series::E6 => 6,
            Series::E12 => 12,
            Series::E24 => 24,
            Series::E48 => 48,
            Series::E96 => 96,
            Series::E192 => 192,
        }
    }

    /// `E24`.
    pub fn name(self) -> String {
        format!("E{}", self.count())
    }

    /// The tolerance that parts of this series have by custom, as a share: ±20 % for E6, halving down
    /// to ±0.5 % for E192. `None` for E3, which stands for more than ±20 %.
    pub fn tolerance(self) -> Option<f64> {
        Some(match self {
            Series::E3 => return None,
            Series::E6 => 0.20,
            Series::E12 => 0.10,
            Series::E24 => 0.05,
            Series::E48 => 0.02,
            Series::E96 => 0.01,
            Series::E192 => 0.005,
        })
    }

    /// Its values from 1 to below 10, rising.
    pub fn values(self) -> Vec<f64> {
        let count = self.count();
        if count <= E24.len() {
            return E24.iter().copied().step_by(E24.len() / count).collect();
        }
        (0..192).step_by(192 / count).map(three_digits).collect()
    }

    /// The value of the series, in any decade, that is nearest to `value` by ratio. `None` for a value
    /// that is not positive and finite.
    ///
    /// ```
    /// use firstpulse::data::typed::Series;
    /// let near = Series::E12.nearest(217.8e3).unwrap();
    /// assert!((near / 220e3 - 1.0).abs() < 1e-12);
    /// ```
    pub fn nearest(self, value: f64) -> Option<f64> {
        if !(value.is_finite() && value > 0.0) {
            return None;
        }
        let decade = value.log10().floor();
        let scale = 10f64.powf(decade);
        let mut all = self.values();
        all.push(10.0);
        let distance = |preferred: f64| (preferred * scale / value).ln().abs();
        all.into_iter()
            .min_by(|a, b| distance(*a).total_cmp(&distance(*b)))
            .map(|preferred| in_decade(preferred, decade))
    }

    /// Does the series hold this value, within the last bits?
    pub fn holds(self, value: f64) -> bool {
        self.nearest(value)
            .is_some_and(|near| (near / value - 1.0).abs() < 1e-9)
    }

    /// The coarsest series that holds the value; `None` where none does.
    pub fn coarsest(value: f64) -> Option<Series> {
        Self::ALL.into_iter().find(|series| series.holds(value))
    }
}

/// The value in its decade, with as few rounding errors as can be.
fn in_decade(preferred: f64, decade: f64) -> f64 {
    let digits = (preferred * 100.0).round();
    let exponent = decade - 2.0;
    if exponent < 0.0 {
        digits / 10f64.powf(-exponent)
    } else {
        digits * 10f64.powf(exponent)
    }
}

/// The k-th value of E192.
fn three_digits(k: usize) -> f64 {
    if k == 185 {
        return 9.20;
    }
    (100.0 * 10f64.powf(k as f64 / 192.0)).round() / 100.0
}
