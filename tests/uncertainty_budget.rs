//! Budgets answer to what they claim to come from: twice the noise, four times the record, another
//! accuracy. The laws are those of JCGM 100:2008 (4.2.3: a mean of n has s/√n; 4.3.7: a/√3; 5.1.2: root
//! sum of squares; H.3: the line) and JCGM 101:2008 (u95 from the convolution).

mod made;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{Inspection, Options, Quantity, Role, Shape, ShotKind, Term, Value};
use made::Dice;

/// Accuracy of a scope without error, so that only the random terms are left.
const EXACT: Accuracy = Accuracy {
    gain: 0.0,
    offset: 0.0,
};

fn options(roles: &[Role], kind: ShotKind, accuracy: Accuracy) -> Options {
    let mut options = Options {
        roles: made::roles(roles),
        accuracies: (1..=roles.len())
            .map(|n| (made::nth(n), accuracy))
            .collect(),
        ..Options::default()
    };
    options.capture_kinds.insert(0, kind);
    options
}

fn near(value: f64, wanted: f64, share: f64, what: &str) {
    assert!(
        (value / wanted - 1.0).abs() <= share,
        "{what}: {value} instead of {wanted} within {share}"
    );
}

/// VREF that stands at 5 V: samples, noise.
fn level(count: usize, sigma: f64, accuracy: Accuracy) -> Inspection {
    let time = made::even(1e-6, count);
    let channel = made::channel("CH1", &time, sigma, 21, |_| 5.0);
    let options = options(&[Role::Vref], ShotKind::Running, accuracy);
    made::examine(&[made::shot(vec![channel])], &options)
}

/// The standard deviation of n normal values is known to 1/√(2n) of itself: 1 % for 5000, and five
/// times that is allowed.
#[test]
fn noise_of_a_level() {
    let noise = |count, sigma| {
        let inspection = level(count, sigma, EXACT);
        made::term(made::value(&inspection, Quantity::VrefVoltage), "noise")
    };
    let one = noise(5_000, 0.02);
    near(one, 0.02 / 5_000_f64.sqrt(), 0.05, "σ/√n");
    near(noise(5_000, 0.04), 2.0 * one, 0.05, "twice the noise");
    near(
        noise(20_000, 0.02),
        0.5 * one,
        0.05,
        "four times the record",
    );
}

#[test]
fn accuracy_of_a_level() {
    let value = |gain, offset| {
        let inspection = level(5_000, 1e-4, Accuracy { gain, offset });
        made::value(&inspection, Quantity::VrefVoltage).clone()
    };
    // a rectangle of half-width a holds 95 % within 0.95 a
    near(value(0.01, 0.0).u95, 0.95 * 0.05, 2e-3, "gain alone");
    near(value(0.02, 0.0).u95, 0.95 * 0.10, 2e-3, "twice the gain");
    near(value(0.0, 0.03).u95, 0.95 * 0.03, 2e-3, "offset alone");
    near(value(0.0, 0.03).u, 0.03 / 3.0_f64.sqrt(), 2e-3, "a/√3");
    // a trapezium of half-widths a + b: outside h lies (a + b − h)²/4ab
    let (a, b): (f64, f64) = (0.05, 0.03);
    let wanted = a + b - (0.2 * a * b).sqrt();
    near(value(0.01, 0.03).u95, wanted, 2e-3, "gain and offset");
}

/// One rise and fall of VCC with a start at 16 V and a stop at 10 V; noise on VCC only.
fn sweep(step_s: f64, sigma: f64, shift_v: f64, accuracy: Accuracy) -> Inspection {
    let time = made::even(step_s, (18.0 / step_s) as usize);
    let vcc = made::channel("CH1", &time, sigma, 22, |t| {
        shift_v + made::triangle(t, 18.0, 2.0)
    });
    let vref = made::channel("CH2", &time, 1e-3, 23, |t| {
        made::vref_of_triangle(t, 18.0, 2.0, 16.0, 10.0, 1e-3)
    });
    let options = options(&[Role::Vcc, Role::Vref], ShotKind::Sweep, accuracy);
    made::examine(&[made::shot(vec![vcc, vref])], &options)
}

