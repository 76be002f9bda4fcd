//! A parabola by least squares.

/// `y = c0 + c1 x' + c2 x'²` with `x' = (x − origin) / scale`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parabola {
    origin: f64,
    scale: f64,
    c: [f64; 3],
    /// Inverse of the normal matrix of the three coefficients.
    inverse: [[f64; 3]; 3],
    /// Standard deviation of the points about it, with n − 3.
    pub scatter: f64,
    /// Points.
    pub count: usize,
}

/// Fewest points.
const FEWEST: usize = 6;

impl Parabola {
    /// Fits points; `None` below six of them, or where x does not move.
    pub fn fit(points: &[(f64, f64)]) -> Option<Self> {
        if points.len() < FEWEST {
            return None;
        }
        let n = points.len() as f64;
        let origin = points.iter().map(|p| p.0).sum::<f64>() / n;
        let scale = points
            .iter()
            .map(|p| (p.0 - origin).abs())
            .fold(0.0, f64::max);
        if scale <= 0.0 {
            return None;
        }
        let mut rows = [[0.0; 4]; 3];
        for (x, y) in points {
            let x = (x - origin) / scale;
            let powers = [1.0, x, x * x];
            for (row, p) in rows.iter_mut().zip(powers) {
                for (cell, q) in row.iter_mut().zip([1.0, x, x * x, *y]) {
                    *cell += p * q;
                }
            }
        }
        let mut fit = Self {
            origin,
            scale,
            c: solve(rows)?,
            inverse: inverse(rows)?,
            scatter: 0.0,
            count: points.len(),
        };
        let squares: f64 = points.iter().map(|(x, y)| (y - fit.at(*x)).powi(2)).sum();
        fit.scatter = (squares / (n - 3.0)).sqrt();
        Some(fit)
    }

    /// Value at `x`.
    pub fn at(&self, x: f64) -> f64 {
        let x = (x - self.origin) / self.scale;
        self.c[0] + x * (self.c[1] + x * self.c[2])
    }

    /// Standard uncertainty of [`Parabola::at`] from the scatter of the points, each with an error of its own.
    pub fn u_at(&self, x: f64) -> f64 {
        self.u_of(self.powers(x))
    }

    /// Standard uncertainty of the difference between the values at two places.
    pub fn u_between(&self, from: f64, to: f64) -> f64 {
        let (a, b) = (self.powers(from), self.powers(to));
        self.u_of([b[0] - a[0], b[1] - a[1], b[2] - a[2]])
    }

    fn powers(&self, x: f64) -> [f64; 3] {
        let x = (x - self.origin) / self.scale;
        [1.0, x, x * x]
    }

    /// That of a sum of the coefficients with weights.
    fn u_of(&self, weights: [f64; 3]) -> f64 {
        let mut variance = 0.0;
        for (row, p) in self.inverse.iter().zip(weights) {
            for (cell, q) in row.iter().zip(weights) {
                variance += p * q * cell;
            }
        }
        self.scatter * variance.max(0.0).sqrt()
    }

    /// Slope at `x`.
    pub fn slope(&self, x: f64) -> f64 {
        let x = (x - self.origin) / self.scale;
        (self.c[1] + 2.0 * x * self.c[2]) / self.scale
    }

    /// Second derivative, the same everywhere.
    pub fn bend(&self) -> f64 {
        2.0 * self.c[2] / (self.scale * self.scale)
    }

    /// Sum of the squared distances of the points.
    pub fn squares(&self) -> f64 {
        self.scatter * self.scatter * (self.count as f64 - 3.0)
    }

    /// Where it passes `level`, from a first guess, by Newton's method; `None` where that leads nowhere.
    pub fn crossing(&self, level: f64, from: f64) -> Option<f64> {
        let mut x = from;
        for _ in 0..40 {
            let slope = self.slope(x);
            if slope.abs() <= f64::MIN_POSITIVE {
                return None;
            }
            x -= (self.at(x) - level) / slope;
        }
        let there = x.is_finite() && (self.at(x) - level).abs() <= 1e-9 * (1.0 + level.abs());
        there.then_some(x)
    }
}

/// Inverse of the left three columns, column by column.
fn inverse(mut rows: [[f64; 4]; 3]) -> Option<[[f64; 3]; 3]> {
    let mut found = [[0.0; 3]; 3];
    for column in 0..3 {
        for (index, row) in rows.iter_mut().enumerate() {
            row[3] = f64::from(u8::from(index == column));
        }
        let solved = solve(rows)?;
        for (row, cell) in found.iter_mut().zip(solved) {
            row[column] = cell;
        }
    }
    Some(found)
}

/// Gauss elimination with pivoting of a 3 × 3 system; `None` when it has no single solution.
fn solve(mut rows: [[f64; 4]; 3]) -> Option<[f64; 3]> {
    for column in 0..3 {
        let pivot =
            (column..3).max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()))?;
        rows.swap(column, pivot);
        if rows[column][column].abs() < 1e-12 {
            return None;
        }
        for other in 0..3 {
            if other != column {
                let factor = rows[other][column] / rows[column][column];
                let lead = rows[column];
                for (cell, from) in rows[other].iter_mut().zip(lead) {
                    *cell -= factor * from;
                }
            }
        }
    }
    Some([
        rows[0][3] / rows[0][0],
        rows[1][3] / rows[1][1],
        rows[2][3] / rows[2][2],
    ])
}
