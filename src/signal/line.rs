//! A straight line by least squares, with the uncertainty of what it says anywhere.

/// `y = at_origin + slope × (x − origin)`, with variances from the scatter of the points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Mean of the x values: there the two parameters do not correlate.
    pub origin: f64,
    /// Value at the origin.
    pub at_origin: f64,
    /// Slope.
    pub slope: f64,
    /// Standard deviation of the points about the line, with n − 2.
    pub scatter: f64,
    /// Points.
    pub count: usize,
    /// Sum of squared distances of the x values from their mean.
    spread: f64,
}

impl Line {
    /// Fits points with finite y. `None` below three of them, or when all x are the same.
    ///
    /// The formulas are those of JCGM 100:2008, H.3.
    pub fn fit(points: impl Iterator<Item = (f64, f64)> + Clone) -> Option<Line> {
        let good = points.filter(|(x, y)| x.is_finite() && y.is_finite());
        let count = good.clone().count();
        if count < 3 {
            return None;
        }
        let n = count as f64;
        let (sum_x, sum_y) = good
            .clone()
            .fold((0.0, 0.0), |s, (x, y)| (s.0 + x, s.1 + y));
        let (origin, at_origin) = (sum_x / n, sum_y / n);
        let (spread, cross) = good.clone().fold((0.0, 0.0), |s, (x, y)| {
            (
                s.0 + (x - origin).powi(2),
                s.1 + (x - origin) * (y - at_origin),
            )
        });
        if spread <= 0.0 {
            return None;
        }
        let slope = cross / spread;
        let squares: f64 = good
            .map(|(x, y)| (y - at_origin - slope * (x - origin)).powi(2))
            .sum();
        Some(Line {
            origin,
            at_origin,
            slope,
            scatter: (squares / (n - 2.0)).sqrt(),
            count,
            spread,
        })
    }

    /// Value at `x`.
    pub fn at(&self, x: f64) -> f64 {
        self.at_origin + self.slope * (x - self.origin)
    }

    /// Standard uncertainty of [`Line::at`] from the scatter.
    pub fn u_at(&self, x: f64) -> f64 {
        self.u_at_with(x, self.scatter)
    }

    /// The same, were the scatter `sigma`.
    pub fn u_at_with(&self, x: f64, sigma: f64) -> f64 {
        sigma * (1.0 / self.count as f64 + (x - self.origin).powi(2) / self.spread).sqrt()
    }

    /// Standard uncertainty of the slope.
    pub fn u_slope(&self) -> f64 {
        self.u_slope_with(self.scatter)
    }

    /// The same, were the scatter `sigma`.
    pub fn u_slope_with(&self, sigma: f64) -> f64 {
        sigma / self.spread.sqrt()
    }
}
