//! A smooth course of VCC: straight pieces, as few as the samples ask for.

/// Places of a bend that are looked at.
const PLACES: usize = 24;
/// Places between two of them that are looked at near the likeliest.
const FINE: i32 = 5;
/// Most bends.
const MOST: usize = 8;
/// A bend has to raise the logarithm of the likelihood by so many logarithms of the number of samples.
const COSTS: f64 = 1.5;

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
    let mut base: Vec<Vec<f64>> = Vec::new();
    let mut left = values.to_vec();
    for start in [vec![1.0; count], (0..count).map(|i| i as f64).collect()] {
        if let Some(part) = beside(start, &base) {
            take(&mut left, &part);
            base.push(part);
        }
    }
    let price = COSTS * (count as f64).ln();
    for _ in 0..MOST {
        let ramp = |at: &f64| {
            let bend = (0..count).map(|i| (i as f64 - at).max(0.0)).collect();
            beside(bend, &base).map(|part| (*at, dot(&part, &left).abs(), part))
        };
        let largest = |places: Vec<f64>| {
            let parts = places.iter().filter_map(ramp);
            parts.reduce(|a, b| if b.1 > a.1 { b } else { a })
        };
        let apart = count as f64 / (PLACES + 1) as f64;
        let coarse = largest((1..=PLACES).map(|k| k as f64 * apart).collect());
        let Some((near, ..)) = coarse.filter(|c| 0.5 * (c.1 / sigma).powi(2) > price) else {
            break;
        };
        let around = (-FINE..=FINE).map(|k| near + f64::from(k) * apart / f64::from(FINE + 1));
        let Some((_, _, best)) = largest(around.collect()) else {
            break;
        };
        take(&mut left, &best);
        base.push(best);
    }
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

fn dot(a: &[f64], b: &[f64]) -> f64 {
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
