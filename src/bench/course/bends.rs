//! Bends of a course that is otherwise straight: how sure each place of one is, and what it would make of the
//! value at the event. Each costs the same few sums, taken once.

use crate::signal::Line;

/// Places of a bend that are looked at.
const PLACES: usize = 40;
/// Fewest samples after a sure bend; before it half as many will do.
const FEWEST: usize = 6;

/// A bend at one place.
pub(in crate::bench) struct Bend {
    /// Its share against a straight line, before all places are weighed.
    pub weight: f64,
    /// Value at the event (x = 0) and its variance.
    pub value: f64,
    pub variance: f64,
    /// The first sample after it.
    pub index: usize,
}

/// What a line leaves of its points, summed up to each of them.
pub(in crate::bench) struct Left<'a> {
    points: &'a [(f64, f64)],
    line: &'a Line,
    sigma: f64,
    /// Sums of x, x², rest and x × rest of the points before each, x from the middle in spans.
    sums: Vec<[f64; 4]>,
    span: f64,
}

/// A slope that is there before the place only, in spans: least squares of what the line leaves by it.
struct Ramp {
    /// Change of the slope, before less after, per span.
    change: f64,
    /// Sum of squares of what the line leaves of the ramp.
    bottom: f64,
    /// The line through the ramp, at the event.
    even: f64,
}

impl<'a> Left<'a> {
    /// Of points with the standard deviation `sigma`, in time order; `None` where they take no time.
    pub fn of(points: &'a [(f64, f64)], line: &'a Line, sigma: f64) -> Option<Self> {
        let span = points.last()?.0 - points.first()?.0;
        let mut sums = Vec::with_capacity(points.len() + 1);
        let mut sum = [0.0; 4];
        sums.push(sum);
        for (t, v) in points {
            let (x, rest) = ((t - line.origin) / span, v - line.at(*t));
            for (s, part) in sum.iter_mut().zip([x, x * x, rest, x * rest]) {
                *s += part;
            }
            sums.push(sum);
        }
        (span > 0.0).then_some(Self {
            points,
            line,
            sigma,
            sums,
            span,
        })
    }

    fn ramp(&self, index: usize) -> Ramp {
        let n = self.points.len() as f64;
        let before = index as f64;
        let [x, xx, rest, x_rest] = self.sums[index];
        let all = self.sums[self.points.len()];
        let at = (self.points[index].0 - self.line.origin) / self.span;
        let (sum, by_x) = (before * at - x, at * x - xx);
        // x has its mean at 0: there the two parts of the line do not correlate
        let (level, slope) = (sum / n, by_x / all[1]);
        let square = before * at * at - 2.0 * at * x + xx;
        let bottom = square - level * level * n - slope * slope * all[1];
        Ramp {
            change: (at * rest - x_rest) / bottom,
            bottom,
            even: level + slope * (0.0 - self.line.origin) / self.span,
        }
    }

    /// The surest bend: the first sample after it, and its size in standard deviations, infinite where there is
    /// no noise at all.
    pub fn surest(&self) -> Option<(usize, f64)> {
        let last = self.points.len().checked_sub(FEWEST)?;
        let size = |index: usize| {
            let ramp = self.ramp(index);
            (ramp.change.abs() * ramp.bottom.max(0.0).sqrt()) / self.sigma
        };
        (FEWEST / 2..last)
            .map(|index| (index, size(index)))
            .filter(|(_, size)| !size.is_nan())
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// A bend at each of the places, its size normal about 0 beforehand with the share `by` of the slope.
    pub fn places(&self, by: f64) -> Vec<Bend> {
        let count = self.points.len();
        let straight = self.line.u_at_with(0.0, self.sigma).powi(2);
        let before = (by * self.line.slope * self.span).powi(2);
        let place = |k: usize| {
            let index = count * k / (PLACES + 1);
            let ramp = self.ramp(index);
            let square = self.sigma * self.sigma / ramp.bottom;
            let shrunk = before / (before + square);
            let odds = 0.5 * ramp.change * ramp.change / square * shrunk;
            let good = index > 0 && ramp.bottom > 0.0 && square > 0.0 && before > 0.0;
            good.then(|| Bend {
                weight: (1.0 - shrunk).sqrt() * odds.min(300.0).exp(),
                value: self.line.at(0.0) - shrunk * ramp.change * ramp.even,
                variance: straight + shrunk * square * ramp.even * ramp.even,
                index,
            })
        };
        (1..=PLACES).filter_map(place).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same by fits of the definition, one sample after the other.
    #[test]
    fn sums_are_those_of_single_fits() {
        let bent = |t: f64| t + 0.4 * (-0.3 - t).max(0.0) + 0.01 * (37.0 * t).sin();
        let points: Vec<(f64, f64)> = (0..90)
            .map(|i| -1.0 + f64::from(i) / 95.0)
            .map(|t| (t, bent(t)))
            .collect();
        let line = Line::fit(points.iter().copied()).unwrap();
        let left = Left::of(&points, &line, 0.02).unwrap();
        for index in [4, 30, 66, 80] {
            let at_s = points[index].0;
            let ramp = |t: f64| (at_s - t).max(0.0);
            let even = Line::fit(points.iter().map(|p| (p.0, ramp(p.0)))).unwrap();
            let (mut top, mut bottom) = (0.0, 0.0);
            for (t, v) in &points {
                let rest = ramp(*t) - even.at(*t);
                top += rest * (v - line.at(*t));
                bottom += rest * rest;
            }
            let found = left.ramp(index);
            assert!((found.change / left.span - top / bottom).abs() < 1e-9 * (top / bottom).abs());
            assert!((found.even * left.span - even.at(0.0)).abs() < 1e-9);
        }
        let (index, size) = left.surest().unwrap();
        assert!(
            (points[index].0 + 0.3).abs() < 0.05 && size > 5.0,
            "{index} {size}"
        );
    }
}
