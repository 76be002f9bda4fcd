//! Rise time, overshoot and bandwidth of responses with a closed form: poles and their partial fractions
//! (textbook; the same figures by scipy), measured as records, and taken out of one another.
//!
//! Rise time times bandwidth: RC ln 9/2π = 0.349 699, Butterworth of second order 0.341 87 and of third
//! 0.364 49, Bessel of fourth 0.350 13; overshoot 0, 4.321, 8.147 and 0.835 %.

mod made;

use std::f64::consts::TAU;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{Inspection, Options, Quantity, Role, ShotKind};
use firstpulse::signal::bandwidth::corrected;

/// A complex number.
#[derive(Debug, Clone, Copy)]
struct C(f64, f64);

impl C {
    fn times(self, o: C) -> C {
        C(self.0 * o.0 - self.1 * o.1, self.0 * o.1 + self.1 * o.0)
    }
    fn over(self, o: C) -> C {
        let size = o.0 * o.0 + o.1 * o.1;
        let n = self.times(C(o.0, -o.1));
        C(n.0 / size, n.1 / size)
    }
    fn less(self, o: C) -> C {
        C(self.0 - o.0, self.1 - o.1)
    }
    fn exp(self) -> C {
        C(self.0.exp() * self.1.cos(), self.0.exp() * self.1.sin())
    }
}

/// A low-pass of unit gain without zeros, by its poles, which differ from each other.
#[derive(Clone)]
struct LowPass {
    poles: Vec<C>,
    /// Parts of the step response: 1 + Σ part · e^(pole t).
    parts: Vec<C>,
}

impl LowPass {
    fn of(poles: Vec<C>) -> Self {
        let part = |k: usize| {
            let pole = poles[k];
            let all = poles
                .iter()
                .fold(C(1.0, 0.0), |a, p| a.times(C(-p.0, -p.1)));
            let others = poles.iter().enumerate().filter(|(j, _)| *j != k);
            others.fold(all.over(pole), |a, (_, p)| a.over(pole.less(*p)))
        };
        let parts = (0..poles.len()).map(part).collect();
        Self { poles, parts }
    }

    /// The same, slower by a factor.
    fn slower(&self, by: f64) -> Self {
        Self::of(self.poles.iter().map(|p| C(p.0 / by, p.1 / by)).collect())
    }

    fn after(&self, other: &Self) -> Self {
        Self::of([self.poles.clone(), other.poles.clone()].concat())
    }

    /// Step response.
    fn step(&self, t: f64) -> f64 {
        if t <= 0.0 {
            return 0.0;
        }
        let terms = self.poles.iter().zip(&self.parts);
        1.0 + terms
            .map(|(p, r)| r.times(C(p.0 * t, p.1 * t).exp()).0)
            .sum::<f64>()
    }

    /// Response to a straight edge of this length: the mean of the step response over it.
    fn ramp(&self, t: f64, length: f64) -> f64 {
        let area = |t: f64| {
            let sum = |(p, r): (&C, &C)| {
                let e = C(p.0 * t, p.1 * t).exp();
                r.over(*p).times(C(e.0 - 1.0, e.1)).0
            };
            if t <= 0.0 {
                0.0
            } else {
                t + self.poles.iter().zip(&self.parts).map(sum).sum::<f64>()
            }
        };
        (area(t) - area(t - length)) / length
    }

