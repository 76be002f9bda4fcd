//! Statistics, line fits, uncertainty and decision rules against published values.

#![allow(clippy::unwrap_used, reason = "a test may")]

use firstpulse::data::{Distribution, Limit, Outcome, Shape, Status, Term, Unit, Value, Verdict};
use firstpulse::signal::{Line, stats};
use firstpulse::verdict::judge::verdict;

/// Agreement in digits, as the NIST StRD pages score it: −log10 of the relative error.
fn digits(got: f64, certified: f64) -> f64 {
    if (got - certified).abs() <= 0.0 {
        17.0
    } else {
        -((got - certified) / certified).abs().log10()
    }
}

/// NIST StRD univariate sets NumAcc1 to NumAcc4 (itl.nist.gov/div898/strd): certified mean and
/// standard deviation. Block by block, as a capture is read.
#[test]
fn mean_and_deviation_keep_the_digits_of_nist_numacc() {
    let alternating = |base: f64| {
        let mut values = vec![base + 0.2];
        for _ in 0..500 {
            values.extend([base + 0.1, base + 0.3]);
        }
        values
    };
    let sets: [(Vec<f64>, f64, f64, f64); 4] = [
        (
            vec![10_000_001.0, 10_000_003.0, 10_000_002.0],
            10_000_002.0,
            1.0,
            14.0,
        ),
        (alternating(1.0), 1.2, 0.1, 13.0),
        (alternating(1_000_000.0), 1_000_000.2, 0.1, 9.0),
        (alternating(10_000_000.0), 10_000_000.2, 0.1, 8.0),
    ];
    for (values, mean, deviation, wanted) in sets {
        let whole = stats::summary(&values);
        let mut parts = stats::Moments::default();
        for block in values.chunks(64) {
            parts.merge(&stats::Moments::of(block));
        }
        for got in [whole, parts.summary()] {
            assert!(digits(got.mean, mean) > 14.0, "{got:?}");
            assert!(
                digits(got.deviation, deviation) >= wanted,
                "{} digits of {deviation}: {got:?}",
                digits(got.deviation, deviation)
            );
        }
    }
}

/// JCGM 100:2008, 4.4.3: twenty readings, mean 100.14, s 1.49, u 0.33 (data recalled from memory; the
/// mean, deviation and uncertainty agree with the printed ones).
#[test]
fn a_mean_of_readings_is_that_of_the_guide() {
    let readings = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42,
        100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ];
    let summary = stats::summary(&readings);
    assert!((summary.mean - 100.145).abs() < 5e-4);
    assert!((summary.deviation - 1.4888).abs() < 5e-4);
    assert!((summary.deviation / 20.0_f64.sqrt() - 0.33292).abs() < 5e-4);
    // 4.4.5: a rectangle of half-width 4 has u = 2.3
    assert!((Term::within("bounds", 4.0).u - 2.3094).abs() < 1e-4);
}

/// JCGM 100:2008, H.1: end-gauge calibration, u_c = 32 nm with 16 effective degrees of freedom
/// (Welch-Satterthwaite, G.4).
#[test]
fn a_budget_adds_up_as_in_annex_h1() {
    let term = |u, degrees| Term {
        name: "component",
        u,
        shape: Shape::Student { degrees },
        tie: None,
    };
    let terms = vec![
        term(25.0, 18.0),
        term(5.8, 24.0),
        term(3.9, 5.0),
        term(6.7, 8.0),
        term(2.9, 50.0),
        term(16.6, 2.0),
    ];
    let value = Value::from_terms(838.0, terms);
    assert!((value.u - 31.67).abs() < 0.01, "{}", value.u);
    assert!(
        (value.effective_degrees() - 16.75).abs() < 0.01,
        "{}",
        value.effective_degrees()
    );
}

