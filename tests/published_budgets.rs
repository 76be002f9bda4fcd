//! Budgets of values that are correlated, against examples that guides print.

use firstpulse::data::{Shape, Term, TieSource, Value};
use firstpulse::signal::{Line, stats};

/// JCGM 100:2008, H.2: five simultaneous readings of voltage, current and phase (data as in a public copy).
const VOLTS: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const AMPERES: [f64; 5] = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
const RADIANS: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

/// Covariance of the means of two rows of readings.
fn covariance(a: &[f64; 5], b: &[f64; 5]) -> f64 {
    let (ma, mb) = (stats::summary(a).mean, stats::summary(b).mean);
    let sum: f64 = a.iter().zip(b).map(|(x, y)| (x - ma) * (y - mb)).sum();
    sum / 20.0
}

/// Values whose covariances are these: each is made of errors that it shares with those after it
/// (Cholesky), so that ties carry a correlation of any size.
fn correlated<const N: usize>(means: [f64; N], covariances: &[[f64; N]; N]) -> Vec<Value> {
    let mut root = [[0.0; N]; N];
    for row in 0..N {
        for column in 0..=row {
            let sum: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
            let left = covariances[row][column] - sum;
            root[row][column] = if row == column {
                left.sqrt()
            } else {
                left / root[column][column]
            };
        }
    }
    let of = |row: usize| {
        let term = |column: usize| {
            let part: f64 = root[row][column];
            Term::normal("readings", part.abs()).tied(TieSource::Gain(column as u64), part)
        };
        Value::from_terms(means[row], (0..=row).map(term).collect())
    };
    (0..N).map(of).collect()
}

fn near(got: f64, printed: f64, tolerance: f64, what: &str) {
    assert!(
        (got - printed).abs() <= tolerance,
        "{what}: {got} instead of {printed}"
    );
}

/// Resistance, reactance and impedance.
fn parts(inputs: &[&Value]) -> [Value; 3] {
    [
        Value::of(|x| x[0] / x[1] * x[2].cos(), inputs),
        Value::of(|x| x[0] / x[1] * x[2].sin(), inputs),
        Value::of(|x| x[0] / x[1], &inputs[..2]),
    ]
}

/// H.2 prints R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236) ohms and correlations of −0.588,
/// −0.485 and 0.993 (recomputed from the readings with numpy).
#[test]
fn correlated_readings_give_the_uncertainties_of_annex_h2() {
    let rows = [&VOLTS, &AMPERES, &RADIANS];
    let means = rows.map(|r| stats::summary(r).mean);
    let covariances = rows.map(|a| rows.map(|b| covariance(a, b)));
    let inputs = correlated(means, &covariances);
    for (value, u) in inputs.iter().zip([0.003_209, 0.009_471e-3, 0.000_752]) {
        near(value.u, u, 1e-3 * u, "u of an input");
    }
    let inputs: Vec<&Value> = inputs.iter().collect();
    let found = parts(&inputs);
    let printed = [
        (127.7322, 0.071_07),
        (219.8465, 0.295_58),
        (254.2597, 0.236_34),
    ];
    for (value, (wanted, u)) in found.iter().zip(printed) {
        near(value.value, wanted, 1e-4, "value");
        near(value.u, u, 2e-5, "u");
    }
    let correlation = |a: &Value, b: &Value| {
        let sum = Value::linear(a.value + b.value, &[(1.0, a), (1.0, b)]);
        (sum.u.powi(2) - a.u.powi(2) - b.u.powi(2)) / (2.0 * a.u * b.u)
    };
    let [r, x, z] = &found;
    near(correlation(r, x), -0.5884, 2e-4, "R and X");
    near(correlation(r, z), -0.4853, 2e-4, "R and Z");
    near(correlation(x, z), 0.9925, 2e-4, "X and Z");
}

/// The same without the correlations: 0.195, 0.201 and 0.204 ohms. What H.2 is there to show.
#[test]
fn independent_readings_would_give_other_ones() {
    let rows = [&VOLTS, &AMPERES, &RADIANS];
    let inputs = rows.map(|r| {
        let found = stats::summary(r);
        Value::from_terms(
            found.mean,
            vec![Term::mean_of("readings", found.deviation, 5)],
        )
    });
    let found = parts(&inputs.each_ref());
    for (value, u) in found.iter().zip([0.195, 0.201, 0.204]) {
        near(value.u, u, 6e-4, "u");
    }
}

/// JCGM 100:2008, H.3: intercept and slope of the calibration line correlate by −0.930, and b(30) follows
/// from both: −0.1494, u 0.0041 (data as in a public copy; −0.149 377 and 0.004 138 6 by numpy).
#[test]
fn intercept_and_slope_of_annex_h3_give_the_value_at_30() {
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let line = Line::fit(t.into_iter().zip(b)).unwrap_or_else(|| panic!("a line"));
    let (u_intercept, u_slope) = (line.u_at(20.0), line.u_slope());
    // what the line says at another place holds the correlation
    let both = line.u_at(25.0).powi(2) - u_intercept.powi(2) - (5.0 * u_slope).powi(2);
    let correlation = both / (2.0 * 5.0 * u_intercept * u_slope);
    near(correlation, -0.930_43, 1e-5, "correlation");
    let shared = correlation * u_intercept * u_slope;
    let covariances = [[u_intercept.powi(2), shared], [shared, u_slope.powi(2)]];
    let inputs = correlated([line.at(20.0), line.slope], &covariances);
    let at_30 = Value::of(|x| x[0] + 10.0 * x[1], &[&inputs[0], &inputs[1]]);
    near(at_30.value, -0.149_377, 1e-6, "b(30)");
    near(at_30.u, 0.004_138_6, 1e-7, "u of b(30)");
    near(at_30.u, line.u_at(30.0), 1e-9, "u by the line");
}

/// NIST TN 1900 (2015), example E11: a step attenuator, readings, rectangles, U-shaped mismatches and
/// normal terms in one budget: 30.043 dB, u 0.022 dB, 109.6 effective degrees of freedom (budget as
/// reproduced by a public library; recomputed).
#[test]
fn a_budget_of_all_shapes_is_that_of_tn_1900_e11() {
    let readings = stats::summary(&[30.033, 30.058, 30.018, 30.052]);
    let swings = |half: f64| Term {
        name: "mismatch",
        u: half / 2.0_f64.sqrt(),
        shape: Shape::Arcsine,
        tie: None,
    };
    let terms = vec![
        Term::mean_of("readings", readings.deviation, 4),
        Term::within("reference", 0.004_33),
        swings(0.001_980),
        swings(0.028_28),
        swings(0.003),
        Term::within("resolution", 0.000_519_6),
        Term::within("resolution", 0.000_519_6),
        Term::normal("leakage", 0.002),
        Term::normal("leakage", 0.002),
    ];
    let value = Value::from_terms(readings.mean + 0.003, terms);
    near(value.value, 30.043, 5e-4, "value");
    near(value.u, 0.022, 5e-4, "u");
    near(value.effective_degrees(), 109.6, 0.3, "degrees of freedom");
}