    /// Where the gain has fallen to 1/√2, in radians a second.
    fn corner(&self) -> f64 {
        let gain = |w: f64| {
            let one = |p: &C| (p.0 * p.0 + p.1 * p.1) / (p.0 * p.0 + (w - p.1).powi(2));
            self.poles.iter().map(one).product::<f64>()
        };
        let (mut low, mut high) = (1e-3, 1e3);
        for _ in 0..100 {
            let middle = 0.5 * (low + high);
            if gain(middle) > 0.5 {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}

/// First instant at which a response passes a level, sought in steps and then by halving.
fn first(f: &dyn Fn(f64) -> f64, level: f64, step: f64) -> f64 {
    let mut high = step;
    while f(high) < level {
        high += step;
    }
    let mut low = high - step;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) < level {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// From 10 to 90 %.
fn rise_time(f: &dyn Fn(f64) -> f64) -> f64 {
    first(f, 0.9, 0.01) - first(f, 0.1, 0.01)
}

/// Name, low-pass with its corner at 1 rad/s, rise time times bandwidth, overshoot.
fn systems() -> Vec<(&'static str, LowPass, f64, f64)> {
    let half = 0.75_f64.sqrt();
    // roots of s⁴ + 10 s³ + 45 s² + 105 s + 105
    let bessel = [(-2.896_210_6, 0.867_234_1), (-2.103_789_4, 2.657_418_0)];
    let bessel = bessel.iter().flat_map(|(a, b)| [C(*a, *b), C(*a, -*b)]);
    let two = 0.5_f64.sqrt();
    [
        ("RC", vec![C(-1.0, 0.0)], 0.349_699, 0.0),
        (
            "Butterworth 2",
            vec![C(-two, two), C(-two, -two)],
            0.341_87,
            0.043_21,
        ),
        (
            "Butterworth 3",
            vec![C(-1.0, 0.0), C(-0.5, half), C(-0.5, -half)],
            0.364_49,
            0.081_47,
        ),
        ("Bessel 4", bessel.collect(), 0.350_13, 0.008_35),
    ]
    .into_iter()
    .map(|(name, poles, product, over)| {
        let made = LowPass::of(poles);
        let corner = made.corner();
        (name, made.slower(corner), product, over)
    })
    .collect()
}

/// A train whose edges are this response, scaled so that a rise takes 30 samples of 10 ns.
fn measured(system: &LowPass) -> (Inspection, f64) {
    let by_second = rise_time(&|t| system.step(t)) / 300e-9;
    let f = |t: f64| {
        let phase = (t + 2e-6).rem_euclid(20.003e-6);
        let share = if phase < 9e-6 {
            system.step(phase * by_second)
        } else {
            1.0 - system.step((phase - 9e-6) * by_second)
        };
        0.2 + 12.0 * share
    };
    let out = made::channel("CH1", &made::even(10e-9, 40_000), 0.01, 3, f);
    let exact = Accuracy {
        gain: 0.0,
        offset: 0.0,
    };
    let mut options = Options {
        roles: made::roles(&[Role::Out]),
        accuracies: vec![(made::nth(1), exact)],
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    (made::examine(&[made::shot(vec![out])], &options), by_second)
}

#[test]
fn rise_time_times_bandwidth_and_overshoot_are_the_published_ones() {
    for (name, system, product, over) in systems() {
        let (found, by_second) = measured(&system);
        let value = made::value(&found, Quantity::OutRiseTime);
        let (got, u95) = (value.value * by_second / TAU, value.u95 * by_second / TAU);
        assert!((got - product).abs() <= u95 + 1e-5, "{name}: {got} ± {u95}");
        assert!(u95 < 0.01 * product, "{name}: ± {u95}");
        let value = made::value(&found, Quantity::OutOvershoot);
        assert!(
            (value.value - over).abs() <= value.u95 + 1e-5,
            "{name}: {value:?}"
        );
        assert!(value.u95 < 0.01, "{name}: {value:?}");
    }
}

/// Two equal RC stages, 1 − (1 + x)e^(−x): 3.357 91 RC, where the root of the sum of squares says 3.107 34.
#[test]
fn of_two_equal_stages_one_can_be_taken_out() {
    let two = |t: f64| 1.0 - (1.0 + t.max(0.0)) * (-t.max(0.0)).exp();
    let recorded = rise_time(&two);
    assert!((recorded - 3.357_91).abs() < 1e-5, "{recorded}");
    holds("two equal stages", recorded, 9.0_f64.ln(), TAU.recip());
}

/// The rise time without the system has to be right within what is said, or refused.
fn holds(what: &str, recorded: f64, wanted: f64, bandwidth_hz: f64) -> bool {
    let Ok(found) = corrected(recorded, bandwidth_hz) else {
        return false;
    };
    assert!(
        (found.seconds - wanted).abs() <= found.within_s,
        "{what}: {found:?} instead of {wanted}"
    );
    true
}

/// Straight edges, those of one RC and of Butterworth low-passes through every system: the square root of
/// the difference of squares is exact for none of them.
#[test]
fn what_the_bandwidth_adds_is_taken_out_within_what_is_said() {
    let all = systems();
    let mut given = 0;
    for (name, system, ..) in &all {
        for ratio in [0.5, 0.7, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 10.0] {
            let wanted = ratio * 0.35 * TAU;
            let what = format!("{name}, {ratio}");
            let straight = rise_time(&|t| system.ramp(t, wanted / 0.8));
            given += u32::from(holds(&what, straight, wanted, TAU.recip()));
            for (edge_name, edge, ..) in &all[..3] {
                let own = rise_time(&|t| edge.step(t));
                // not quite as fast, that no pole falls on another
                let edge = edge.slower(wanted / own * 1.000_01);
                let recorded = rise_time(&|t| edge.after(system).step(t));
                let what = format!("{edge_name} through {what}");
                given += u32::from(holds(&what, recorded, wanted, TAU.recip()));
            }
        }
    }
    assert!(given > 120, "{given} of 160");
}
