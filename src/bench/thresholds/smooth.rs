//! A smooth course of VCC: straight pieces, as few as the samples ask for.

/// Places of a bend that are looked at.
const PLACES: usize = 24;
/// Places between two of them that are looked at near the likeliest.
const FINE: i32 = 5;
/// Most bends.
const MOST: usize = 8;
/// A bend has to raise the logarithm of the likelihood by so many logarithms of the number of samples.
const COSTS: f64 = 1.5;
/// Mean square of what a ramp holds beyond the others, below which it is one of them.
const LEAST_NEW: f64 = 1e-9;

/// The course, sample by sample.
#[derive(Debug, Clone)]
pub(super) struct Smooth {
    pub values: Vec<f64>,
    /// Volts from sample to sample.
    pub slopes: Vec<f64>,
}

/// The variance of white noise on a slow course, by second differences of neighbours and of every other
/// sample: where noise is not white the larger one counts.
pub(super) fn noise_square(values: &[f64]) -> f64 {
    let of = |lag: usize| {
        let differences = values.windows(2 * lag + 1);
        let squares = differences.map(|w| (w[0] - 2.0 * w[lag] + w[2 * lag]).powi(2));
        squares.sum::<f64>() / (values.len().saturating_sub(2 * lag).max(1) as f64) / 6.0
    };
    of(1).max(of(2))
}

/// Straight pieces through values whose noise has a standard deviation `sigma`.
pub(super) fn fit(values: &[f64], sigma: f64) -> Smooth {
    let count = values.len();
    let left = laid(values, sigma, &[], MOST).left;
    let course: Vec<f64> = values.iter().zip(&left).map(|(v, l)| v - l).collect();
    let slope = |i: usize| {
        let (a, b) = (i.saturating_sub(1), (i + 1).min(count - 1));
        (course[b] - course[a]) / (b - a).max(1) as f64
    };
    Smooth {
        slopes: (0..count).map(slope).collect(),
        values: course,
    }
}

/// Straight pieces laid through values, beside other shapes.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    /// What they leave of the values.
    pub left: Vec<f64>,
    /// Where they bend, in samples.
    pub bends: Vec<f64>,
    /// Shapes of length 1, at right angles to each other, that they are made of.
    base: Vec<Vec<f64>>,
}

impl Laid {
    /// Gain of the logarithm of the likelihood that a further bend has to bring.
    pub fn price(count: usize) -> f64 {
        COSTS * (count as f64).ln()
    }

    /// What of a course the pieces do not hold already.
    pub fn without(&self, mut course: Vec<f64>) -> Vec<f64> {
        self.base.iter().for_each(|part| take(&mut course, part));
        course
    }

    /// The same, of length 1.
    fn beside(&self, course: Vec<f64>) -> Option<Vec<f64>> {
        beside(course, &self.base)
    }
}

/// Straight pieces with as many bends as the values ask for, up to `most`, beside shapes of any size.
pub(super) fn laid(values: &[f64], sigma: f64, shapes: &[Vec<f64>], most: usize) -> Laid {
    let count = values.len();
    let mut found = Laid {
        left: values.to_vec(),
        bends: Vec::new(),
        base: Vec::new(),
    };
    let straight = [vec![1.0; count], (0..count).map(|i| i as f64).collect()];
    for shape in straight.into_iter().chain(shapes.iter().cloned()) {
        if let Some(part) = found.beside(shape) {
            take(&mut found.left, &part);
            found.base.push(part);
        }
    }
    let price = Laid::price(count);
    let apart = count as f64 / (PLACES + 1) as f64;
    let at = |k: usize| (k + 1) as f64 * apart;
    let mut ramps: Vec<Vec<f64>> = Vec::new();
    if most > 0 {
        ramps.extend((0..PLACES).map(|k| found.without(ramp(at(k), count))));
    }
    for _ in 0..most {
        let size = |(k, part): (usize, &Vec<f64>)| {
            let square = dot(part, part);
            // what the base holds already leaves rounding only
            let new = square > LEAST_NEW * count as f64;
            let size = if new {
                dot(part, &found.left).powi(2) / square
            } else {
                0.0
            };
            (size, k)
        };
        let larger = |a: (f64, usize), b: (f64, usize)| if b.0 > a.0 { b } else { a };
        let coarse = ramps.iter().enumerate().map(size).reduce(larger);
        let Some((_, k)) = coarse.filter(|c| 0.5 * c.0 / (sigma * sigma) > price) else {
            break;
        };
        let around = (-FINE..=FINE).map(|k2| at(k) + f64::from(k2) * apart / f64::from(FINE + 1));
        let part_of = |at: f64| {
            let part = found.beside(ramp(at, count));
            part.map(|part| (at, dot(&part, &found.left).abs(), part))
        };
        let parts = around.filter_map(part_of);
        let Some((at, _, best)) = parts.reduce(|a, b| if b.1 > a.1 { b } else { a }) else {
            break;
        };
        take(&mut found.left, &best);
        ramps.iter_mut().for_each(|ramp| take(ramp, &best));
        found.base.push(best);
        found.bends.push(at);
    }
    found
}

/// Zero up to a place, and rising by one a sample from there.
pub(super) fn ramp(at: f64, count: usize) -> Vec<f64> {
    (0..count).map(|i| (i as f64 - at).max(0.0)).collect()
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn take(from: &mut [f64], part: &[f64]) {
    let size = dot(from, part);
    from.iter_mut().zip(part).for_each(|(f, p)| *f -= size * p);
}

/// What of a course the base does not hold already, of length 1.
fn beside(mut course: Vec<f64>, base: &[Vec<f64>]) -> Option<Vec<f64>> {
    let before = dot(&course, &course);
    base.iter().for_each(|part| take(&mut course, part));
    let square = dot(&course, &course);
    (square > 1e-12 * before).then(|| {
        course.iter_mut().for_each(|c| *c /= square.sqrt());
        course
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::drawn;

    /// A slope that doubles after 130 of 400 levels: 0.01 V a level of change beside noise of 0.02 V is known to
    /// about a level.
    #[test]
    fn a_bend_is_found_where_it_is() {
        let mut noise = drawn::noise(3);
        let bent = |i: usize| 0.01 * i as f64 + 0.01 * (i as f64 - 130.0).max(0.0);
        let values: Vec<f64> = (0..400).map(|i| bent(i) + 0.02 * noise()).collect();
        let found = laid(&values, 0.02, &[], 8);
        assert!((found.bends[0] - 130.0).abs() < 4.0, "{:?}", found.bends);
        let square = dot(&found.left, &found.left) / 400.0;
        assert!((0.015..0.025).contains(&square.sqrt()), "{square}");
    }

    /// Beside a sine its size does not count, and a straight line asks for no bend.
    #[test]
    fn shapes_beside_are_left_out() {
        let sine: Vec<f64> = (0..300).map(|i| (0.2 * f64::from(i)).sin()).collect();
        let mut noise = drawn::noise(4);
        let one = |(i, s): (usize, &f64)| 7.0 * s + 0.01 * i as f64 + 0.02 * noise();
        let values: Vec<f64> = sine.iter().enumerate().map(one).collect();
        let found = laid(&values, 0.02, std::slice::from_ref(&sine), 8);
        assert!(found.bends.is_empty(), "{:?}", found.bends);
        let rest = found.without(sine);
        assert!(dot(&rest, &rest) < 1e-9);
    }
}