/// JCGM 100:2008, H.3: calibration line of a thermometer (data as printed in the guide).
#[test]
fn a_fitted_line_is_that_of_annex_h3() {
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let line = Line::fit(t.into_iter().zip(b)).unwrap();
    let near = |got: f64, printed: f64, tolerance: f64| {
        assert!((got - printed).abs() < tolerance, "{got} {printed}")
    };
    near(line.at(20.0), -0.171204, 1e-6);
    near(line.u_at(20.0), 0.002878, 1e-6);
    near(line.slope, 0.002_182_70, 1e-8);
    near(line.u_slope(), 0.000_667_939, 1e-8);
    near(line.scatter, 0.003_497_6, 1e-7);
    near(line.at(30.0), -0.149_377, 1e-6);
    near(line.u_at(30.0), 0.004_138_6, 1e-7);
}

fn normal(value: f64, u: f64) -> Value {
    Value::from_terms(value, vec![Term::normal("all", u)])
}

fn limit(min: Option<f64>, max: Option<f64>) -> Limit {
    Limit {
        min,
        typ: None,
        max,
        unit: Unit::Volt,
        condition: String::new(),
        source: "test".to_owned(),
        status: Status::VerifiedFull,
        status_limits: Status::VerifiedFull,
    }
}

/// JCGM 106:2012, 7.3 and 7.4: conformance probabilities of the guide's examples (clause numbers from
/// memory, arithmetic recomputed).
#[test]
fn conformance_probabilities_are_those_of_jcgm_106() {
    let cases = [
        (normal(509.7, 8.6), Some(490.0), None, 0.98901),
        (normal(-5.47, 0.05), None, Some(-5.40), 0.91924),
        (normal(13.6, 1.8), Some(12.5), Some(16.3), 0.66263),
    ];
    for (value, min, max, p) in cases {
        let got = value.probability_within(min, max);
        assert!((got - p).abs() < 2e-4, "{got} {p}");
    }
}

/// ILAC-G8:09/2019 and ISO 14253-1:2017: with a guard band of 0, 0.83, 1 and 1.5 expanded
/// uncertainties (k = 2) the risk of a wrong acceptance is 50, 4.85, 2.275 and 0.135 %.
#[test]
fn guard_bands_carry_the_risks_of_ilac_g8() {
    let distribution = Distribution::of_terms(&[Term::normal("all", 1.0)]);
    for (guard, risk) in [
        (0.0, 0.5),
        (0.83, 0.048_46),
        (1.0, 0.022_75),
        (1.5, 0.001_35),
    ] {
        let outside = 1.0 - distribution.probability_within(-2.0 * guard, None, Some(0.0));
        assert!((outside - risk).abs() < 2e-4, "{outside} {risk}");
    }
}

/// The verdict words follow p: 0.975 and 0.025 are the edges (z = 1.96, JCGM 106 table 1).
#[test]
fn verdicts_change_at_the_published_quantiles() {
    let upper = limit(None, Some(1.0));
    let word = |value: f64| verdict(&Outcome::Value(normal(value, 0.1)), Some(&upper)).0;
    assert_eq!(word(1.0 - 0.197), Verdict::InLimits);
    assert_eq!(word(1.0 - 0.195), Verdict::CannotSay);
    assert_eq!(word(1.0 + 0.195), Verdict::CannotSay);
    assert_eq!(word(1.0 + 0.197), Verdict::Outside);
    let typical_only = limit(None, None);
    assert_eq!(
        verdict(&Outcome::Value(normal(1.0, 0.1)), Some(&typical_only)).0,
        Verdict::NoLimit
    );
    let refused = Outcome::NotMeasurable("no edge".to_owned());
    assert_eq!(verdict(&refused, Some(&upper)), (Verdict::CannotSay, None));
    // bounds only: outside ±√3 u nothing is left (a normal model would claim a tail that cannot exist)
    let bounded = Value::from_terms(0.8, vec![Term::within("gain", 0.19)]);
    assert!(bounded.probability_within(None, Some(1.0)) >= 1.0);
}