/// The line before a start runs over 1 V, that is half a second. By H.3 its end is known to about 2σ/√n;
/// the scatter of 50 points is known to 10 %.
#[test]
fn noise_of_a_threshold() {
    let noise = |step_s, sigma| {
        let inspection = sweep(step_s, sigma, 0.0, EXACT);
        let start = made::value(&inspection, Quantity::StartThreshold).clone();
        assert!((start.value - 16.0).abs() < 2.0 * start.u95, "{start:?}");
        made::term(&start, "noise")
    };
    let one = noise(10e-3, 0.01);
    near(one, 2.0 * 0.01 / 50_f64.sqrt(), 0.4, "2σ/√n");
    near(noise(10e-3, 0.02), 2.0 * one, 0.1, "twice the noise");
    near(
        noise(2.5e-3, 0.01),
        0.5 * one,
        0.25,
        "four times the samples",
    );
}

#[test]
fn an_offset_leaves_the_hysteresis_alone() {
    let with = |shift_v, offset| sweep(4e-3, 0.01, shift_v, Accuracy { gain: 0.01, offset });
    let (plain, unsure, shifted) = (with(0.0, 0.0), with(0.0, 0.5), with(0.3, 0.0));
    let of = |inspection, quantity| made::value(inspection, quantity).clone();
    let (h0, h1, h2) = (
        of(&plain, Quantity::Hysteresis),
        of(&unsure, Quantity::Hysteresis),
        of(&shifted, Quantity::Hysteresis),
    );
    assert!((h0.value - 6.0).abs() < h0.u95, "{h0:?}");
    near(h1.u95, h0.u95, 1e-9, "u95 with a doubtful offset");
    assert!((h2.value - h0.value).abs() < 1e-6, "{h2:?} after {h0:?}");
    // the same offset is all in the thresholds
    let (s0, s1, s2) = (
        of(&plain, Quantity::StartThreshold),
        of(&unsure, Quantity::StartThreshold),
        of(&shifted, Quantity::StartThreshold),
    );
    near(
        made::term(&s1, "offset"),
        0.5 / 3.0_f64.sqrt(),
        1e-9,
        "offset term",
    );
    assert!(s1.u95 > 2.0 * s0.u95, "{s1:?} after {s0:?}");
    assert!(
        (s2.value - s0.value - 0.3).abs() < 1e-6,
        "{s2:?} after {s0:?}"
    );
    // gain acts on the difference
    near(
        made::term(&h0, "gain"),
        0.01 * h0.value / 3.0_f64.sqrt(),
        1e-9,
        "gain term",
    );
}

/// The fall of the ramp crosses its middle at 1.7 V in 0.211 µs; noise moves an edge by √(2/3) σ over
/// that, as a mean over where the two samples lie that are joined by a line: a line through n edges
/// knows its slope to σ·√12/n^1.5 (H.3).
#[test]
fn jitter_of_a_frequency() {
    let jitter = |count: usize, sigma: f64| {
        let time = made::even(50e-9, count);
        let rtct = made::channel("CH1", &time, sigma, 24, made::ramp);
        let options = options(&[Role::RtCt], ShotKind::Running, EXACT);
        let inspection = made::examine(&[made::shot(vec![rtct])], &options);
        let value = made::value(&inspection, Quantity::OscillatorFrequency).clone();
        let wanted = 1.0 / (made::RISE_S + made::FALL_S);
        assert!((value.value - wanted).abs() < value.u95, "{value:?}");
        made::term(&value, "jitter") / value.value
    };
    let one = jitter(40_000, 0.005);
    let cycles = 40_000.0 * 50e-9 / (made::RISE_S + made::FALL_S);
    let edge_s = (2.0_f64 / 3.0).sqrt() * 0.005 / (1.7 / made::FALL_S);
    let period_s = made::RISE_S + made::FALL_S;
    let expected = edge_s * 12.0_f64.sqrt() / cycles.powf(1.5) / period_s;
    near(one, expected, 0.4, "σ·√12/n^1.5");
    near(jitter(40_000, 0.010), 2.0 * one, 0.25, "twice the noise");
    near(
        jitter(160_000, 0.005),
        one / 8.0,
        0.15,
        "four times the record",
    );
}

#[test]
fn every_u_is_the_root_of_the_sum_of_squares() {
    let mut seen = 0;
    for inspection in [
        level(
            5_000,
            0.02,
            Accuracy {
                gain: 0.01,
                offset: 0.02,
            },
        ),
        sweep(
            4e-3,
            0.02,
            0.0,
            Accuracy {
                gain: 0.02,
                offset: 0.1,
            },
        ),
    ] {
        for value in inspection
            .measured
            .iter()
            .filter_map(|j| j.measured.value())
        {
            let sum: f64 = value.terms.iter().map(|t| t.u * t.u).sum();
            assert!((value.u * value.u - sum).abs() <= 1e-12 * sum, "{value:?}");
            seen += value.terms.len();
        }
    }
    assert!(seen > 15, "only {seen} terms");
}

/// Draws of a term by its definition, with nothing of the program's grid.
fn draw(dice: &mut Dice, term: &Term) -> f64 {
    match term.shape {
        Shape::Normal => term.u * dice.normal(),
        Shape::Rectangular => dice.within(term.u * 3.0_f64.sqrt()),
        Shape::Arcsine => {
            let phase = std::f64::consts::TAU * dice.uniform();
            term.u * 2.0_f64.sqrt() * phase.sin()
        }
        Shape::Student { degrees } => {
            // a normal over the root of a mean of squares of others
            let squares: f64 = (0..degrees as usize).map(|_| dice.normal().powi(2)).sum();
            term.u * dice.normal() / (squares / degrees).sqrt()
        }
    }
}

/// The 95 % half-width of many draws, and its standard deviation over batches.
fn monte_carlo(terms: &[Term], seed: u64) -> (f64, f64) {
    const BATCHES: usize = 20;
    const DRAWS: usize = 20_000;
    let mut dice = Dice(seed);
    let halves: Vec<f64> = (0..BATCHES)
        .map(|_| {
            let mut sums: Vec<f64> = (0..DRAWS)
                .map(|_| terms.iter().map(|t| draw(&mut dice, t)).sum::<f64>().abs())
                .collect();
            sums.sort_by(f64::total_cmp);
            sums[DRAWS * 95 / 100]
        })
        .collect();
    let mean = halves.iter().sum::<f64>() / BATCHES as f64;
    let square = halves.iter().map(|h| (h - mean).powi(2)).sum::<f64>();
    let count = BATCHES as f64;
    (mean, (square / (count - 1.0) / count).sqrt())
}

/// Five standard deviations of the Monte Carlo mean, and half a per mille for the grid.
#[test]
fn u95_is_what_a_monte_carlo_run_gives() {
    let student = |u, degrees| Term {
        name: "spread",
        u,
        shape: Shape::Student { degrees },
        tie: None,
    };
    let arcsine = Term {
        name: "ripple",
        u: 0.02,
        shape: Shape::Arcsine,
        tie: None,
    };
    let gain = Term::within("gain", 0.05);
    let budgets = [
        vec![gain, Term::within("offset", 0.03)],
        vec![
            gain,
            Term::within("offset", 0.03),
            Term::normal("noise", 0.02),
        ],
        vec![gain, arcsine],
        vec![gain, student(0.02, 4.0)],
        vec![gain, student(0.05, 2.0), Term::normal("noise", 0.01)],
        vec![arcsine, Term::normal("noise", 0.002)],
    ];
    for (index, terms) in budgets.into_iter().enumerate() {
        let (half, spread) = monte_carlo(&terms, 100 + index as u64);
        let value = Value::from_terms(5.0, terms);
        assert!(
            (value.u95 - half).abs() <= 5.0 * spread + 5e-4 * half,
            "{index}: {} instead of {half} ± {spread}",
            value.u95
        );
    }
}

/// Equal names are one line: what is independent as the root of the sum of squares, what is one error
/// with its signs (JCGM 100:2008, 5.1.2 and 5.2.2).
#[test]
fn a_budget_names_each_contribution_once() {
    use firstpulse::data::TieSource;
    let gain = |u: f64, source, sign: f64| Term::normal("gain", u).tied(source, sign);
    let one = TieSource::Gain(1);
    let value = Value::from_terms(
        1.0,
        vec![
            gain(0.5, one, 1.0),
            gain(0.2, one, -1.0),
            gain(0.4, TieSource::Gain(2), 1.0),
            Term::normal("noise", 0.6),
            Term::within("noise", 0.8 * 3.0_f64.sqrt()),
        ],
    );
    let budget = value.budget();
    let names: Vec<&str> = budget.iter().map(|line| line.name).collect();
    assert_eq!(names, ["noise", "gain"]);
    // √(0.6² + 0.8²), and √((0.5 − 0.2)² + 0.4²)
    near(budget[0].u, 1.0, 1e-12, "noise");
    near(budget[1].u, 0.5, 1e-12, "gain");
    near(budget[0].share, 0.8, 1e-12, "share of noise");
    assert!(budget[0].shape.is_none() && !budget[0].shared);
    assert!(budget[1].shape == Some(Shape::Normal) && budget[1].shared);
    assert_eq!((budget[0].count, budget[1].count), (2, 3));
    assert!(Value::from_terms(7.0, Vec::new()).budget().is_empty());
}
